"""Changes of the command line in words, with names in place of codes."""

import pytest
from support.places import DEMO

from logistics.changes.files import CHANGES, find_changes, parse_change
from logistics.changes.titles import TITLES, title_of, titled
from logistics.scenario.scenario import read_scenario

BASE = read_scenario(DEMO)
MARKET = BASE.markets.iloc[0]
MILL = BASE.sources.iloc[0]


def test_every_change_has_its_title():
    assert set(TITLES) == set(CHANGES)


@pytest.mark.parametrize(
    ("text", "title"),
    [
        (
            f"close_source:source={MILL['source']},from=6",
            f"{MILL['name']} closes, from June",
        ),
        ("scale_price:percent=-20", "Price of compost \u221220 %"),
        (
            f"scale_price:percent=5,market={MARKET['market']}",
            f"Price of compost +5 %: {MARKET['name']}",
        ),
        (
            f"set_market:market={MARKET['market']},amount=90,price_per_t=31",
            f"{MARKET['name']}: amount 90, price per t 31",
        ),
        (
            "close_road:road=x,from=m10,until=m02",
            "x is closed, from October until February",
        ),
        ("setting:name=policy.max_yards,value=2", "policy.max_yards is 2"),
        ("set_discount:percent=6", "Discount rate 6 %"),
    ],
)
def test_titles_are_said_with_names(text, title):
    assert title_of(parse_change(text).steps[0], BASE) == title


def test_files_keep_their_titles_and_what_cannot_be_read_its_text():
    (file, *_) = find_changes(DEMO, [])
    for text in ("scale_fuel:percent=much", "diesel:percent=20"):
        told = titled([file, parse_change(text)], BASE)
        assert [change.title for change in told] == [file.title, text]
