"""The whole job on one page: a scenario in, a result out."""

from __future__ import annotations

import platform
import time
from collections.abc import Callable, Collection
from dataclasses import dataclass, field, replace
from importlib.metadata import version
from typing import Any

import numpy as np
import pandas as pd

from logistics.composting import yearly_supply
from logistics.diagnosis import nothing_possible
from logistics.land import no_screening, refused
from logistics.model import (
    Assembly,
    Effort,
    Instance,
    Plan,
    Progress,
    Realised,
    Session,
    WarmStart,
    choose_fleet,
    operate,
    prepare,
    solve,
)
from logistics.results.audit_nutrients import (
    held_figures,
    limited_markets,
    no_limited_markets,
)
from logistics.results.audit_standard import standard_met
from logistics.results.haulage import (
    lane_table,
    net_of_paired_trips,
    no_savings,
    paired_trip_figures,
    paired_trip_table,
)
from logistics.results.mixes import mix_table
from logistics.results.plan_amounts import amounts
from logistics.results.plan_audit import audit, require
from logistics.results.plan_audit import net_cost as counted_cost
from logistics.results.plan_ledger import agreement, ledger, money_figures
from logistics.results.standing_yards import missing_yards, with_missing
from logistics.results.words import explain_shortages, explain_worth
from logistics.roads import Travel
from logistics.scenario import Scenario, fingerprint, records, totals

Yards = Collection[tuple[str, str]]
PACKAGES = ("loamhaul", "pulp", "highspy", "numpy", "pandas", "scipy")


@dataclass(frozen=True, eq=False)
class Result:
    """
    A plan with everything that is shown of it.

    Attributes
    ----------
    scenario, supply, travel, instance, plan
        What was asked, what arises (see `supply.yearly_supply`), distances, the
        problem as numbers, and the answer.
    mixes, lanes, ledger, audit
        Tables of `mixes.mix_table`, `haulage.lane_table`, `ledger.ledger` and
        `audit.audit`.
    summary
        The key figures, as written to summary.json.
    screening
        What the land screening found, see `suitability.screen`.
    limited
        What markets with a limit get, see `audit_nutrients.limited_markets`.
    paired_trips
        What paired trips save, see `haulage.paired_trip_table`.
    range_ends, money_range
        What each uncertain number does to the money, and between what that lies; see
        `studies.with_ranges`. No rows before that.
    """

    scenario: Scenario
    supply: pd.DataFrame
    travel: Travel
    instance: Instance
    plan: Plan
    mixes: pd.DataFrame
    lanes: pd.DataFrame
    ledger: pd.DataFrame
    audit: pd.DataFrame
    summary: dict[str, Any]
    screening: pd.DataFrame = field(default_factory=no_screening)
    paired_trips: pd.DataFrame = field(default_factory=no_savings)
    limited: pd.DataFrame = field(default_factory=no_limited_markets)
    range_ends: pd.DataFrame = field(default_factory=pd.DataFrame)
    money_range: pd.DataFrame = field(default_factory=pd.DataFrame)

    @property
    def driven(self) -> pd.DataFrame:
        """Lanes, below them what pairing saves; see `haulage.net_of_paired_trips`."""
        return net_of_paired_trips(self.lanes, self.paired_trips)


def run(
    scenario: Scenario,
    progress: Callable[[Progress], None] | None = None,
    *,
    yards: Yards | None = None,
    start: Yards | None = None,
    warm_start: WarmStart | None = None,
    ways: Travel | None = None,
    realised: Realised | None = None,
    begun: float | None = None,
) -> Result:
    """
    Plan a district: travel, programme, audit, ledger.

    Parameters
    ----------
    scenario
        Tables and settings, checked.
    progress
        Called now and then while solving.
    yards
        Yards and sizes that stand; only the rest is planned. Those that the
        scenario no longer allows are left out; those that it demands and that are
        not among these become shortages.
    start
        Yards and sizes of an earlier plan to start from; all is planned.
    warm_start
        Of that earlier plan (`Plan.warm_start`); with it either goes faster.
    ways
        Travel of this scenario's sites, trucks, roads and seasons, where it is known.
    realised
        What driving takes, as factors (see `feedback`).
    begun
        When the time began that `solve.seconds` limits, on the monotonic clock; by
        default now. Reading and travel before the solving count. [s]

    Raises
    ------
    AuditError
        If the plan breaks a rule; it is then not shown.
    """
    begun = time.monotonic() if begun is None else begun
    return run_prepared(
        prepare(scenario, ways, realised), progress,
        yards=yards, start=start, warm_start=warm_start, begun=begun,
    )  # fmt: skip


def run_prepared(
    made: Assembly,
    progress: Callable[[Progress], None] | None = None,
    *,
    yards: Yards | None = None,
    start: Yards | None = None,
    warm_start: WarmStart | None = None,
    begun: float | None = None,
) -> Result:
    """Plan a district that `model.prepare` made ready; see `run`."""
    scenario, instance = made.scenario, made.instance
    effort = effort_of(scenario)
    if begun is not None:
        effort = Session(effort, begin=begun).part()
    given = None if yards is None else instance.options_of(yards)
    first = None if start is None else instance.options_of(start)
    if scenario.settings.fleet.decide == "yes":
        fleet = choose_fleet(
            scenario, instance, effort, progress, given=given, start=first
        )
        made = replace(made, scenario=fleet.scenario, instance=fleet.instance)
        instance, first, effort = fleet.instance, fleet.start, fleet.left
    if given is not None:
        plan = operate(instance, given, effort, progress, warm_start)
        plan = with_missing(plan, missing_yards(instance, given))
    else:
        plan = solve(instance, effort, progress, first, warm_start)
        offered = np.ones(len(instance.options.yard), dtype=bool)
        plan = with_missing(plan, missing_yards(instance, offered))
    if plan.contents is not None:
        made = replace(made, instance=instance.holding(plan.contents))
    return finished(made, plan)


def effort_of(scenario: Scenario) -> Effort:
    """Read gap, seconds, threads and seed from the settings."""
    wanted = scenario.settings.solve
    threads, seed = int(wanted.threads), int(wanted.seed)
    return Effort(wanted.gap, wanted.seconds, threads, seed)


def finished(made: Assembly, plan: Plan) -> Result:
    """
    Audit a plan, reckon its money and gather what is shown of it.

    Parameters
    ----------
    made, plan
        The problem with all that it was made of, and its answer.

    Raises
    ------
    AuditError
        If the plan breaks a rule; it is then not shown.
    """
    scenario, instance, ways = made.scenario, made.instance, made.travel
    plan = replace(
        plan,
        worth=explain_worth(plan.worth, scenario),
        shortages=explain_shortages(plan.shortages, scenario),
    )
    checks = audit(instance, plan, demands=plan.status != "shortage")
    require(checks)
    lanes = lane_table(scenario, plan, made.inbound, made.outbound)
    mixes = mix_table(scenario, plan)
    paired_trips = paired_trip_table(scenario, plan, ways)
    accounts = ledger(scenario, plan, lanes, paired_trips)
    taken = amounts(instance, plan)
    counted = counted_cost(instance, taken)
    hectares = scenario.markets["amount"].to_numpy(dtype=float)
    limited = limited_markets(instance, taken, hectares)
    every = [checks, agreement(accounts, counted)]
    if plan.status != "shortage":
        every.append(standard_met(scenario, mixes))
    checks = pd.concat([part for part in every if len(part)], ignore_index=True)
    require(checks)
    supply = yearly_supply(scenario)
    return Result(
        scenario=scenario,
        supply=supply,
        travel=ways,
        instance=instance,
        plan=plan,
        mixes=mixes,
        lanes=lanes,
        ledger=accounts,
        audit=checks,
        summary={
            **_summary(scenario, ways, instance, plan, mixes, lanes, accounts),
            **paired_trip_figures(lanes, paired_trips),
            "limited_markets": records(limited),
            "yards_refused": sorted(refused(made.screening)),
            "nothing_possible": []
            if len(plan.charges)
            else nothing_possible(scenario, instance),
        },
        screening=made.screening,
        paired_trips=paired_trips,
        limited=limited,
    )


def _summary(
    scenario: Scenario,
    ways: Travel,
    instance: Instance,
    plan: Plan,
    mixes: pd.DataFrame,
    lanes: pd.DataFrame,
    accounts: pd.DataFrame,
) -> dict[str, Any]:
    """Gather the key figures."""
    collected, share = _collected(instance, plan)
    haul = accounts.loc[
        accounts["account"].isin(["haulage in", "haulage out", "pairing", "fleet"]),
        "amount",
    ].sum()
    gap_money = plan.gap * abs(plan.objective)
    return {
        "name": scenario.settings.name,
        "status": plan.status,
        "goal": instance.goal,
        "objective": plan.objective,
        "bound": plan.bound,
        "gap": plan.gap,
        "gap_money": gap_money,
        "gap_base": "net annual cost" if instance.goal == "cost" else "the goal",
        **held_figures(plan),
        "seconds": plan.seconds,
        "currency": scenario.settings.currency,
        "own_trucks": {
            code: int(count)
            for code, count in scenario.trucks[["truck", "owned"]].to_numpy()
        },
        "yards_open": len(plan.yards),
        "yards": dict(zip(plan.yards["yard"], plan.yards["size"], strict=True)),
        "collected_t": collected,
        "collected_share": share,
        "uncollected_t": float(plan.uncollected["tonnes"].sum()),
        "compost_t": float(plan.compost["made_t"].sum()),
        "delivered_t": float(plan.deliveries["tonnes"].sum()),
        "leftover_t": float(plan.compost["leftover_t"].sum()),
        "vehicle_km": float(lanes["vehicle_km"].sum()),
        "haul_cost": float(haul),
        **money_figures(accounts, scenario, collected["all"]),
        "capital": _capital(instance, plan),
        "cn_min": _least(mixes["cn"]),
        "cn_max": _least(-mixes["cn"], -1),
        "cn_available_min": _least(mixes["cn_available"]),
        "cn_available_max": _least(-mixes["cn_available"], -1),
        "moisture_min": _least(mixes["moisture"]),
        "moisture_max": _least(-mixes["moisture"], -1),
        "audit_passed": True,
        "travel_basis": ways.basis,
        "defaults_used": len(scenario.defaults_used),
        "settings_hash": fingerprint(scenario),
        "versions": {
            "python": platform.python_version(),
            **{name: version(name) for name in PACKAGES},
        },
    }


def _least(values: pd.Series, sign: int = 1) -> float | None:
    return float(values.min()) * sign if len(values) else None


def _capital(instance: Instance, plan: Plan) -> float:
    """Money to be found before the yards open. [money]"""
    options = instance.options
    codes = [instance.yards.codes[j] for j in options.yard.tolist()]
    chosen = set(zip(plan.yards["yard"], plan.yards["size"], strict=True))
    offered = zip(codes, options.size, strict=True)
    return float(
        options.capital[
            np.array([option in chosen for option in offered], dtype=bool)
        ].sum()
    )


def _collected(
    instance: Instance, plan: Plan
) -> tuple[dict[str, float], dict[str, float]]:
    """Tonnes and share of supply collected, by material and in all."""
    supply, feed = instance.supply, instance.feed
    material = [feed.materials[m] for m in supply.feedstock.tolist()]
    of_source = dict(zip(supply.codes, material, strict=True))
    names = sorted(set(material))
    arises, tonnes = dict.fromkeys(names, 0.0), dict.fromkeys(names, 0.0)
    for name, year in zip(material, supply.tonnes.sum(axis=1).tolist(), strict=True):
        arises[name] += year
    for source, taken in totals(plan.hauls, ["source"]):
        tonnes[of_source[source]] += float(taken)
    arises["all"], tonnes["all"] = sum(arises.values()), sum(tonnes.values())
    share = {k: tonnes[k] / x if x > 0 else 0.0 for k, x in arises.items()}
    return tonnes, share
