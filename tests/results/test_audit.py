"""The audit must see every way in which a plan can be wrong, and no other."""

import ast
import re
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from support.audit_rows import INST, PLAN, ROWS, TOLERANCE, WHOLE, D, more
from support.small_instances import small_instance

from logistics.model.solving.consistent_plan import solve
from logistics.model.solving.highs import Effort
from logistics.results import audit_backhaul, audit_mixes, audit_trucks, plan_audit
from logistics.results.plan_amounts import AuditError
from logistics.results.plan_audit import audit, require

DEMANDS = {
    "must collect", "yards forced open", "yards forced shut", "least share fish",
    "most share husk", "most yards", "other sites", "capital", "budget",
    "source served whole", "market served whole",
    "emissions limit", "people near yards", "worst tenth of farms", "goal as counted",
}  # fmt: skip


def failed(inst, plan) -> set[str]:
    table = audit(inst, plan)
    return set(table.loc[~table["passed"], "check"])


def test_a_plan_at_all_its_limits_passes():
    """What was added up one entry at a time is what the audit finds, to the limit."""
    table = audit(INST, PLAN).set_index("check")
    assert table["passed"].all()
    assert (table["worst"].abs() < 1e-12).all()
    assert (table["tolerance"] == TOLERANCE).all()
    sizes = {
        "pad on every day": 3 * 6,
        "water": 3 * 3,
        "mass at sources": 5 * 3,
        "most yards": 1,
    }
    assert table["rows"][list(sizes)].to_dict() == sizes


@pytest.mark.parametrize(
    ("name", "case"), ROWS, ids=[f"{name}-{n}" for n, (name, _) in enumerate(ROWS)]
)
def test_just_inside_passes_and_just_outside_fails(name, case):
    """And the breach is told as the share of its row that it is."""
    for share, passes in ((0.9 * TOLERANCE, True), (1.1 * TOLERANCE, False)):
        found = audit(*case(share)).set_index("check").loc[name]
        assert found["passed"] == passes
        told = share if name not in WHOLE else float(not passes)
        assert found["worst"] == pytest.approx(told, rel=1e-4)


def test_the_tolerance_itself_passes():
    left = more("uncollected", "s1", "p1", TOLERANCE)
    found = audit(INST, left).set_index("check").loc["must collect"]
    assert found["worst"] == TOLERANCE
    assert found["passed"]
    assert "must collect" in failed(INST, more("uncollected", "s1", "p1", 1.0001e-5))


def test_a_haul_on_no_lane_hides_no_other():
    """The trips on all other lanes are counted still, whichever stands first."""
    lanes = INST.inbound.take(INST.inbound.yard < 2)
    strange = more("hauls", "s0", "y2", "own", "p1", 1.0)
    first = replace(strange, hauls=strange.hauls.iloc[::-1])
    found = failed(replace(INST, inbound=lanes), first)
    assert "lanes in" in found
    assert "paired trips within trips in" not in found


def test_what_may_wait_by_hand():
    """Two feedstocks over three periods: one keeps two, the other all three."""
    stock = np.array([[5.0, 5.0, 5.0], [99.0, 99.0, 99.0]])
    arrived = np.array([[1.0, 2.0, 4.0], [1.0, 1.0, 1.0]])
    fresh = np.array([[2, 2, 2], [3, 3, 3]])
    expected = [[0.0, 2.0, -1.0], [0.0, 0.0, 0.0]]
    assert plan_audit._stale(stock, arrived, fresh).tolist() == expected
    one_yard = plan_audit._stale(stock[None], arrived[None], fresh)
    assert one_yard.tolist() == [expected]


def test_every_check_has_a_row():
    """All rules are switched on here, and every check found is tried at its limit."""
    for part in (INST, INST.mix, INST.policy):
        off = {f.name: getattr(part, f.name) for f in fields(part)}
        empty = [k for k, v in off.items() if isinstance(v, tuple) and not v]
        assert [k for k, v in off.items() if v is None] + empty == []
    known = {name for name, _ in ROWS}
    assert set(audit(INST, PLAN)["check"]) == known
    written = set()
    for module in (plan_audit, audit_mixes, audit_backhaul, audit_trucks):
        tree = ast.parse(Path(module.__file__).read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.Yield) and isinstance(node.value, ast.Tuple):
                written.add(pattern(node.value.elts[0]))
    assert len(written) > 30
    for each in written:
        assert any(re.fullmatch(each, name) for name in known), each


def pattern(name: ast.expr) -> str:
    """The names that a check may have."""
    parts = name.values if isinstance(name, ast.JoinedStr) else [name]
    return "".join(
        re.escape(p.value) if isinstance(p, ast.Constant) else ".+" for p in parts
    )


def test_a_plan_with_shortages_is_spared_the_demands():
    every, some = (set(audit(INST, PLAN, demands=d)["check"]) for d in (True, False))
    assert every - some == DEMANDS


def test_rules_that_are_off_are_not_checked():
    mix = replace(
        INST.mix, cn=None, moisture=None, density_t_m3=None, structure=None, salt=None,
        product=(None, None, None),
    )  # fmt: skip
    policy = replace(
        INST.policy, least_shares=(), max_yards=None, capital_limit=None,
        budget_limit=None, co2e_limit=None,
    )  # fmt: skip
    bare = replace(INST, mix=mix, policy=policy, cover=None)
    off = set(audit(INST, PLAN)["check"]) - set(audit(bare, PLAN)["check"])
    assert len(off) == 10 + 5 + 1
    assert failed(bare, PLAN) == set()


def test_what_keeps_the_year_may_wait_at_will():
    """Husk keeps all periods: however much of it waits is not too old."""
    far = more("held", "s0", "p1", 1e5)
    assert "held no longer than it keeps" not in failed(INST, far)
    assert "room at sources" in failed(INST, far)
    piled = more("stock", "y0", "husk", "p1", 1e5)
    assert "stock no older than it keeps" not in failed(INST, piled)


def test_a_pair_that_is_not_offered_fails():
    """Not in this district, not in this period, or not at all."""
    first = PLAN.paired.iloc[[0]]
    other = first.assign(source="s3", market="n1", yard="y2")
    offered = INST.backhauls.usable
    assert not offered.all()
    p, t = np.argwhere(~offered)[0]
    codes = (INST.supply.codes, INST.yards.codes, INST.markets.codes, INST.trucks.codes)
    places = ("source", "yard", "market", "truck")
    names = {
        name: [code[getattr(INST.backhauls, name)[p]]]
        for name, code in zip(places, codes, strict=True)
    }
    shut = pd.DataFrame({**names, "period": [INST.periods[t]], "trips": [0.1]})
    strange = first.assign(period="p9")
    for extra in (other, shut, strange):
        plan = replace(PLAN, paired=pd.concat([PLAN.paired, extra]))
        assert {"truck hours", "budget", "goal as counted"} <= failed(INST, plan)
    none = failed(replace(INST, backhauls=None), PLAN)
    assert {"truck hours", "budget", "goal as counted"} <= none
    alone = replace(PLAN, paired=PLAN.paired.iloc[:0])
    saves_nothing = audit(replace(INST, backhauls=None), alone)
    assert np.isfinite(saves_nothing["worst"]).all()


NUMBERS = [
    (f.name, column)
    for f in fields(PLAN)
    if isinstance(getattr(PLAN, f.name), pd.DataFrame)
    for column in getattr(PLAN, f.name).select_dtypes("number")
]


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize(("table", "column"), [*NUMBERS, ("objective", "")])
def test_what_is_no_number_fails(table, column, value):
    if not column:
        assert failed(INST, replace(PLAN, objective=value)) == {"goal as counted"}
        return
    frame = getattr(PLAN, table).copy()
    frame.loc[frame.index[0], column] = value
    assert failed(INST, replace(PLAN, **{table: frame}))


KEYS = [
    (f.name, column)
    for f in fields(PLAN)
    if isinstance(getattr(PLAN, f.name), pd.DataFrame) and f.name != "paired"
    for column in getattr(PLAN, f.name).select_dtypes(exclude="number")
]


@pytest.mark.parametrize(("table", "column"), KEYS)
def test_an_unknown_code_is_an_error(table, column):
    frame = getattr(PLAN, table).copy()
    frame.loc[frame.index[-1], column] = "nowhere"
    with pytest.raises(AuditError, match="the plan names an unknown"):
        audit(INST, replace(PLAN, **{table: frame}))


def test_a_yard_in_two_sizes_is_an_error():
    twice = PLAN.yards.assign(size=PLAN.yards["size"].to_numpy()[::-1])
    plan = replace(PLAN, yards=pd.concat([PLAN.yards, twice]))
    with pytest.raises(AuditError, match="yard y0 is open in two sizes"):
        audit(INST, plan)


def test_a_failed_audit_stops_the_plan():
    """What failed is told with how much; what passed is not."""
    dear = replace(PLAN, objective=np.inf)
    wet = more("water", "y2", "p1", 0.25)
    require(audit(INST, PLAN))
    with pytest.raises(AuditError) as told:
        require(audit(INST, wet))
    assert str(told.value).startswith("the plan fails its audit and is not shown: ")
    assert "water (by 0.25)" in str(told.value)
    assert "pad" not in str(told.value)
    with pytest.raises(AuditError, match="goal as counted"):
        require(audit(INST, dear))


@pytest.mark.parametrize("goal", ["cost", "uncollected", "co2e"])
def test_plans_of_the_programme_pass(goal):
    """An answer of the solver, which knows nothing of the audit."""
    inst = replace(small_instance(5), goal=goal)
    assert failed(inst, solve(inst, Effort(gap=0.0, seconds=60))) == set()


def test_the_drawn_plan_has_all_there_is():
    """Otherwise a check would have nothing to look at."""
    for f in fields(PLAN):
        value = getattr(PLAN, f.name)
        if isinstance(value, pd.DataFrame) and f.name not in ("shortages", "worth"):
            assert len(value), f.name
    assert D.money() > 0
    assert min(D.charge.values()) > 1
