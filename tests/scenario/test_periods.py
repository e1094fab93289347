"""A period is found as people name it: code, name, number, first letters, date."""

from dataclasses import replace
from pathlib import Path

import pytest

from logistics.scenario import ChangeFault, period_named, read_scenario
from logistics.scenario.periods import day_number

GOOD = Path(__file__).parents[1] / "data" / "good_small"
MONTHS = read_scenario(Path(__file__).parents[2] / "scenarios" / "highlake")


def named_periods(**columns):
    """Months with other codes or names."""
    periods = MONTHS.periods.assign(**columns)
    return replace(MONTHS, tables={**MONTHS.tables, "periods": periods})


@pytest.mark.parametrize(
    "text",
    ["oct", "October", "october ", "OCT", "Octo", "10", "2026-10-01", "10-31"],
)
def test_october_by_any_of_its_names(text):
    """What a planner would type means October."""
    assert period_named(MONTHS, text) == "oct"


@pytest.mark.parametrize(("date", "code"), [("09-30", "sep"), ("2026-11-01", "nov")])
def test_the_day_before_and_after_are_in_other_months(date, code):
    """The first and last day of a month are its own, the next are not."""
    assert period_named(MONTHS, date) == code


def test_accents_need_not_be_typed():
    """A name with accents is found without them."""
    names = MONTHS.periods["name"].replace("February", "Février")
    assert period_named(named_periods(name=names), "fevrier") == "feb"


def test_a_year_that_begins_in_april():
    """Dates are counted from the month that the first period is named after."""
    order = [*range(3, 12), *range(3)]
    year = MONTHS.periods.iloc[order].reset_index(drop=True)
    fiscal = replace(MONTHS, tables={**MONTHS.tables, "periods": year})
    assert period_named(fiscal, "10-15") == "oct"
    assert day_number(fiscal, "from", "10-15") == (6, 14)
    assert period_named(fiscal, "03-31") == "mar"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("Smarch", "is not a period. Write 'March'"),
        ("ju", "is not a period"),
        ("13", "is not a period. Use one of: jan (January), feb (February)"),
        ("2026-02-30", "is not a date"),
    ],
)
def test_what_is_no_period_is_told_with_those_that_are(text, why):
    """The fault says what to write instead."""
    with pytest.raises(ChangeFault) as caught:
        period_named(MONTHS, text)
    assert why in str(caught.value)


def test_a_date_needs_periods_named_after_months():
    """Seasons without months in their names cannot place a date."""
    names = [f"Season {n}" for n in range(12)]
    codes = [f"s{n:02}" for n in range(12)]
    with pytest.raises(ChangeFault, match="no period is named after a month"):
        period_named(named_periods(name=names, period=codes), "10-15")


def test_a_name_that_two_periods_begin_with_is_no_choice():
    """`wet` for `Wet north` and `Wet south` is asked back."""
    names = ["Wet north", "Wet south", *MONTHS.periods["name"].iloc[2:]]
    with pytest.raises(ChangeFault, match="more than one period"):
        period_named(named_periods(name=names), "wet")
