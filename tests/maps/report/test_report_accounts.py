"""The report's pages of farms and climate: figures as in the accounts, soberly said."""

import re

import pytest
from support.fake_result import result

from logistics.accounts.budget import book
from logistics.accounts.emissions import emission_bounds
from logistics.accounts.nutrients import nutrient_coverage
from maps.report.plan_facts import facts
from maps.report.report import report_html
from maps.report.sections.climate import _in_short
from maps.report.sections.farms import section as farms
from maps.report.sections.spending import section as spend
from maps.report.sections.spending import spending
from maps.tables.accounts import emission_range as range_table


def fields(crop="orchard"):
    """Let the tiny district sell to hectares of a crop whose need is known."""
    made = result()
    markets = made.scenario.tables["markets"].assign(
        basis="area", amount=30.0, crop=crop
    )
    made.scenario.tables["markets"] = made.scenario.markets = markets
    return made


def numbers(text):
    return [int(x.replace(",", "")) for x in re.findall(r"\d[\d,]*", text)]


def test_columns_of_fertiliser_add_up_to_their_foot():
    table = next(p for p in farms(facts(fields())).pieces if hasattr(p, "rows"))
    for column in range(7, 11):
        cells = [numbers(row[column])[0] for row in table.rows]
        assert sum(cells) == numbers(table.foot[column])[0]
    saved = nutrient_coverage(fields()).groupby("nutrient")["saved_kg"].sum()
    assert numbers(table.foot[7])[0] == pytest.approx(saved["n"], abs=1)


def test_an_unknown_crop_is_said_and_not_guessed():
    section = farms(facts(fields(crop="hemp")))
    assert "We cannot say" in section.pieces[0].lines[0]


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [(-5.0, 3.0, "we cannot say"), (-5.0, -1.0, "emits"), (1.0, 3.0, "more than")],
)
def test_the_sign_is_claimed_only_where_the_range_has_one(low, high, said):
    middle = {"co2e": (low + high) / 2, "low": low, "high": high}
    text = _in_short(facts(fields()), middle, 1)
    assert said in text
    assert ("we cannot say" in text) == (low <= 0 <= high)


@pytest.mark.slow
def test_report_and_sheet_tell_the_same_difference():
    made = fields()
    totals, _ = emission_bounds(made)
    sheet = range_table(made).set_index("what")
    middle = sheet.loc["the plan against today", "middle [t of CO2e]"]
    assert middle == pytest.approx(totals["co2e"].iloc[2] / 1000)
    page = report_html(made)
    assert 'id="climate"' in page
    assert 'id="farms"' in page


def test_spending_is_the_recurrent_ledger_by_period_and_heading():
    """Rounded parts add up to the ledger without capital, income and others' cost."""
    made = result()
    table, entries = spending(facts(made)), made.ledger
    kept = ~entries["line"].str.endswith("annuity") & (entries["amount"] > 0)
    kept &= entries["line"] != "present disposal"
    total = entries.loc[kept, "amount"].sum()
    assert table.to_numpy().sum() == pytest.approx(round(total))
    assert book(made).kind("recurrent") == pytest.approx(total)
    shown = [piece for piece in spend(facts(made)).pieces if hasattr(piece, "foot")]
    assert sum(numbers(part.foot[-1])[0] for part in shown) == pytest.approx(
        table.to_numpy().sum()
    )
    fuel = entries[(entries["line"] == "fuel") & (entries["period"] == "dry")]
    mine = table[table.index.get_level_values("name").str.startswith("Fuel of trucks")]
    assert mine["dry"].sum() == pytest.approx(fuel["amount"].sum(), abs=1)
