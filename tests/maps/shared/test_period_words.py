"""Short names of periods: apart, whole letters, never cut with dots."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maps.shared.period_words import LONGEST, short_names

ENGLISH = ("January", "March", "May", "June", "July", "August", "September")
SPANISH = ("enero", "marzo", "mayo", "junio", "julio", "agosto", "septiembre")


@pytest.mark.parametrize(
    ("names", "short"),
    [
        (ENGLISH, ["Jan", "Mar", "May", "June", "July", "Aug", "Sep"]),
        (SPANISH, ["ene", "mar", "mayo", "jun", "jul", "ago", "sep"]),
        (["Week 1", "Week 2", "Week 13"], ["1", "2", "13"]),
        (["Q1 2024", "Q2 2024"], ["Q1", "Q2"]),
        (["Dry season", "Wet season", ""], ["1", "2", "3"]),
        (["Dry season", "Dry end"], ["sea", "end"]),
        (["กุมภาพันธ์", "มีนาคม"], ["กุม", "มีน"]),  # no mark without its letter
        (["Monsoon onset", "Monsoonal"], ["1", "2"]),
        (["All year"], ["All"]),
        (["fe\u0301vrier", "janvier"], ["fév", "jan"]),  # the accent as a sign
    ],
)
def test_short_names(names, short):
    assert short_names(names) == short


@given(st.lists(st.text(max_size=20), min_size=1, max_size=60, unique=True))
def test_short_names_are_apart_and_short(names):
    found = short_names(names)
    assert len(set(found)) == len(found) == len(names)
    assert all(found)
    assert "…" not in "".join(found) or "…" in "".join(names)
    for name in found:
        assert len(name) <= max(LONGEST, len(str(len(names))))


@given(st.lists(st.text("aé\u0301x ", min_size=1), min_size=1, max_size=8))
def test_no_letter_loses_its_mark(names):
    whole = [unicodedata.normalize("NFC", name) for name in names]
    for name, short in zip(whole, short_names(names), strict=True):
        place = name.find(short)
        after = name[place + len(short) :]
        if place >= 0 and short and after:
            assert not unicodedata.category(after[0]).startswith("M")
