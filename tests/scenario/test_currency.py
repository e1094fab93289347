"""Limits and defaults of money follow the currency of the scenario."""

from pathlib import Path

import pytest
from support.low_value import low_value
from support.places import DEMO, SCENARIOS, SMALL

from logistics.scenario.currency import (
    AGREE,
    LEAST,
    PAY,
    USUAL,
    crew_pay,
    disagreement,
    is_money,
    money_scale,
    scaled,
)
from logistics.scenario.defaults import library
from logistics.scenario.edits import ChangeFault, rows_of, set_values, with_settings
from logistics.scenario.faults import ScenarioError
from logistics.scenario.scenario import read_scenario, write_scenario
from logistics.scenario.schema import columns_of, settings_columns, tables
from logistics.scenario.settings import flat_settings

TIMES = 21500.0
FUEL = "finance.fuel_price_per_l"
BASE = read_scenario(SMALL)


@pytest.fixture(scope="module")
def dear(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return low_value(tmp_path_factory.mktemp("dear") / "three_piers", TIMES)


def trucks_with(folder: Path, to: Path, **values: str) -> Path:
    """Copy a scenario and write values into the first truck."""
    low_value(to, 1.0, folder)
    path = to / "trucks.csv"
    head, first, *rest = path.read_text(encoding="utf-8").splitlines()
    names, cells = head.split(","), first.split(",")
    for name, value in values.items():
        cells[names.index(name)] = value
    path.write_text("\n".join([head, ",".join(cells), *rest]), encoding="utf-8")
    return to


def test_every_money_limit_is_multiplied_and_no_other():
    columns = [c for table in (*tables(), "settings") for c in columns_of(table)]
    assert sum(map(is_money, columns)) > 15
    for column in columns:
        times = TIMES if "money" in column.unit else 1.0
        limit = scaled(column, TIMES).high
        assert limit == (column.high if column.high is None else column.high * times)


def test_a_district_of_little_money_is_read(dear: Path):
    """Diesel at 21,500 a litre and a truck at 86 million a year are no faults."""
    scenario = read_scenario(dear)
    assert scenario.settings.finance.money_scale == TIMES
    assert scenario.trucks["fixed_cost_per_year"].tolist() == [
        4000 * TIMES,
        8000 * TIMES,
    ]


def test_money_of_the_library_is_no_few_dollars(dear: Path):
    scenario = read_scenario(dear)
    expected = (library("fertilisers").frame["price_per_kg"] * TIMES).tolist()
    assert scenario.fertilisers["price_per_kg"].tolist() == expected
    used = scenario.defaults_used
    told = set(used.loc[used["table"] == "fertilisers", "value"])
    assert told == {
        "default, not local, at the money scale 1:21,500 found from the diesel price"
    }


def test_a_default_price_follows_the_pay(tmp_path: Path):
    """Without a price of diesel the pay shows the currency, and diesel follows."""
    folder = low_value(tmp_path / "district", TIMES)
    path = folder / "scenario.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("fuel_price_per_l", "# fuel"), encoding="utf-8")
    scenario = read_scenario(folder)
    pay = crew_pay([str(value) for value in scenario.trucks["crew_cost_per_hour"]])
    assert scenario.settings.finance.money_scale == float(f"{pay / USUAL[PAY]:.3g}")
    expected = scenario.settings.finance.money_scale
    assert scenario.settings.finance.fuel_price_per_l == expected
    rows = scenario.defaults_used.set_index("column")["value"]
    assert rows[FUEL] == rows["finance.money_scale"] == expected


@pytest.mark.parametrize(
    ("folder", "scale"), [(DEMO, 1), (SMALL, 1), (SCENARIOS / "highlake", 105)]
)
def test_demos(folder: Path, scale: float):
    """Highlake has about a hundred shells to the dollar, as its README says."""
    assert read_scenario(folder).settings.finance.money_scale == scale


@pytest.mark.parametrize("name", [FUEL, PAY])
def test_dollars_end_where_no_dollar_price_lies(name: str):
    below, at = LEAST[name] * 0.999, LEAST[name]
    for price, found in ((below, 1.0), (at, at / USUAL[name])):
        given = ({FUEL: price},) if name == FUEL else ({}, price)
        assert money_scale(*given).value == found


def test_a_stated_scale_wins(dear: Path, tmp_path: Path):
    folder = low_value(tmp_path / "district", 1.0, dear)
    path = folder / "scenario.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + "money_scale = 30000\n", encoding="utf-8")
    scenario = read_scenario(folder)
    assert scenario.settings.finance.money_scale == 30000
    assert "finance.money_scale" not in set(scenario.defaults_used["column"])


def test_a_figure_off_the_currency_is_a_fault(dear: Path, tmp_path: Path):
    """A thousand times the highest sensible standing cost is still refused."""
    high = settings_limit("trucks", "fixed_cost_per_year") * TIMES
    inside = trucks_with(dear, tmp_path / "in", fixed_cost_per_year=f"{high:.0f}")
    assert read_scenario(inside)
    out = trucks_with(dear, tmp_path / "out", fixed_cost_per_year=f"{high + 1:.0f}")
    with pytest.raises(ScenarioError, match="the most at the money scale 1:21,500"):
        read_scenario(out)


def settings_limit(table: str, name: str) -> float:
    (column,) = (c for c in columns_of(table) if c.name == name)
    assert column.high is not None
    return column.high


def test_a_limit_met_in_dollars_says_how_to_state_the_scale(tmp_path: Path):
    folder = trucks_with(SMALL, tmp_path / "d", fixed_cost_per_year="700000000")
    path = folder / "scenario.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("fuel_price_per_l", "# fuel"), encoding="utf-8")
    with pytest.raises(ScenarioError, match=r"set finance\.money_scale"):
        read_scenario(folder)


def test_diesel_and_pay_of_two_currencies(dear: Path, tmp_path: Path):
    """Diesel written as 21.5 beside a pay of 53,750 an hour is a slip."""
    folder = low_value(tmp_path / "district", 1.0, dear)
    path = folder / "scenario.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("21500.0", "21.5"), encoding="utf-8")
    with pytest.raises(ScenarioError) as caught:
        read_scenario(folder)
    (problem,) = (p for p in caught.value.problems if p.column == FUEL)
    assert problem.row
    assert problem.why.startswith("is too low for the pay of truck crews, 59,125 an")
    path.write_text(
        text.replace("21500.0", "21.5\nmoney_scale = 21500"), encoding="utf-8"
    )
    assert read_scenario(folder).settings.finance.fuel_price_per_l == 21.5


@pytest.mark.parametrize("side", [1, -1])
def test_prices_may_be_a_hundred_fold_apart(side: int):
    price = 40.0
    pay = price * USUAL[PAY] * AGREE**side
    given = {FUEL: price}

    def found(near: float) -> int:
        return len(disagreement(given, pay * near**side, lambda _: None))

    assert (found(0.999), found(1.001)) == (0, 1)


def test_changes_take_money_of_the_currency(dear: Path):
    scenario = read_scenario(dear)
    rows = rows_of(scenario, "trucks", truck="light")
    values = {"crew_cost_per_hour": 90000}
    changed = set_values(scenario, "trucks", rows, values)
    assert changed.trucks["crew_cost_per_hour"].max() == 90000
    with pytest.raises(ChangeFault):
        set_values(BASE, "trucks", rows_of(BASE, "trucks", truck="light"), values)
    dearer = with_settings(scenario, {FUEL: 43000.0})
    assert dearer.settings.finance.money_scale == TIMES
    assert dearer.fertilisers.equals(scenario.fertilisers)


def test_what_is_written_reads_back(dear: Path, tmp_path: Path):
    scenario = read_scenario(dear)
    write_scenario(scenario, tmp_path / "copy")
    copy = read_scenario(tmp_path / "copy")
    assert flat_settings(copy.settings) == flat_settings(scenario.settings)
    assert copy.defaults_used.equals(scenario.defaults_used)
    assert "money_scale" not in (tmp_path / "copy" / "scenario.toml").read_text()
    dearer = with_settings(scenario, {FUEL: 43000.0})
    write_scenario(dearer, tmp_path / "dearer")
    again = read_scenario(tmp_path / "dearer").settings
    assert again == dearer.settings


def test_the_setting_is_explained():
    column = settings_columns()["finance.money_scale"]
    assert column.low == 1
    assert column.default == "1"
