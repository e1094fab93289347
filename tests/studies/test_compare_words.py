"""What compare says in words: cannot stay, demands unmet, as good as equal."""

import json
import re
from dataclasses import replace
from io import StringIO
from types import SimpleNamespace

import openpyxl
import pytest
from rich.console import Console
from support.places import SMALL
from typer.testing import CliRunner

from logistics.changes.files import apply_changes, parse_change
from logistics.results.pipeline import run
from logistics.scenario.scenario import read_scenario
from logistics.studies.comparison import (
    Outcome,
    as_good_as_equal,
    compare,
    equals_base,
    overview,
    proven_difference,
)
from logistics.studies.other_yards import other_yards_save
from maps.commands.command_line import app
from maps.studies.comparison import cost_chart, show_comparison, write_comparison
from maps.studies.comparison_map import comparison_data, comparison_html
from maps.studies.comparison_reason import reason
from maps.studies.comparison_words import remarks

pytestmark = pytest.mark.slow

RUNNER = CliRunner()
FORCED = "Reef yard must be open, but it is not built."
UNMET = "does not meet all demands."


@pytest.fixture(scope="module")
def scenario():
    return read_scenario(SMALL)


@pytest.fixture(scope="module")
def base(scenario):
    return run(scenario)


@pytest.fixture(scope="module")
def outcomes(scenario, base):
    """An unused yard ruled out, which changes nothing, and compost that pays less."""
    texts = ("close_yard:yard=mole", "scale_price:percent=-30")
    return compare(scenario, base, [parse_change(text) for text in texts])


@pytest.fixture(scope="module")
def forced(scenario, base):
    """A yard forced, and one closed and another forced in one change."""
    one = parse_change("force_yard:yard=reef")
    close = parse_change("close_yard:yard=shoal").steps
    both = replace(one, code="both", title="Both", steps=(*close, *one.steps))
    return compare(scenario, base, [one, both])


@pytest.fixture(scope="module")
def owed(scenario):
    """All fish must be collected, and the only yard is lost."""
    asked = apply_changes(scenario, parse_change("must_collect:material=fish"))
    base = run(asked)
    used = base.plan.yards["yard"].tolist()
    steps = [step for y in used for step in parse_change(f"close_yard:yard={y}").steps]
    lost = replace(parse_change(f"close_yard:yard={used[0]}"), steps=tuple(steps))
    return base, compare(asked, base, [lost])


def shown(base, outcomes, tmp_path):
    """What is said in each place: terminal, CSV, workbook, page and its data."""
    text = StringIO()
    show_comparison(base, outcomes, Console(file=text))
    write_comparison(base, outcomes, tmp_path)
    sheet = openpyxl.load_workbook(tmp_path / "compare.xlsx")["overview"]
    cells = [str(cell) for row in sheet.iter_rows(values_only=True) for cell in row]
    first = comparison_data(base, outcomes)["outcomes"][0]
    assert first["proof"] in " ".join(first["told"])  # beside the figures as well
    data = json.dumps(first["told"])
    return {
        "terminal": text.getvalue(),
        "csv": (tmp_path / "compare.csv" / "overview.csv").read_text(encoding="utf-8"),
        "workbook": " ".join(cells),
        "data": data,
        "page": comparison_html(base, outcomes).partition("<noscript>")[2],
    }


@pytest.mark.slow
def test_old_yards_that_cannot_obey_leave_the_replan_alone(base, forced):
    for outcome in forced:
        assert outcome.operate is None
        assert outcome.regret is None
        assert outcome.obstacles == (FORCED,)
        assert "reef" in dict(outcome.replan.plan.yard_sizes)
    assert "shoal" not in dict(forced[1].replan.plan.yard_sizes)
    table = overview(base, forced)
    assert table["status"].tolist()[1::2] == ["none", "none"]
    assert table.loc[1, ["cost", "yards", "regret"]].isna().all()


def test_it_is_said_everywhere_that_old_yards_cannot_stay(base, forced, tmp_path):
    for place, text in shown(base, forced, tmp_path).items():
        assert FORCED in text, place
        assert "cannot stay" in text, place


def test_too_many_old_yards_are_no_answer(scenario):
    two = apply_changes(scenario, parse_change("force_yard:yard=reef"))
    base = run(two, yards=[("reef", "small"), ("shoal", "small")])
    assert len(base.plan.yards) == 2
    wanted = parse_change("setting:name=policy.max_yards,value=1")
    (outcome,) = compare(two, base, [wanted])
    assert outcome.operate is None
    assert outcome.regret is None
    assert outcome.obstacles[0].startswith("2 yards stand, and at most 1 may be open")
    assert dict(outcome.replan.plan.yard_sizes).keys() == {"reef"}


@pytest.mark.slow
def test_a_plan_with_demands_unmet_has_no_regret_and_says_so(owed, tmp_path):
    base, (outcome,) = owed
    assert outcome.operate.plan.status == "shortage"
    assert outcome.replan.plan.status == "optimal"
    assert outcome.regret is None
    for place, text in shown(base, [outcome], tmp_path).items():
        assert UNMET in text, place
        assert "With the yards as in the base" in text, place


def test_a_base_and_a_replan_with_demands_unmet_say_so(owed, tmp_path):
    """The plans of `owed` in other places: every answer is looked at."""
    base, (outcome,) = owed
    short = Outcome(outcome.change, outcome.operate, outcome.operate)
    for place, text in shown(outcome.operate, [short], tmp_path).items():
        assert f"The base plan {UNMET}" in text, place
        assert f"All planned afresh, the plan {UNMET}" in text, place
    assert short.regret is None
    assert not equals_base(base, outcome.operate)


def test_no_regret_is_negative(outcomes):
    """Nor where the solver's rounding says otherwise."""
    operate, replan = outcomes[1].operate, outcomes[1].replan
    less = replace(operate.plan, objective=replan.plan.objective - 1e-9)
    assert Outcome(outcomes[1].change, replace(operate, plan=less), replan).regret == 0


def test_a_regret_is_of_money_alone(outcomes):
    operate, replan = outcomes[1].operate, outcomes[1].replan
    other = replace(replan, instance=replace(replan.instance, goal="uncollected"))
    assert Outcome(outcomes[1].change, operate, other).regret is None


@pytest.mark.parametrize(
    ("one", "other", "equal"),
    [
        ((99_000, 100_000), (100_000, 100_500), True),  # the bound just at the other
        ((99_000, 100_000), (100_001, 100_500), False),
        ((99_000, 100_000), (99_999, 100_500), True),
        ((-500, -100), (-99.99995, -50), True),  # within what plans are solved to
        ((-500, -100), (-99.9998, -50), False),
        ((5, 5), (5, 5), True),
        ((float("-inf"), 5), (4, 5), False),  # nothing is proven
    ],
)
def test_equal_is_what_the_proven_gaps_leave_open(one, other, equal):
    one, other = (
        SimpleNamespace(floor=low, objective=high, status="optimal")
        for low, high in (one, other)
    )
    assert as_good_as_equal(one, other) is equal
    assert as_good_as_equal(other, one) is equal
    short = SimpleNamespace(**{**vars(one), "status": "shortage"})
    assert not as_good_as_equal(short, other)


def test_what_is_proven_of_a_difference():
    one = SimpleNamespace(floor=90, objective=100, status="optimal")
    other = SimpleNamespace(floor=105, objective=110, status="optimal")
    assert proven_difference(one, other) == (5, 20)
    assert proven_difference(other, one) == (-20, -5)


def bounded(result, objective, bound):
    """The same result, of a plan of this objective and bound."""
    return replace(result, plan=replace(result.plan, objective=objective, bound=bound))


@pytest.mark.parametrize(
    ("after", "says"),
    [
        ((100_550, 100_000), "As good as equal to the base: a difference of 550 coin"),
        ((100_550, 100_022), "between 22 and 1,550 coin a year above it."),
        ((98_950, 98_850), "between 50 and 1,150 coin a year below it."),
        ((101_528, 101_000), "between 1,000 and 2,528 coin a year above it."),
        ((101_529, 101_001), ""),  # more than both gaps together
    ],
)
def test_close_to_the_base_just_inside_and_outside(base, outcomes, after, says):
    """The base is proven to 1,000 coin."""
    before = bounded(base, 100_000.0, 99_000.0)
    replan = bounded(outcomes[1].replan, *map(float, after))
    said = remarks(before, replace(outcomes[1], replan=replan))["re-plan"]
    assert says in said
    assert bool(said) == bool(says)


def test_other_goals_are_never_equal(base):
    other = replace(base, instance=replace(base.instance, goal="co2e"))
    assert equals_base(base, base)
    assert not equals_base(base, other)


@pytest.mark.slow
def test_as_good_as_equal_is_said_everywhere(base, outcomes, tmp_path):
    unused, dear = outcomes
    for place, text in shown(base, [unused], tmp_path / "equal").items():
        assert "As good as equal" in text, place
    for place, text in shown(base, [dear], tmp_path / "dear").items():
        assert "As good as equal" not in text, place
    assert overview(base, [unused, dear])["equal"].tolist() == [
        *(False, False, True),
        *(False, False),
    ]


def test_bars_of_cost_mark_what_is_as_good_as_equal(base, outcomes, tmp_path):
    unused, dear = outcomes
    drawn = cost_chart(base, [unused, dear]).figures
    tie = f"{unused.change.title}: as good as equal"
    assert drawn.index.tolist() == [dear.change.title, tie, "Base"]
    costs = [dear.replan, unused.replan, base]
    assert drawn["net cost"].tolist() == [r.summary["total_cost"] for r in costs]
    write_comparison(base, [unused, dear], tmp_path)
    sheet = openpyxl.load_workbook(tmp_path / "compare.xlsx")["charts"]
    assert len(sheet._charts) == 1
    assert tie in {cell.value for row in sheet.iter_rows() for cell in row}


@pytest.mark.slow
def test_the_command_takes_a_forced_yard(tmp_path):
    words = ["compare", str(SMALL), "--change", "force_yard:yard=mole", "--map"]
    done = RUNNER.invoke(app, [*words, "--out", str(tmp_path)])
    assert done.exit_code == 0, done.output
    assert "Mole yard must be open, but it is not built." in done.output
    assert (tmp_path / "compare.html").exists()


def test_the_terminal_names_a_yard_that_is_only_resized(base, outcomes, monkeypatch):
    """Otherwise a regret would stand there with no yard opened or closed."""
    code, _ = base.plan.yard_sizes[0]
    table = overview(base, outcomes[:1])
    resized = table.assign(resized=[""] * (len(table) - 1) + [code])
    lines = {}
    for name, found in {"same": table, "moved": resized}.items():
        monkeypatch.setattr("maps.studies.comparison.overview", lambda *_, f=found: f)
        text = StringIO()
        show_comparison(base, outcomes[:1], Console(file=text))
        lines[name] = text.getvalue()
    assert "Resized" not in lines["same"]
    assert "Resized" in lines["moved"]
    yards = base.scenario.yards.set_index("yard")["name"]
    assert yards[code] in lines["moved"].split("Resized")[1]


def test_why_yards_move_is_the_money_that_they_save(scenario, base):
    """Its parts add up to the regret, and are those of both ledgers."""
    (outcome,) = compare(scenario, base, [parse_change("scale_price:percent=-60")])
    said = remarks(base, outcome)["re-plan"]
    assert said.startswith("Shoal yard closes: 23,498 coin less on yards and")
    assert said.endswith("6,282 coin a year better than with the old yards.")
    numbers = re.findall(r"([\d,]+) coin (less|more|a year) (on|from|better)", said)
    sign = {("less", "on"): 1, ("more", "on"): -1}
    sign |= {("more", "from"): 1, ("less", "from"): -1, ("a year", "better"): -1}
    amounts = [int(n.replace(",", "")) * sign[word, of] for n, word, of in numbers]
    assert len(amounts) == 6
    assert sum(amounts) == 0
    assert -amounts[-1] == round(outcome.regret)
    for kind, accounts in (("yards", ["yards"]), ("sales", ["compost"])):
        old, new = (
            result.ledger.loc[result.ledger["account"].isin(accounts), "amount"].sum()
            for result in (outcome.operate, outcome.replan)
        )
        saved = other_yards_save(outcome)
        assert saved[kind] == pytest.approx(old - new)
    assert other_yards_save(outcome).sum() == pytest.approx(outcome.regret)


def test_no_reason_is_given_where_no_yard_moves(outcomes, forced):
    assert [reason(outcome) for outcome in (*outcomes, *forced)] == [""] * 4
    without = replace(outcomes[1], operate=None)
    assert reason(without) == ""
