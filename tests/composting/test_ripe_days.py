"""Compost from day to day: what is ripe, and how far deliveries have come."""

from dataclasses import replace

import numpy as np
import pytest
from support.evenly_charged import ripening
from support.places import SMALL

from logistics.composting.ripe_days import by_period, ready_by_day, sent_by_day
from logistics.composting.windrow_life import batches, period_of_day
from logistics.results.pipeline import run
from logistics.results.plan_audit import audit
from logistics.scenario.scenario import read_scenario

YEAR = read_scenario(SMALL)
READY, SENT, PERIOD = ready_by_day(YEAR), sent_by_day(YEAR), period_of_day(YEAR)
CHECK = "compost ripe before it leaves"


def test_every_charge_is_ready_once_on_the_days_of_its_batches():
    np.testing.assert_allclose(READY.sum(axis=1), 1)
    for batch in batches(YEAR):
        day = (batch.ready - 1) % READY.shape[1]
        assert READY[batch.period, day] >= batch.share - 1e-12
    assert (READY > 0).sum() <= len(batches(YEAR))


def test_periods_are_those_of_steady_ripening_within_a_week():
    """A batch is ready as a whole: at most one of them is early or late in a month."""
    days = YEAR.periods["days"].to_numpy(dtype=float)
    process = YEAR.settings.process
    even = ripening(days, process.active_days + process.curing_days)
    lumps = by_period(READY, PERIOD, len(days))
    np.testing.assert_allclose(lumps.sum(axis=1), 1)
    assert np.abs(lumps - even).max() <= 7 / 28


def test_deliveries_leave_on_working_days():
    """By the month's end all has left; on a day of rest nothing more does."""
    for place, work in enumerate(YEAR.periods["working_days"]):
        share = SENT[place == PERIOD]
        assert share[-1] == 1
        steps = np.diff(share, prepend=0.0)
        assert (steps >= 0).all()
        assert (steps > 0).sum() == round(work)
        assert steps[steps > 0] == pytest.approx(1 / round(work))


@pytest.fixture(scope="module")
def planned():
    return run(YEAR)


def by_hand(result, yard):
    """Follow a yard's store from day to day: ready in the morning, sent till night."""
    feed, plan = result.instance.feed, result.plan
    made = dict(zip(feed.codes, feed.product_per_t, strict=True))
    codes = list(YEAR.periods["period"])
    ripe = np.zeros(len(codes))
    for row in plan.charges[plan.charges["yard"] == yard].to_dict("records"):
        ripe[codes.index(row["period"])] += row["tonnes"] * made[row["feedstock"]]
    compost = plan.compost[plan.compost["yard"] == yard].set_index("period")
    sent = plan.deliveries[plan.deliveries["yard"] == yard]
    out = sent.groupby("period")["tonnes"].sum().reindex(codes, fill_value=0.0)
    out = (out + compost["leftover_t"].reindex(codes)).to_numpy()
    there, gone, found = float(compost["stock_t"].reindex(codes).iloc[-1]), 0.0, []
    for day, u in enumerate(PERIOD):
        gone = gone if day and PERIOD[day - 1] == u else 0.0
        there += ripe @ READY[:, day] - (SENT[day] - gone) * out[u]
        gone = SENT[day]
        found.append(there)
    return np.array(found), out


def test_nothing_leaves_before_it_is_ripe_on_any_day(planned):
    for yard in planned.plan.yards["yard"]:
        there, out = by_hand(planned, yard)
        assert there.min() >= -1e-6 * out.max()
    checks = planned.audit.set_index("check")
    assert checks.loc[CHECK, "rows"] == 365 * len(YEAR.yards)


def test_the_audit_counts_the_days(planned):
    """Just as much as is ripe may have left by an evening, and no more."""
    inst, day = planned.instance, 45
    spare = []
    for yard in planned.plan.yards["yard"]:
        there, out = by_hand(planned, yard)
        if out[PERIOD[day]] > 0:
            spare.append(there[day] / out[PERIOD[day]])
    assert spare
    for more, passes in ((-1e-5, True), (1e-4, False)):
        sent = SENT.copy()
        sent[day] += min(spare) + more
        days = replace(inst.compost_days, sent=sent)
        rows = audit(replace(inst, compost_days=days), planned.plan).set_index("check")
        assert bool(rows.loc[CHECK, "passed"]) is passes
