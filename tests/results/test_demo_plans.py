"""The promises of the README, kept on both demo districts."""

from collections import Counter

import numpy as np
import pytest

from logistics.composting.materials import feedstocks
from logistics.composting.ripe_days import ready_by_day, sent_by_day
from logistics.composting.windrow_life import period_of_day
from logistics.results.pipeline import Result
from logistics.results.plan_ledger import net_cost
from logistics.rounds.windrow_calendar import windrows
from logistics.scenario.rows import records, rows_by

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module", params=["brackwater", "highlake"])
def result(request) -> Result:
    found: Result = request.getfixturevalue(f"{request.param}_planned")
    return found


def test_gap_is_proven(result):
    assert result.plan.status == "optimal"
    assert result.plan.gap <= 0.01
    assert result.plan.bound <= result.plan.objective


def test_audit_and_recount_agree(result):
    assert result.audit["passed"].all()
    rounds = result.ledger["account"] == "rounds"
    assert result.summary["rounds_left_t"] == 0
    planned = net_cost(result.ledger[~rounds])
    assert planned == pytest.approx(result.plan.objective, rel=1e-6)
    more = result.ledger.loc[rounds, "amount"].sum()
    assert more == pytest.approx(result.summary["rounds_above_plan"])
    assert result.summary["total_cost"] == pytest.approx(planned + more, rel=1e-9)


def test_every_mix_is_inside_its_windows(result):
    mix = result.scenario.settings.mix
    assert len(result.mixes)
    assert result.mixes["cn"].between(mix.cn_low - 1e-6, mix.cn_high + 1e-6).all()
    inside = result.mixes["moisture"].between(
        mix.moisture_low - 1e-8, mix.moisture_high + 1e-8
    )
    assert inside.all()


def test_a_thousand_draws_inside_the_ranges_keep_every_mix_in_its_windows(result):
    """
    Half of the draws are anywhere in the ranges, half have every value at an end.

    At twice the ranges some mix falls out: the margin is no larger than it says.
    """
    for times, inside in ((1.0, True), (2.0, False)):
        assert bool(in_windows(result, times).all()) is inside


def in_windows(result, times, count=1000) -> np.ndarray:
    """Whether each mix keeps its windows in each draw, reckoned mix by mix."""
    scenario, rng = result.scenario, np.random.default_rng(7)
    feed = feedstocks(scenario).set_index("feedstock")
    mix, water = scenario.settings.mix, result.plan.water
    water = water.set_index(["yard", "period"])["tonnes"]
    found = []
    for place, part in result.plan.charges.groupby(["yard", "period"]):
        own, tonnes = feed.loc[part["feedstock"]], part["tonnes"].to_numpy()
        if tonnes.sum() < 1e-3:
            continue
        off = rng.uniform(-1, 1, (3, count, len(own))) * times
        off[:, ::2] = np.sign(off[:, ::2]) * times
        wet = own["moisture"].to_numpy() + off[0] * own["moisture_range"].to_numpy()
        rich, grain = (
            own[name].to_numpy() * (1 + each * own[f"{name}_range"].to_numpy())
            for name, each in (("carbon", off[1]), ("nitrogen", off[2]))
        )
        dry, added = tonnes * (1 - wet), water.get(place, 0.0)
        ratio = (dry * rich).sum(axis=1) / (dry * grain).sum(axis=1)
        moisture = ((tonnes * wet).sum(axis=1) + added) / (tonnes.sum() + added)
        good = (ratio > mix.cn_low * (1 - 1e-5)) & (ratio < mix.cn_high * (1 + 1e-5))
        good &= (moisture > mix.moisture_low - 1e-5) & (
            moisture < mix.moisture_high + 1e-5
        )
        found.append(good)
    return np.array(found)


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


def test_no_compost_leaves_before_it_is_ripe(result):
    """Day by day from the batches: the store never holds less than nothing."""
    scenario, codes = result.scenario, list(result.scenario.periods["period"])
    ready, sent = ready_by_day(scenario), sent_by_day(scenario)
    period, stocked = period_of_day(scenario), result.plan.compost
    for yard, compost in stocked.groupby("yard"):
        made = result.mixes[result.mixes["yard"] == yard].set_index("period")
        made = made["product_t"].reindex(codes, fill_value=0.0).to_numpy()
        gone = result.plan.deliveries.query("yard == @yard").groupby("period")
        out = gone["tonnes"].sum().reindex(codes, fill_value=0.0).to_numpy()
        rest = compost.set_index("period").reindex(codes)
        out = out + rest["leftover_t"].to_numpy()
        stock = rest["stock_t"].to_numpy()
        for u in range(len(codes)):
            days = period == u
            there = stock[u - 1] + made @ np.cumsum(ready[:, days], axis=1)
            there = there - sent[days] * out[u]
            assert there.min() >= -1e-4
            assert there[-1] == pytest.approx(stock[u], abs=1e-3)
