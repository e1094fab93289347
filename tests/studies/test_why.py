"""Why a yard stands or not: a small district asked, refused sites, hostile names."""

import json
from dataclasses import replace
from io import StringIO
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from rich.console import Console
from support.places import SMALL
from typer.testing import CliRunner

from logistics.changes.files import apply_changes, parse_change
from logistics.results.pipeline import run
from logistics.scenario.edits import set_values
from logistics.scenario.scenario import read_scenario
from logistics.studies.turned_sites import _constants, ground_of, price_margin, why_site
from maps.commands.command_line import app
from maps.studies.why_page import show_why, why_html
from maps.studies.why_record import why_record
from maps.studies.why_words import answer_words

pytestmark = pytest.mark.slow

HOSTILE = '<script>alert("x")</script>, a name & more'


@pytest.fixture(scope="module")
def scenario():
    return read_scenario(SMALL)


@pytest.fixture(scope="module")
def ground(scenario):
    return ground_of(run(scenario))


@pytest.fixture(scope="module")
def mole(ground):
    return why_site(ground, "mole")


def shown(*found):
    text = StringIO()
    show_why(list(found), Console(file=text, width=200))
    return text.getvalue()


def test_a_site_without_a_yard(ground, mole):
    """The interval and the words agree, and the other plan has a yard there."""
    assert not mole.chosen
    least, most = mole.adds
    other = mole.outcome.replan
    assert "mole" in dict(other.plan.yard_sizes)
    extra = other.plan.objective - ground.base.plan.objective
    assert least - 0.01 <= extra <= most + 0.01
    cost = abs(ground.base.summary["total_cost"])
    assert most - least <= 0.01 * cost
    turns = {turn.figure: turn for turn in mole.turns}
    assert turns["yearly cost"].stays == pytest.approx(least)
    assert "adds at least" in answer_words(mole)[0]


def test_a_yard_that_stands_says_what_it_saves(ground):
    code, _ = ground.base.plan.yard_sizes[0]
    told = why_site(ground, code, up_to=0)
    assert told.chosen
    assert code not in dict(told.outcome.replan.plan.yard_sizes)
    if told.adds is not None:
        assert told.adds[1] <= 0.01
        assert {turn.figure for turn in told.turns} <= {"yearly cost", "grant"}


def test_a_grant_counts_by_its_annuity(scenario, ground, mole):
    """100 a year are paid by the works that cost as much as that for their life."""
    there = mole.outcome.replan.plan
    _, grant = _constants(ground, mole, there, (100.0, 110.0))
    size = dict(there.yard_sizes)["mole"]
    sizes = scenario.yard_sizes.set_index("size")
    life = float(sizes.loc[size, "works_life_years"])
    assert set(sizes["works_life_years"]) == {life}
    rate = scenario.settings.finance.discount
    of_one = rate / (1 - (1 + rate) ** -life)
    assert grant.stays == pytest.approx(100 / of_one)
    assert grant.turns == pytest.approx(110 / of_one)
    factor = float(scenario.yards.set_index("yard").loc["mole", "works_factor"])
    assert grant.most == pytest.approx(float(sizes.loc[size, "works_cost"]) * factor)


def test_refused_closed_and_small_sites_answer_with_the_rule(scenario):
    closed = apply_changes(scenario, parse_change("close_yard:yard=reef"))
    small = apply_changes(closed, parse_change("set_area:yard=mole,area_m2=100"))
    ground = ground_of(run(small))
    assert answer_words(why_site(ground, "reef"))[1:] == [
        "The scenario rules out a yard there (decision closed in yards.csv)."
    ]
    (said,) = answer_words(why_site(ground, "mole"))[1:]
    assert said == "The land rules refuse it: area 100 m2, needs 4,000 m2."
    (said,) = answer_words(why_site(ground, "shoal", "large"))[1:]
    assert said.startswith("The site has ")
    wet = set_values(
        closed, "yards", closed.yards["yard"] == "mole", {"water_table_m": 0.01}
    )
    told = why_site(ground_of(run(wet)), "mole")
    assert told.outcome is None
    (said,) = answer_words(told)[1:]
    assert said.startswith("The land rules refuse it: water table 0.0 m, needs 1.5 m.")
    assert "No yard can stand at Mole yard." in shown(told)
    assert "water table" in why_html([told])


def test_a_name_is_text_on_page_and_terminal(ground, mole):
    yards = ground.base.scenario.yards
    tables = dict(ground.base.scenario.tables)
    tables["yards"] = yards.assign(name=HOSTILE)
    base = replace(ground.base, scenario=replace(ground.base.scenario, tables=tables))
    told = replace(mole, base=base)
    page = why_html([told, told])
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "<script" not in why_html([told])
    assert "a name & more" in shown(told)


def test_the_record_can_be_read_again(mole):
    (one,) = json.loads(json.dumps(why_record([mole])))
    assert one["yard"] == "mole"
    assert one["adds"] == pytest.approx(list(mole.adds))
    table = {row["account"]: row["difference"] for row in one["accounts"]}
    more = one["other_plan"]["net_cost"] - one["net_cost"]
    assert sum(table.values()) == pytest.approx(more, abs=0.01)


def test_the_command_asks_one_site_or_all(tmp_path):
    done = CliRunner().invoke(app, ["why", str(SMALL), "mole", "--out", str(tmp_path)])
    assert done.exit_code == 0, done.output
    assert "adds at least" in " ".join(done.stdout.split())
    assert sorted(p.name for p in tmp_path.iterdir()) == ["why.html", "why.json"]
    done = CliRunner().invoke(app, ["why", str(SMALL), "nowhere"])
    assert done.exit_code == 2
    assert "There is no yard, source or market 'nowhere'" in done.output


@pytest.mark.parametrize(
    ("delivered", "margin", "rise"), [(50.0, 200.0, 0.2), (100.0, 200.0, 10.0)]
)
def test_where_all_is_sold_no_absurd_rise_of_prices_is_told(delivered, margin, rise):
    """100 t are asked at 20: with 50 t sold a fifth more pays 200, else none."""
    markets = SimpleNamespace(
        codes=("farm",),
        price_per_t=np.array([20.0]),
        prices=np.array([[20.0]]),
        demand=np.array([[100.0]]),
        price_change=None,
    )
    ground = SimpleNamespace(
        made=SimpleNamespace(instance=SimpleNamespace(markets=markets))
    )
    sent = pd.DataFrame({"market": ["farm"], "tonnes": [delivered]})
    absent, told = SimpleNamespace(deliveries=sent), SimpleNamespace(chosen=False)
    assert price_margin(ground, absent, margin, told) == pytest.approx(rise)
