"""The promises of the README, kept on both demo districts."""

from collections import Counter

import pytest
from support.places import SCENARIOS

from logistics.results.pipeline import Result, run
from logistics.results.plan_ledger import net_cost
from logistics.rounds.windrow_calendar import windrows
from logistics.scenario.rows import records, rows_by
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
    assert share[fish] >= 0.8


def test_the_puzzle_is_one(result):
    """Feedstock is kept for leaner months, and one yard is not enough."""
    assert result.plan.stock["tonnes"].sum() > 100
    assert len(result.plan.yards) > 1


def test_the_yard_sheets_keep_to_the_windrow_zone_on_every_day(result):
    """What foremen are told to build, turn, shorten and clear, for a year of days."""
    scenario, fullest = result.scenario, 0.0
    shape, year = scenario.settings.windrow, int(scenario.periods["days"].sum())
    sizes = rows_by(scenario.yard_sizes, "size")
    mixes = result.mixes.groupby("yard")["windrow_m3"].sum()
    for yard, size in result.plan.yard_sizes:
        zone = sizes[size]["pad_m2"] / (1 + shape.reserve)
        metres, volume = Counter(), 0.0
        for row in records(windrows(result, yard)):
            volume += row["length_m"] * shape.base_m * shape.height_m * 2 / 3
            for day in range(row["opened"], row["leaves"] + 1):
                done = [n for n, built in enumerate(row["built"]) if built <= day]
                turned = sum(each < day for each in row["turned"])  # till that evening
                length = [row["length_m"], *row["lengths_m"]][turned]
                metres[(day - 1) % year] += row["there"][done[-1]] * length
        area = max(metres.values()) * (shape.base_m + shape.aisle_m)
        assert area <= zone * (1 + 1e-6)
        assert volume == pytest.approx(mixes[yard])  # all of it is built
        fullest = max(fullest, area / zone)
    assert fullest > 0.9  # a pad that is planned full is full by the sheets
