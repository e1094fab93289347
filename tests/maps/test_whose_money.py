"""One cost of a tonne, and one split of the money, on every page."""

import io
import re
from dataclasses import replace

import openpyxl
import pytest
from rich.console import Console
from support.places import SMALL

from logistics.accounts import book, unit_costs
from logistics.results.pipeline import Result, run
from logistics.scenario.scenario import read_scenario
from maps.geo.web_map import map_html
from maps.report.report import report_html
from maps.tables import write_budget, write_workbook
from maps.tables.terminal import show

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def planned() -> Result:
    """Two yards, a fee at every source, and a price on what is left."""
    base = read_scenario(SMALL)
    price = base.sources["disposal_cost_per_t"] + 5
    sources = base.sources.assign(disposal_cost_per_t=price, tipping_fee_per_t=2.0)
    scenario = replace(base, tables={**base.tables, "sources": sources})
    return run(scenario, yards=[("reef", "small"), ("shoal", "small")])


@pytest.fixture(scope="module")
def folder(planned, tmp_path_factory):
    path = tmp_path_factory.mktemp("money")
    write_budget(planned, path / "budget.xlsx")
    write_workbook(planned, path / "plan.xlsx")
    return path


@pytest.fixture(scope="module")
def pages(planned) -> dict[str, str]:
    text = io.StringIO()
    show(planned, Console(file=text, width=100))
    made = {"report": report_html(planned), "map": map_html(planned)}
    for name, page in made.items():
        page = re.sub(r"<(script|style).*?</\1>", "", page, flags=re.DOTALL)
        made[name] = re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page))
    return made | {"terminal": re.sub(r"\s+", " ", text.getvalue())}


def sheet(folder, name, sheet):
    rows = openpyxl.load_workbook(folder / f"{name}.xlsx", data_only=True)[sheet]
    return [list(row) for row in rows.iter_rows(values_only=True)]


def test_a_tonne_costs_the_same_on_every_page(planned, pages, folder):
    """The programme's net cost over the tonnes collected; nothing that sources pay."""
    theirs = planned.ledger["line"].isin(["present disposal", "fee paid"])
    assert theirs.any()
    own = planned.ledger["amount"][~theirs].sum()
    each = own / planned.plan.hauls["tonnes"].sum()
    assert each > 1
    for name, found in (
        ("terminal", r"net cost to the programme (\S+) coin per tonne collected"),
        ("map", r"Net cost to the programme per tonne collected (\S+)"),
        ("report", r"Net cost to the programme per tonne collected (\S+)"),
        ("report", r", or (\S+) coin per tonne collected"),
        ("report", r"Net cost to the programme, per tonne collected .{3,60}? t (\S+)"),
    ):
        shown = re.findall(found, pages[name])
        assert shown, (name, found)
        decimals = {text: len(text.partition(".")[2]) for text in shown}
        assert set(shown) == {f"{each:,.{n}f}" for n in decimals.values()}, name
    front = dict(row[:2] for row in sheet(folder, "plan", "cover"))
    name = "Net cost to the programme per tonne collected"
    assert front[name] == pytest.approx(each)
    units = {tuple(row[:2]): row[5] for row in sheet(folder, "budget", "unit costs")}
    net = ("a tonne collected", "the same less income: net cost to the programme")
    assert units[net] == pytest.approx(each)


def test_other_costs_of_a_unit_are_one_as_well(planned, pages, folder):
    """What the report lists is what the workbook lists, each to its last digit."""
    known = unit_costs(book(planned)).set_index(["what", "basis"])["cost"]
    full = [f"{known[f'a tonne {what}', 'full']:,.2f}" for what in ("collected",)]
    full.append(f"{known['a tonne of compost', 'full']:,.2f}")
    full.append(f"{known['haulage, a tonne collected', 'full']:,.2f}")
    for text in full:
        assert f" {text} " in pages["report"]
    stored = [row[5] for row in sheet(folder, "budget", "unit costs")[1:]]
    assert stored == pytest.approx(known.tolist())


def test_the_split_adds_up_everywhere(planned, pages, folder):
    summary = planned.summary
    own, theirs = summary["programme_cost"], summary["sources_pay"]
    assert own + theirs == pytest.approx(summary["total_cost"], rel=1e-9)
    for page in ("report", "terminal", "map"):
        text = pages[page]
        assert re.search(rf"Net cost to the programme {own:,.0f}\b", text), page
    rows = sheet(folder, "budget", "who gains")
    gains = {str(row[0]): row[3:6] for row in rows}
    assert gains["the programme"] == pytest.approx([0, own, -own])
    today, plan, gain = gains["together: the district"]
    assert plan == pytest.approx(summary["total_cost"])
    assert gain == pytest.approx(today - plan)
    estimates = {row[1]: row[2] for row in sheet(folder, "budget", "estimates")}
    assert estimates["Net annual cost to the programme"] == pytest.approx(own)
    assert estimates["Net annual cost"] == pytest.approx(own + theirs)


def test_nobody_s_money_has_no_payback_and_no_return(planned, pages, folder):
    """What the sources gain is told, and never as a payback or return."""
    worth = {row[0]: row[1] for row in sheet(folder, "budget", "worth")[1:]}
    back = worth["the programme: its own money is paid back after"]
    assert back == "not within the years"
    assert str(worth["the programme: return on its own money"]).startswith("none")
    whole = worth["the district: the two together; nobody is paid this"]
    own = worth["the programme: net present value of its own money"]
    gain = worth["the sources: net present value of what they gain"]
    assert own + gain == pytest.approx(whole)
    assert own < 0 < gain
    assert "it does not pay back what it spends" in pages["report"]
    assert f"The sources gain {gain:,.0f} coin" in pages["report"]
