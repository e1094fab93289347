"""The settings file as text: only the value that is edited changes."""

import tomllib

import pytest

from logistics.scenario.faults import Problem
from logistics.scenario.settings_edits import (
    LONGEST_SETTING,
    SettingsFault,
    settings_document,
    typed_settings,
    with_typed,
)
from logistics.scenario.settings_file import settings_of

OWN = """\
# Ours, since May
name = "Old" # renamed soon
mayor = "Ada"

[mix]
cn_low = 20.0
# keep this
cn_high = 40

[yard.paint]
colour = "red"

[finance]
fuel_price_per_l = 1.1 # May
"""


def test_comments_order_and_unknown_lines_survive_every_edit():
    edits = {"name": "New", "finance.fuel_price_per_l": "1.2", "mix.cn_high": "35"}
    after = with_typed(OWN, edits)
    changed = {'"New"': '"Old"', "l = 1.2": "l = 1.1", "high = 35": "high = 40"}
    for now, was in changed.items():
        after = after.replace(now, was)
    assert after == OWN


@pytest.mark.parametrize(
    ("setting", "typed", "line"),
    [
        ("mix.cn_low", " 22 ", "cn_low = 22"),
        ("mix.margin_pct", "50 %", "margin_pct = 50"),
        ("currency", 'a "b" \\ c', 'currency = "a \\"b\\" \\\\ c"'),
        ("policy.max_yards", "3", "max_yards = 3"),
        ("goal.minimise", "co2e", 'minimise = "co2e"'),
        ("work.first_day", "2027-01-04", 'first_day = "2027-01-04"'),
    ],
)
def test_a_value_is_written_as_the_file_has_its_kind(setting, typed, line):
    after = with_typed(OWN, {setting: typed})
    assert line in after.splitlines()
    assert not [one for one in settings_of(after)[1] if one.column == setting]
    assert tomllib.loads(after)["yard"]["paint"]["colour"] == "red"


@pytest.mark.parametrize("ending", ["", "\n", "\n\n", "\n# end"])
@pytest.mark.parametrize(
    "whole", ["", 'name = "A"', "[mix]\ncn_low = 20", "mix.cn_low = 20"]
)
def test_a_new_setting_finds_its_place_in_any_file(whole, ending):
    after = with_typed(whole + ending, {"currency": "coin", "mix.cn_high": "41"})
    typed = typed_settings(after)
    assert typed == typed_settings(whole) | {"currency": "coin", "mix.cn_high": "41"}
    assert typed_settings(with_typed(after, dict.fromkeys(typed, ""))) == {}


@pytest.mark.parametrize("typed", ["12 L", "1,2", "1,2,3", "cheap", "1e400", "-"])
def test_what_is_no_number_stays_as_typed_and_is_refused_by_the_check(typed):
    after = with_typed(OWN, {"finance.fuel_price_per_l": typed})
    faults: list[Problem] = settings_of(after)[1]
    (fault,) = [one for one in faults if one.column == "finance.fuel_price_per_l"]
    assert str(fault.value) in (typed, "inf")
    assert typed_settings(after)["finance.fuel_price_per_l"] in (typed, "inf")


def test_a_number_out_of_its_limits_is_told_with_them():
    (fault,) = settings_of(with_typed('name = "A"', {"mix.margin_pct": "201"}))[1]
    assert "200" in fault.remedy
    assert settings_of(with_typed('name = "A"', {"mix.margin_pct": "200"}))[1] == []


@pytest.mark.parametrize(
    ("text", "edits"),
    [
        ("name = ", {"name": "A"}),
        ("mix = 3", {"mix.cn_low": "20"}),
        ("[mix.cn_low]\na = 1", {"mix.cn_low": "20"}),
        ("", {"rm -rf": "x"}),
        ("", {"name": "x" * (LONGEST_SETTING + 1)}),
    ],
)
def test_what_cannot_be_put_into_the_file_alone_is_not(text, edits):
    with pytest.raises(SettingsFault):
        with_typed(text, edits)
    assert with_typed("", {"name": "x" * LONGEST_SETTING})


def test_a_file_of_another_system_keeps_its_line_ends(tmp_path):
    file = tmp_path / "scenario.toml"
    file.write_bytes(OWN.replace("\n", "\r\n").encode("utf-8-sig"))
    found = settings_document(tmp_path)
    assert found.text == OWN
    assert found.data.count(b"\r\n") == OWN.count("\n")
    file.unlink()
    file.symlink_to("/etc/hostname")
    assert "link" in settings_document(tmp_path).view_only
