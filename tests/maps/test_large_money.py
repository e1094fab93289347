"""A currency of little value: the same plan, and figures that people can read."""

import io
import json
import re

import pytest
from rich.console import Console
from support.low_value import low_value

from logistics.results.pipeline import Result, run
from logistics.scenario.scenario import read_scenario
from maps.geo.web_map import map_html
from maps.report.report import report_html
from maps.shared import (
    LARGE,
    Figure,
    MoneyUnit,
    cell_text,
    in_print,
    money_unit,
    net_text,
)
from maps.tables.all_tables import tables
from maps.tables.terminal import show

TIMES = 215_000.0
NINE_FIGURES = re.compile(r"\d{3},\d{3},\d{3}")


@pytest.fixture(scope="module")
def cheap(tmp_path_factory: pytest.TempPathFactory) -> Result:
    return run(read_scenario(low_value(tmp_path_factory.mktemp("a") / "d", 1.0)))


@pytest.fixture(scope="module")
def dear(tmp_path_factory: pytest.TempPathFactory) -> Result:
    return run(read_scenario(low_value(tmp_path_factory.mktemp("b") / "d", TIMES)))


def test_money_is_a_unit_and_nothing_else(cheap: Result, dear: Result):
    """Law: all money times a factor leaves the plan and multiplies its cost."""
    assert dear.plan.yard_sizes == cheap.plan.yard_sizes
    cost = cheap.summary["total_cost"]
    assert dear.summary["total_cost"] == pytest.approx(TIMES * cost, rel=1e-6)
    assert dear.summary["audit_passed"]


def visible(page: str) -> str:
    """Text of a page without its scripts and styles."""
    page = re.sub(r"<(script|style).*?</\1>", "", page, flags=re.DOTALL)
    return re.sub(r"<[^>]*>", "", page)


def printed(result: Result) -> str:
    text = io.StringIO()
    show(result, Console(file=text, width=100))
    return text.getvalue()


def test_the_terminal_counts_in_millions(cheap: Result, dear: Result):
    said = printed(dear)
    paid = dear.ledger.groupby("account")["amount"].sum()
    sold = -paid["compost"]
    assert re.search(r"^Cost of the year +million coin", said, re.MULTILINE)
    assert re.search(rf"^compost +−{sold / 1e6:,.1f}$", said, re.MULTILINE)
    haulage = paid[["haulage in", "haulage out", "fleet"]].sum() / 1e6
    line = rf"Haulage {haulage:,.1f} million coin; net cost to the programme (\S+) coin"
    found = re.search(line, said)
    each = dear.summary["cost_per_t_collected"]
    assert found is not None
    assert found[1] == f"{each:,.{0 if each >= 1e5 else 2}f}"
    assert not NINE_FIGURES.search(said)
    few = f"−{sold / TIMES:,.0f}"
    assert re.search(rf"^compost +{few}$", printed(cheap), re.MULTILINE)


@pytest.mark.slow
def test_report_and_map_count_in_large_units(dear: Result):
    pages = visible(report_html(dear)), visible(map_html(dear))
    for text in pages:
        assert "million coin/yr" in text
        assert not NINE_FIGURES.search(text)
    assert "Costs and income by month [million coin]" in pages[0]


@pytest.mark.slow
def test_tables_hold_the_amounts_themselves(dear: Result):
    ledger = tables(dear)["ledger"]
    assert ledger["amount [coin/yr]"].abs().max() > 1e8


@pytest.mark.parametrize("step", LARGE)
def test_the_unit_changes_at_its_limit(step: tuple[float, float, str, int]):
    least, factor, word, _ = step
    assert money_unit("francs", [5.0, -least]).name == f"{word} francs"
    below = money_unit("francs", [5.0, least * 0.999])
    assert (below.factor, below.word) != (factor, word) or below.digits
    assert money_unit("francs", []).name == "francs"


def test_digits_kept_say_enough():
    """The largest amount of a page has four figures or more, and never ten."""
    for power in range(80, 150):
        amount = 10 ** (power / 10)
        text = money_unit("francs", [amount]).text(amount)
        figures = sum(c.isdigit() for c in text)
        assert 4 < figures < 9 or amount > 1e14


def test_a_surplus_is_told_as_one():
    unit = MoneyUnit("francs")
    assert net_text(-108_153, unit) == "surplus 108,153"
    assert net_text(-0.2, unit) == "0"
    assert cell_text("haulage [francs/yr]", -5.0, unit) == "−5"
    told = in_print(
        [
            Figure("Net cost", -1e9, "francs/yr"),
            Figure("Net cost per tonne", -2.0, "francs/t"),
        ],
        "francs",
    )
    assert [(f.label, f.value, f.unit) for f in told] == [
        ("Surplus", "1,000.0", "million francs/yr"),
        ("Surplus per tonne", 2.0, "francs/t"),
    ]


def test_the_map_gets_the_same_steps(dear: Result):
    page = map_html(dear)
    data = re.search(r'id="data">(.*?)</script>', page, re.DOTALL)
    assert data is not None
    assert json.loads(data[1])["money"] == [list(step) for step in LARGE]
