"""Studies as jobs of the worker: changes, frontier, robust yards, stress and more."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal, get_args

from maps.desk.asked import StudyStopError, standing
from maps.desk.asking import SHORT, nearby_found, why_asked
from maps.desk.board import board, csv_sheets, keep_sheets
from maps.desk.book import OUTPUTS
from maps.desk.study_job import StudyJob
from maps.desk.telling import Report
from maps.desk.years_study import years_gone

if TYPE_CHECKING:
    from logistics.changes import ChangeSet
    from logistics.model import Progress
    from logistics.scenario import Scenario

STORE = "stress.jsonl"
STOPPED = "Stopped. What is done is kept: go on, and it is taken up from there."


def studied(job: StudyJob) -> str:
    """Make a study of the book, and return what has to be said of it."""
    return KINDS[str(job.order.get("study"))](job)


def changes_of(job: StudyJob) -> list[ChangeSet]:
    """Read the changes of an order and try them; a title that is taken is numbered."""
    from logistics.changes import apply_changes, read_change_text

    listed = job.order.get("changes")
    found: list[ChangeSet] = []
    for one in listed if isinstance(listed, list) else []:
        code = str(one["code"])
        change = read_change_text(str(one["text"]), f"change {code}", code)
        apply_changes(job.scenario, change)
        titles = {known.title for known in found} | {"Base"}
        number = sum(known.title.startswith(change.title) for known in found) + 1
        if change.title in titles:
            change = replace(change, title=f"{change.title} ({number + 1})")
        found.append(change)
    return found


def compared(job: StudyJob) -> str:
    """Plan the scenario under each change, with the old yards and afresh."""
    from logistics.results import run
    from logistics.scenario import in_list
    from logistics.studies import compare
    from maps.shared import whole_set
    from maps.studies import write_comparison

    wanted = changes_of(job)
    job.step(0, len(wanted) + 1, "The plan without changes")
    old = standing(job.scenario, job.order.get("start")) or None
    base = run(job.scenario, job.report("Without changes"), start=old)
    outcomes, note = [], ""
    for place, change in enumerate(wanted):
        if job.stopped:
            left = in_list(one.title for one in wanted[place:])
            note = f"Stopped before these were planned: {left}."
            break
        job.step(place + 1, len(wanted) + 1, change.title)
        report = job.report(change.title)
        outcomes += compare(job.scenario, base, [change], telling(report))
    if not outcomes:
        raise StudyStopError(STOPPED)
    job.told("phase", words="writing table and maps")
    with whole_set(job.folder / OUTPUTS, "compare") as folder:
        write_comparison(base, outcomes, folder, page=True)
    keep_sheets(board(base, outcomes), job.folder)
    return note


def telling(report: Report) -> Callable[[str, Progress], None]:
    """Let a report be told by name."""
    return lambda _, state: report(state)


def fleet_settled(job: StudyJob) -> Scenario:
    """Decide own trucks once where that is asked; they stand in all futures."""
    from logistics.results import run
    from logistics.scenario import change_setting, with_table

    scenario = job.scenario
    if scenario.settings.fleet.decide != "yes":
        return scenario
    decided = run(scenario, job.report("Own trucks first")).scenario.trucks
    settled = with_table(scenario, "trucks", decided)
    return replace(
        settled, settings=change_setting(settled.settings, "fleet.decide", "no")
    )


def frontier_drawn(job: StudyJob) -> str:
    """Set cost against another goal."""
    from logistics.studies import Against, frontier, problem
    from maps.shared import whole_set
    from maps.studies import write_frontier, yard_names

    against = str(job.order.get("against"))
    if against not in get_args(Against):
        against = "collected"
    scenario = fleet_settled(job)
    instance, effort = problem(scenario)
    points = int(job.number("points", 6, 3, 30))
    found = frontier(
        instance,
        against,  # type: ignore[arg-type]
        points,
        effort,
        job.report(),
        lambda number, whole: job.step(number, whole, f"Point {number + 1}"),
    )
    if not found:
        raise StudyStopError(SHORT)
    settings = scenario.settings
    with whole_set(job.folder / OUTPUTS, "frontier") as folder:
        names = yard_names(scenario)
        told = settings.name, settings.currency
        write_frontier(found, against, *told, names, folder)  # type: ignore[arg-type]
    return ""


def robust_chosen(job: StudyJob) -> str:
    """Choose yards once for the scenario as it is and for each change."""
    from logistics.studies import BASE, Chance, Risk, robust
    from maps.shared import whole_set
    from maps.studies import write_robust, yard_names

    wanted = changes_of(job)
    scenario = fleet_settled(job)
    whole = len(wanted) + 2
    seen: list[str] = []

    def watch(title: str, state: Progress) -> None:
        if title not in seen:
            seen.append(title)
            job.step(min(len(seen), whole) - 1, whole, title[:1].upper() + title[1:])
            reports[title] = job.report(title)
        reports[title](state)

    reports: dict[str, Report] = {}
    found = robust(
        scenario,
        [Chance(BASE, 1.0), *(Chance(one, 1.0) for one in wanted)],
        Risk(job.number("risk", 0.0, 0.0, 100.0), 0.8),
        seconds=60 * job.number("minutes", 10, 0.1, 600),
        watch=watch,
    )
    if found is None:
        message = "No set of yards works in every future."
        raise StudyStopError(message)
    settings = scenario.settings
    names = yard_names(scenario)
    with whole_set(job.folder / OUTPUTS, "robust") as folder:
        write_robust(found, settings.name, settings.currency, names, folder)
    keep_sheets(csv_sheets(job.folder / OUTPUTS / "robust.csv", ROBUST), job.folder)
    return ""


ROBUST = {
    "futures": "What each future costs with these yards and with its own",
    "yards": "Which yards are built, and which each future alone would build",
    "worth": "What the choice costs, and what knowing the future would be worth",
}


def stressed(job: StudyJob) -> str:
    """Try losses and draws of what is uncertain; finished runs are kept."""
    from logistics.changes import read_ranges
    from logistics.studies import (
        base_yards,
        draws,
        ends,
        losses,
        one_thread,
        open_store,
        stress,
    )
    from maps.shared import whole_set
    from maps.studies import write_stress

    def watch(state: Any) -> None:
        job.step(state.done, state.total, "Futures")
        if job.stopped:
            raise StudyStopError(STOPPED)

    with open_store(job.folder / STORE) as store:
        ranges = read_ranges(job.scenario)
        scenario = one_thread(fleet_settled(job))
        job.step(0, 1, "The plan without changes")
        try:
            yards = base_yards(scenario, store, job.report("Without changes"))
        except KeyboardInterrupt:
            raise StudyStopError(STOPPED) from None
        count = int(job.number("draws", 50, 0, 100_000))
        lost = losses(scenario, [yard for yard, _ in yards])
        futures = [*lost, *ends(ranges), *draws(ranges, count, 1)]
        found = stress(
            scenario,
            yards,
            futures,
            ranges,
            store,
            replan=job.order.get("replan") is True,
            workers=os.cpu_count() or 1,
            watch=watch,
        )
        with whole_set(job.folder / OUTPUTS, "stress") as folder:
            write_stress(found, folder)
    return ""


SHARES = {
    "shares": "What each district pays, by four rules",
    "core": "Would a group do better on its own?",
    "groups": "What each group would cost on its own",
}


def shared(job: StudyJob) -> str:
    """Split the cost between districts."""
    from logistics.results import effort_of, run
    from logistics.scenario import with_settings
    from logistics.studies import share_cost
    from maps.report import write_report
    from maps.shared import names, whole_set
    from maps.studies import write_shares

    scenario = with_settings(job.scenario, {"goal.minimise": "cost"})
    job.step(0, 2, "The plan of all together")
    result = run(scenario, job.report("All together"))
    if result.plan.status == "shortage":
        raise StudyStopError(SHORT)
    districts = scenario.sources["district"].nunique()
    whole = 2**districts if districts <= 10 else 0

    def watch(done: int, _: object) -> None:
        job.step(done + 1, max(whole, done + 1), "Groups of districts on their own")
        if job.stopped:
            message = "Stopped. A split needs every group: nothing is kept."
            raise StudyStopError(message)

    sites: Literal["all", "own"] = "all" if job.order.get("sites") == "all" else "own"
    found = share_cost(result, effort_of(scenario), sites, 200, watch)
    found = found.renamed(names(result, "district"))
    with whole_set(job.folder / OUTPUTS, "shares") as folder:
        write_shares(found, scenario, folder)
        write_report(result, folder / "shares.html", found)
    sheets = csv_sheets(job.folder / OUTPUTS / "shares.csv", SHARES)
    keep_sheets(sheets, job.folder)
    late = [one for one in found.coalitions.values() if one.status == "shortage"]
    return "Some groups cannot meet the demands on their own." if late else ""


KINDS: dict[str, Callable[[StudyJob], str]] = {
    "compare": compared,
    "frontier": frontier_drawn,
    "robust": robust_chosen,
    "stress": stressed,
    "shares": shared,
    "years": lambda job: years_gone(job, fleet_settled(job)),
    "why": lambda job: why_asked(job, fleet_settled(job)),
    "alternatives": lambda job: nearby_found(job, fleet_settled(job)),
}
"""Word of an order -> the study that it asks for."""
