"""
Plan many futures and keep what comes out, one run at a time.

The yards stay as the base plan has them and all else is planned afresh; on wish the
yards are freed too.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from importlib.metadata import version
from typing import Any

from logistics.changes import Range, apply_changes
from logistics.composting import spoils
from logistics.model import Plan, Progress, yard_options
from logistics.results import Result, run
from logistics.roads import Travel, sites
from logistics.scenario import Scenario, change_setting, fingerprint
from logistics.studies.runs import KeyedRun, Record, Store, Watch, Work, run_all
from logistics.studies.stress_scenarios import BASE, Future

YardSizes = tuple[tuple[str, str], ...]
OPERATE, REPLAN = "operate", "re-plan"
RECORD = 2
"""Number of what is kept of a run; runs kept with less are done again."""
MOST_SHORTAGES = 5
"""Sentences kept of a future that cannot meet its demands."""


def one_thread(scenario: Scenario) -> Scenario:
    """Solve on one thread: many futures at once, and the same answer every time."""
    settings = change_setting(scenario.settings, "solve.threads", 1)
    return replace(scenario, settings=settings)


def _digest(*parts: object) -> str:
    text = json.dumps(parts, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:20]


def _problem(scenario: Scenario) -> str:
    """Hash of the scenario and of what solves it."""
    versions = {name: version(name) for name in ("loamhaul", "highspy")}
    return _digest(fingerprint(scenario), versions, RECORD)


def base_yards(
    scenario: Scenario, store: Store, watch: Callable[[Progress], None] | None = None
) -> YardSizes:
    """
    Yards of the base plan: from the store, or planned now and kept there.

    So a run that is taken up again has the yards it began with, even if solving had
    been stopped by the clock.

    Raises
    ------
    NoPlanError
        If the time was too short for any plan.
    KeyboardInterrupt
        If solving was stopped; nothing is kept then.
    """
    key = f"yards_{_problem(scenario)}"
    if "yards" not in store.records.get(key, {}):
        plan = run(scenario, watch).plan
        if plan.status == "stopped":  # by Ctrl-C: not what all futures should rest on
            raise KeyboardInterrupt
        record = {"status": plan.status, "gap": finite(plan.gap)}
        store.add(key, {**record, "yards": [list(pair) for pair in plan.yard_sizes]})
    return tuple((yard, size) for yard, size in store.records[key]["yards"])


KEPT = {
    *("code", "answer", "status", "cost", "haulage", "capital", "gap", "yards"),
    *("collected", "uncollected", "compost", "seconds", "shortages"),
}
"""Fields of the record of a run; one that lacks any is planned again."""


def forget_torn(store: Store, keys: Collection[str]) -> None:
    """Forget the records of runs that lack a field: a file may be mended by hand."""
    for key in keys:
        if key in store.records and not store.records[key].keys() >= KEPT:
            del store.records[key]


@dataclass(frozen=True, eq=False)
class Setup:
    """What every future needs, sent to every process once."""

    scenario: Scenario
    yards: YardSizes


@dataclass(frozen=True, eq=False)
class Context:
    """What a process holds ready: the base, and its travel while roads stay."""

    setup: Setup
    base: Result


def prepare(setup: Setup) -> Context:
    """Plan the base with its yards, for its travel and its basis."""
    return Context(setup, run(setup.scenario, yards=setup.yards))


def same_ways(a: Scenario, b: Scenario) -> bool:
    """Say whether trucks travel alike in both: same sites, trucks, roads, seasons."""
    tables = ("roads", "trucks", "periods")
    return (
        a.settings.travel == b.settings.travel
        and all(
            a.table(t) is b.table(t) or a.table(t).equals(b.table(t)) for t in tables
        )
        and sites(a).equals(sites(b))
    )


def run_future(context: Context, what: tuple[Future, str]) -> Record:
    """Plan one future; the record is plain enough for JSON."""
    future, answer = what
    setup, base = context.setup, context.base
    changed = apply_changes(setup.scenario, future.change)
    ways: Travel | None = None
    if same_ways(setup.scenario, changed):
        ways = base.travel
    if answer == OPERATE:
        result = run(changed, yards=setup.yards, ways=ways)
    else:
        warm_start = base.plan.warm_start
        result = run(changed, start=setup.yards, warm_start=warm_start, ways=ways)
    return {"code": future.change.code, "answer": answer, **record_of(result)}


def record_of(result: Result) -> Record:
    """Keep of a plan what the tables of `stress_figures` need."""
    plan, summary = result.plan, result.summary
    return {
        "status": plan.status,
        "cost": float(summary["total_cost"]),
        "haulage": float(summary["haul_cost"]),
        "capital": float(summary["capital"]),
        "gap": finite(plan.gap),
        "yards": [list(pair) for pair in plan.yard_sizes],
        "collected": {k: float(v) for k, v in summary["collected_t"].items()},
        "uncollected": left_behind(result.scenario, plan),
        "compost": float(summary["compost_t"]),
        "seconds": float(plan.seconds),
        "shortages": [str(w) for w in shortage_words(plan)[:MOST_SHORTAGES]],
    }


def finite(value: float) -> float | None:
    """Return a number that JSON can hold, or None: nothing is proven."""
    return float(value) if math.isfinite(value) else None


def shortage_words(plan: Plan) -> list[Any]:
    """Sentences on the demands that cannot be met; none where all are."""
    return [] if plan.shortages.empty else plan.shortages["words"].tolist()


def left_behind(scenario: Scenario, plan: Plan) -> dict[str, float]:
    """Tonnes a year that nobody fetches, by material. [t/yr]"""
    source = scenario.sources
    material = dict(zip(source["source"], source["material"], strict=True))
    left = {name: 0.0 for name in sorted(set(source["material"]))}
    of = plan.uncollected["source"].map(material)
    for name, tonnes in zip(of, plan.uncollected["tonnes"], strict=True):
        left[name] += float(tonnes)
    return left


def still_owed(scenario: Scenario, yards: YardSizes) -> dict[str, float]:
    """
    Annuity of works and machines of each open yard: a yard lost is not yet paid for.

    Returns
    -------
    dict
        Yard -> money a year. [money/yr]
    """
    codes, chosen = scenario.yards["yard"].tolist(), set(yards)
    return {
        codes[j]: cost.works_annuity + cost.machine_annuity
        for j, size, cost in yard_options(scenario)
        if (codes[j], size["size"]) in chosen
    }


@dataclass(frozen=True, eq=False)
class Stress:
    """
    What became of every future.

    Attributes
    ----------
    scenario, yards
        The base and the yards of its plan.
    futures
        All futures, the base first.
    ranges
        What was drawn from.
    records
        (code of the future, answer) -> record of `run_future`.
    """

    scenario: Scenario
    yards: YardSizes
    futures: tuple[Future, ...]
    ranges: tuple[Range, ...]
    records: dict[tuple[str, str], Record]

    def cost(self, future: Future, answer: str) -> float:
        """Net cost of a year, with what is still owed for a lost yard. [money/yr]"""
        owed = 0.0
        if future.kind == "yard":
            owed = still_owed(self.scenario, self.yards)[future.what]
        return float(self.records[future.change.code, answer]["cost"]) + owed


def stress(
    scenario: Scenario,
    yards: YardSizes,
    futures: Sequence[Future],
    ranges: Sequence[Range],
    store: Store,
    *,
    replan: bool = False,
    workers: int = 1,
    cluster: str | None = None,
    watch: Watch | None = None,
) -> Stress:
    """
    Plan every future, on many processes, and keep each in the store when done.

    Parameters
    ----------
    scenario, yards
        The base, see `one_thread`, and the yards of its plan, see `base_yards`.
    futures, ranges
        What may happen, see `losses`, `ends`, `draws`.
    store
        What it holds already is not planned again.
    replan
        Whether to plan each future also with the yards free.
    workers, cluster, watch
        See `runs.run_all`.

    Raises
    ------
    RunsError
        If some future could not be planned; what is done is kept.
    """
    every = (BASE, *futures)
    answers = (OPERATE, REPLAN) if replan else (OPERATE,)
    problem = _digest(_problem(scenario), yards)
    keys = {
        (f.change.code, answer): _digest(
            problem, answer, [(s.name, dict(s.arguments)) for s in f.change.steps]
        )
        for f in every
        for answer in answers
    }
    jobs = [KeyedRun(keys[f.change.code, a], (f, a)) for a in answers for f in every]
    forget_torn(store, keys.values())
    work = Work(problem, prepare, run_future, Setup(scenario, yards))
    run_all(work, jobs, store, workers=workers, cluster=cluster, watch=watch)
    found = {where: store.records[key] for where, key in keys.items()}
    return Stress(scenario, yards, every, tuple(ranges), found)


def spoiling(scenario: Scenario) -> list[str]:
    """Materials in use that spoil, fish waste before all."""
    table = scenario.materials
    used = table["material"].isin(scenario.sources["material"]).to_numpy()
    return [str(code) for code in table.loc[spoils(table) & used, "material"]]
