"""A surplus is told as one, income has one sign, print has one minus."""

import io
import re
from types import SimpleNamespace

import openpyxl
import pandas as pd
import pytest
from rich.console import Console
from support.low_value import low_value

from logistics.results.pipeline import Result, run
from logistics.scenario.edits import rows_of, set_values
from logistics.scenario.scenario import read_scenario
from logistics.studies import Point
from maps.geo.web_map import map_html
from maps.report.report import report_html
from maps.studies.comparison_map import money
from maps.studies.frontier_page import knee_words
from maps.tables import write_budget, write_workbook
from maps.tables.all_tables import tables
from maps.tables.terminal import show

CHART = """entry,head,name,kind,price
compost_sale,12.1,"Erlöse, frei Feld",revenue,compost
haulage_in_fuel,61.2,"Kraftstoffe, Anfuhr",recurrent,fuel
haulage_in_repair,61.2,"Kraftstoffe, Anfuhr",recurrent,trucks
"""
INCOME = re.compile(r"\bsales?\b|revenue|income|Erlöse", re.IGNORECASE)


@pytest.fixture(scope="module")
def rich(tmp_path_factory: pytest.TempPathFactory) -> Result:
    """Compost sells so well that the year leaves a surplus; a chart of its own."""
    folder = low_value(tmp_path_factory.mktemp("signs") / "d", 1.0)
    (folder / "accounts.csv").write_text(CHART, encoding="utf-8")
    scenario = read_scenario(folder)
    every = rows_of(scenario, "markets")
    made = run(set_values(scenario, "markets", every, {"price_per_t": 90}))
    assert made.summary["total_cost"] < -1000
    return made


def visible(page: str) -> str:
    page = re.sub(r"<(script|style).*?</\1>", "", page, flags=re.DOTALL)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page))


@pytest.fixture(scope="module")
def terminal(rich: Result) -> str:
    text = io.StringIO()
    show(rich, Console(file=text, width=100))
    return text.getvalue()


@pytest.mark.slow
def test_a_surplus_is_called_one(rich: Result, terminal: str):
    net = f"{-rich.summary['total_cost']:,.0f}"
    assert re.search(rf"^Surplus +{net}$", terminal, re.MULTILINE)
    assert re.search(
        r"; surplus to the programme \d+\.\d\d coin per tonne collected", terminal
    )
    report, page = visible(report_html(rich)), visible(map_html(rich))
    assert f"Surplus {net} coin/yr" in report
    assert f"a surplus of {net} coin" in report
    assert "can have a surplus above" in report
    assert f"Surplus {net} coin/yr" in page
    for text in (terminal, report, page):
        assert not re.search(r"[Nn]et cost[^.;]{0,40}[−-]\d", text)


def test_a_frontier_of_surpluses(rich: Result):
    point = Point(0.0, rich.plan, -108_153.0, -108_200.0, 1.0, 2.0, 1)
    words = knee_words([point], "collected", "coin")
    assert "The cheapest plan, a surplus of 108,153 coin a year" in words


@pytest.mark.slow
def test_print_has_one_minus(rich: Result, terminal: str):
    """A hyphen stands before no figure of an amount; the proper sign does."""
    for text in (terminal, visible(report_html(rich)), visible(map_html(rich))):
        assert not re.search(r"(?<![\w.–-])-\d[\d,]*(\.\d+)?(?![\w-])", text)
    assert "−" in terminal


def signed_amounts(table: pd.DataFrame) -> list[float]:
    """Return amounts in rows of income, or in columns of it."""
    money = [c for c in table.columns if "[coin" in str(c) and "/unit" not in str(c)]
    found: list[float] = []
    for column in money:
        if pd.api.types.is_numeric_dtype(table[column]):
            mine = table[column]
            words = table.select_dtypes(exclude="number").astype(str)
            rows = words.apply(lambda c: c.str.contains(INCOME)).any(axis=1)
            here = mine if INCOME.search(str(column)) else mine[rows]
            found += here.tolist()
    return found


def test_income_is_below_zero_in_every_table(rich: Result):
    found = {name: signed_amounts(table) for name, table in tables(rich).items()}
    assert {name for name, values in found.items() if values} >= {"budget", "ledger"}
    for name, values in found.items():
        assert all(value <= 0 for value in values), name


@pytest.mark.slow
def test_income_is_below_zero_in_every_sheet(rich: Result, tmp_path):
    """Both workbooks, as their cells are stored."""
    write_workbook(rich, tmp_path / "plan.xlsx")
    write_budget(rich, tmp_path / "budget.xlsx")
    seen = set()
    for name in ("plan", "budget"):
        book = openpyxl.load_workbook(tmp_path / f"{name}.xlsx", data_only=True)
        for sheet in book:
            if sheet.title in (
                "cover",
                "checks",
                "assumptions",
                "worth",
                "switching values",
            ):
                continue
            lines = list(sheet.iter_rows(values_only=True))
            heads = [str(head) for head in lines[0]]
            for line in lines[1:]:
                row = any(INCOME.search(str(cell)) for cell in line[:5])
                for head, cell in zip(heads, line, strict=True):
                    counted = "[coin" in head or sheet.title in (
                        "months",
                        "yards",
                        "districts",
                    )
                    if not isinstance(cell, int | float) or not counted:
                        continue
                    if "/unit" in head or "less costs" in head:
                        continue
                    if (row and "less revenue" not in str(line[1])) or INCOME.search(
                        head
                    ):
                        seen.add(sheet.title)
                        assert cell <= 0, (sheet.title, line)
    assert seen >= {
        "budget",
        "ledger",
        "estimates",
        "months",
        "yards",
        "districts",
        "cash flow",
        "parts",
    }


@pytest.mark.slow
def test_own_headings_are_used_everywhere(rich: Result):
    """The report, the sheet budget and the comparison name lines as the chart does."""
    fuel = "61.2 Kraftstoffe, Anfuhr"
    report = visible(report_html(rich))
    assert report.count(fuel) >= 3
    sheet = tables(rich)["budget"]
    assert (sheet["line"] == fuel).sum() == 1
    lines = rich.ledger
    both = lines["line"].isin(["fuel", "repair"]) & (lines["account"] == "haulage in")
    shown = sheet.loc[sheet["line"] == fuel, "amount [coin/yr]"].item()
    assert shown == pytest.approx(lines.loc[both, "amount"].sum())
    other = SimpleNamespace(change=SimpleNamespace(title="the same"), replan=rich)
    compared = {str(row[1]) for row in money(rich, other)}
    assert {fuel, "12.1 Erlöse, frei Feld"} <= compared
