"""The promises of the README, kept on both demo districts."""

import pytest
from support.places import SCENARIOS

from logistics.results.pipeline import Result, run
from logistics.results.plan_ledger import net_cost
from logistics.scenario.scenario import read_scenario

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module", params=["brackwater", "highlake"])
def result(request, brackwater_planned) -> Result:
    if request.param == "brackwater":
        return brackwater_planned
    return run(read_scenario(SCENARIOS / request.param))


def test_gap_is_proven(result):
    assert result.plan.status == "optimal"
    assert result.plan.gap <= 0.01
    assert result.plan.bound <= result.plan.objective


def test_audit_and_recount_agree(result):
    assert result.audit["passed"].all()
    assert net_cost(result.ledger) == pytest.approx(result.plan.objective, rel=1e-6)


def test_every_mix_is_inside_its_windows(result):
    mix = result.scenario.settings.mix
    assert len(result.mixes)
    assert result.mixes["cn"].between(mix.cn_low - 1e-6, mix.cn_high + 1e-6).all()
    inside = result.mixes["moisture"].between(
        mix.moisture_low - 1e-8, mix.moisture_high + 1e-8
    )
    assert inside.all()


def test_fish_is_collected(result):
    share = result.summary["collected_share"]
    fish = next(name for name in share if "fish" in name)
    assert share[fish] >= 0.9


def test_the_puzzle_is_one(result):
    """Husk is stocked for leaner months, and one yard is not enough."""
    stocked = result.plan.stock
    assert stocked["feedstock"].str.contains("husk").any()
    assert len(result.plan.yards) > 1
