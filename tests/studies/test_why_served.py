"""Why a source is left or a market short: a small district, rules, words, pages."""

import json
from dataclasses import replace
from io import StringIO

import pytest
from rich.console import Console
from support.places import SMALL
from typer.testing import CliRunner

from logistics.changes.files import apply_changes, parse_change
from logistics.model.assembly.assembler import prepare
from logistics.model.problem.instance import ServedWhole
from logistics.results.pipeline import run
from logistics.scenario import change_setting
from logistics.scenario.edits import set_values
from logistics.scenario.scenario import read_scenario
from logistics.studies.reach_of_place import no_way
from logistics.studies.served_places import SERVED_GAP, why_place
from logistics.studies.turned_sites import ground_of
from maps.commands.command_line import app
from maps.studies.service_words import month_rows, paid_rows
from maps.studies.why_page import show_why, why_html
from maps.studies.why_record import why_record
from maps.studies.why_words import accounts, answer_words, turn_cells

HOSTILE = '<script>alert("x")</script>, a name & more'


@pytest.fixture(scope="module")
def scenario():
    return read_scenario(SMALL)


@pytest.fixture(scope="module")
def ground(scenario):
    return ground_of(run(scenario), gap=SERVED_GAP)


@pytest.fixture(scope="module")
def herd(ground):
    return why_place(ground, "source", "herd")


def shown(told):
    text = StringIO()
    show_why([told], Console(file=text, width=200))
    return text.getvalue()


@pytest.mark.slow
def test_a_source_that_is_left(ground, herd):
    """The intervals, the plans and the words agree."""
    service, kept = herd.service, herd.service.kept
    inst = ground.made.instance
    tonnes = inst.supply.tonnes[inst.supply.codes.index("herd")].sum()
    assert service.wanted_t == pytest.approx(tonnes)
    assert service.short_t == pytest.approx(tonnes)
    for result in (herd.outcome.operate, herd.outcome.replan):
        left = result.plan.uncollected.groupby("source")["tonnes"].sum()
        assert left.get("herd", 0.0) == pytest.approx(0.0, abs=1e-6)
    least, most = herd.adds
    extra = herd.outcome.replan.plan.objective - ground.base.plan.objective
    assert least - 0.01 <= extra <= most + 0.01
    same = herd.outcome.operate.plan.yard_sizes
    assert same == ground.base.plan.yard_sizes
    per_t = [step.per_t for step in kept.steps]
    assert per_t == sorted(per_t)
    assert kept.steps[-1].left_t <= kept.asked.short
    turns = {turn.figure: turn for turn in herd.turns}
    assert turns["payment"].turns == pytest.approx(most)
    assert turns["tonne"].turns == pytest.approx(per_t[-1])
    assert turns["haulage"].never
    assert turn_cells(herd, turns["haulage"])[1:] == (
        "even free of cost",
        "no change of this alone",
    )
    said = answer_words(herd)
    assert said[0].startswith("The plan collects nothing of the 1,095 t that arise")
    assert "No rule bars it: it costs more than it brings." in said
    assert paid_rows(herd)[-1][-1] == "0"
    assert sum(float(row[1].replace(",", "")) for row in month_rows(herd)) == (
        pytest.approx(tonnes, abs=6)
    )
    table = accounts(herd)
    kept_cost = herd.outcome.operate.summary["total_cost"]
    assert table["kept"].sum() == pytest.approx(kept_cost, abs=0.01)


@pytest.mark.slow
def test_a_rule_that_bars_is_named_and_what_other_yards_could_do(ground):
    told = why_place(ground, "source", "pier", up_to=0)
    said = answer_words(told)
    assert "no payment would make the plan collect more than" in said[1]
    assert said[2].startswith("Without limits on pad room it could collect 600 t.")
    assert told.service.kept.steps == ()
    assert told.adds is not None
    assert "The other plan opens Reef yard" in said[-1]


@pytest.mark.slow
def test_a_name_is_text_and_the_record_can_be_read_again(ground, herd):
    tables = dict(ground.base.scenario.tables)
    tables["sources"] = tables["sources"].assign(name=HOSTILE)
    base = replace(ground.base, scenario=replace(ground.base.scenario, tables=tables))
    page = why_html([replace(herd, base=base)])
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "a name & more" in shown(replace(herd, base=base))
    (one,) = json.loads(json.dumps(why_record([herd])))
    assert one["source"] == "herd"
    assert one["adds"] == pytest.approx(list(herd.adds))
    assert len(one["months"]) == 12
    assert one["yards_as_they_are"]["payments"][-1]["short_t"] <= 0.01


@pytest.mark.slow
def test_a_place_that_is_served_whole_is_one_sentence(ground):
    few = apply_changes(
        ground.base.scenario, parse_change("scale_demand:percent=-90,market=garden")
    )
    told = why_place(ground_of(run(few)), "market", "garden")
    (said,) = answer_words(told)
    assert said == "South gardens gets all it asks: 90 t in a year."
    assert "gets all it asks" in why_html([told])


def reasons(scenario, kind="source", site=0, periods=range(12)):
    return no_way(prepare(scenario), ServedWhole(kind, site, tuple(periods)))


def test_what_no_rule_allows_answers_with_the_rule_and_its_hours(scenario):
    """Each rule alone keeps a place out; without it there is a way."""
    assert reasons(scenario) == []
    pier = scenario.sources["source"].tolist().index("pier")
    slow = set_values(
        scenario, "sources", scenario.sources["source"] == "pier", {"wait_hours": 500.0}
    )
    (said,) = reasons(slow, site=pier)
    assert said.startswith("It spoils on the way: the quickest way to a yard")
    assert "after 500 h of waiting" in said
    carts = scenario.trucks.assign(carries=[["compost"]] * len(scenario.trucks))
    tables = {**scenario.tables, "trucks": carts}
    (said,) = reasons(replace(scenario, tables=tables))
    assert said.startswith("No truck may carry ")
    limit = change_setting(scenario.settings, "travel.lane_limit_km", 0.5)
    near = replace(scenario, settings=limit)
    (said,) = reasons(near, "market")
    assert "travel.lane_limit_km allows 0.5 km" in said


@pytest.mark.slow
def test_the_command_asks_about_a_source_in_a_month(tmp_path):
    out = ["--out", str(tmp_path), "--up-to", "0"]
    done = CliRunner().invoke(
        app, ["why", str(SMALL), "source:mill_north", "--period", "m02", *out]
    )
    assert done.exit_code == 0, done.output
    assert "that arise at North mill in February" in " ".join(done.stdout.split())
    assert sorted(p.name for p in tmp_path.iterdir()) == ["why.html", "why.json"]


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["mill_nort"], "There is no yard, source or market 'mill_nort'. Did you mean"),
        (["herd", "--size", "small"], "Name the yard that --size is asked about."),
        (["shoal", "--period", "m02"], "Name the source or market that --period"),
        (["herd", "--period", "m99"], "There is no period 'm99'"),
        (["yard:herd"], "There is no yard, source or market 'yard:herd'."),
    ],
)
def test_what_cannot_be_asked_is_said(asked, said):
    done = CliRunner().invoke(app, ["why", str(SMALL), *asked])
    assert done.exit_code == 2
    assert said in done.output
