"""A figure a thousand times off its class is told; ordinary spread is not."""

from pathlib import Path

import pytest
from support.low_value import low_value
from support.places import DEMO, KORRAVEL, SCENARIOS, SMALL

from logistics.diagnosis.outliers import FAR, outliers
from logistics.diagnosis.slips import (
    cautions,
    doubted_figures,
    headings_of_nothing,
    prices_not_stated,
)
from logistics.scenario.raw import RawTable
from logistics.scenario.readers import read_tables
from logistics.scenario.scenario import read_scenario

OTHERS = [2000.0, 4000.0, 9000.0]


def table(name: str = "sources", **cells: list[str]) -> RawTable:
    rows = list(range(2, 2 + len(next(iter(cells.values())))))
    return RawTable(name, f"{name}.csv", 1, dict(cells), rows)


def sources(*amounts: float, material: str = "husk") -> RawTable:
    return table(
        material=[material] * len(amounts), amount=[f"{a:.15g}" for a in amounts]
    )


def test_the_warning_names_the_place_and_both_readings():
    (problem,) = outliers(sources(4.2, *OTHERS))
    assert str(problem) == (
        "sources.csv, row 2, column 'amount': '4.2' is 952 times smaller than "
        "the median of similar rows (4,000), so it may mean 4.2 or 4,200. Write 4200 "
        "if a separator was misread; otherwise leave it."
    )
    (problem,) = outliers(sources(4.2e6, *OTHERS))
    assert problem.why.startswith("is 1,050 times larger than the median")
    assert problem.why.endswith("so it may mean 4,200,000 or 4,200")


@pytest.mark.parametrize("power", [1, -1])
def test_the_limit(power: int):
    """The middle of the others is 4,000."""
    for near, count in ((0.999, 0), (1.001, 1)):
        ratio = (FAR * near) ** power
        assert len(outliers(sources(4000 * ratio, *OTHERS))) == count


def test_a_factor_of_a_hundred_is_ordinary():
    assert outliers(sources(40, 90, 4000, 9000, 400)) == []


def test_two_rows_show_nothing_and_classes_are_apart():
    """Hectares and head are not compared, nor a mill with a smokehouse."""
    assert outliers(sources(4.2, 4000)) == []
    mixed = table(
        material=["husk", "husk", "husk", "shell", "shell", "shell"],
        amount=["4000", "5000", "6000", "4", "5", "6"],
        basis=["tonnes"] * 6,
    )
    assert outliers(mixed) == []
    bases = table(
        "markets",
        basis=["area", "area", "area", "tonnes", "tonnes", "tonnes"],
        amount=["2", "3", "4", "4000", "5000", "6000"],
    )
    assert outliers(bases) == []


def test_a_lone_material_is_held_against_its_basis():
    lone = table(
        material=["husk", "husk", "husk", "shell"],
        amount=["4000", "5000", "6000", "6"],
        basis=["tonnes"] * 4,
    )
    (problem,) = outliers(lone)
    assert problem.row == 5


@pytest.mark.parametrize(
    ("name", "column"),
    [
        ("sources", "yield_t_ha"),
        ("markets", "rate_t_ha"),
        ("yards", "area_m2"),
        ("trucks", "crew_cost_per_hour"),
        ("yard_sizes", "works_cost"),
    ],
)
def test_other_columns_and_money(name: str, column: str):
    texts = {column: ["5", "6", "5.5", "6000"]}
    cells = {"material": ["husk"] * 4} if name == "sources" else {}
    (problem,) = outliers(table(name, **cells, **texts))
    assert (problem.row, problem.column, problem.value) == (5, column, "6000")


@pytest.mark.parametrize("folder", [DEMO, SCENARIOS / "highlake", SMALL])
def test_no_noise_on_demos(folder: Path):
    assert not [p for raw in read_tables(folder).raw.values() for p in outliers(raw)]


def test_a_cell_is_doubted_once_and_check_says_it(tmp_path: Path):
    """A mill with 7.500 t beside one with 7500 and a pier with 1200."""
    folder = low_value(tmp_path / "d", 1.0)
    path = folder / "sources.csv"
    for text, again in (("7.500", "may mean 7500"), ("7.5", "7.5 or 7,500")):
        cells = (SMALL / "sources.csv").read_text(encoding="utf-8")
        path.write_text(cells.replace("7500", text, 1), encoding="utf-8")
        scenario = read_scenario(folder)
        found = [one.problem for one in doubted_figures(scenario)]
        (problem,) = (p for p in found if p.column == "amount")
        assert problem.row == 2
        assert again in problem.why


def test_a_heading_of_no_line_is_told(tmp_path: Path):
    """Its code is turned about, so its money would go under another heading."""
    folder = low_value(tmp_path / "d", 1)
    chart = "entry,head,name\nsale_compost,1,Sales\nhaulage_in_fuel,2,Fuel\n"
    (folder / "accounts.csv").write_text(chart, encoding="utf-8")
    (problem,) = headings_of_nothing(read_scenario(folder))
    assert problem.value == "sale_compost"
    assert "compost_sale" in problem.remedy


def test_a_guessed_price_is_told(tmp_path: Path):
    folder = low_value(tmp_path / "d", 21500)
    scenario = read_scenario(folder)
    assert prices_not_stated(scenario) == []
    path = folder / "scenario.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("fuel_price_per_l", "# fuel"), encoding="utf-8")
    (problem,) = prices_not_stated(read_scenario(folder))
    assert problem.column == "finance.fuel_price_per_l"
    markets = folder / "markets.csv"
    told = markets.read_text(encoding="utf-8").replace(",rice,", ",paddy,")
    markets.write_text(told, encoding="utf-8")
    found = prices_not_stated(read_scenario(folder))
    assert [p.file for p in found] == ["scenario.toml", "fertilisers.csv"]
    assert prices_not_stated(read_scenario(SMALL)) == []


def test_a_hen_is_not_a_thousandth_of_a_cow_by_mistake():
    scenario = read_scenario(KORRAVEL)
    found = cautions(scenario)
    # besides a heading of its chart of accounts that no money falls under
    (commas,) = (p for p in found if p.file != "accounts.csv")
    assert commas.why == "has a decimal comma and is read as 7.5"
    assert "sources.csv" in commas.remedy
