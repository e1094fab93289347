"""The command `shares`: which district pays what of the joint cost, and why."""

from __future__ import annotations

from contextlib import contextmanager
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from maps.commands.choices import Goal
from maps.commands.endings import ended
from maps.commands.jobs import PlanningJob, planning

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from logistics.scenario import Scenario
    from logistics.studies import Coalition


class Whose(StrEnum):
    """Whose yards and markets a group on its own may use."""

    OWN = "own"
    ALL = "all"


@planning(changes=False)
def shares(
    job: PlanningJob,
    sites: Annotated[
        Whose,
        typer.Option("--sites", help="Yards and markets a group may use on its own."),
    ] = Whose.OWN,
    orders: Annotated[
        int,
        typer.Option(
            "--orders",
            min=4,
            max=1_000_000,
            help="Random orders used above ten districts.",
        ),
    ] = 200,
) -> None:
    """Split the cost between districts: by tonnes, tonne-km and what each adds."""
    from logistics.results import effort_of, run
    from logistics.scenario import with_settings
    from logistics.studies import share_cost
    from maps.commands.progress_line import progress
    from maps.report import write_report
    from maps.shared import names, whole_set
    from maps.studies import show_shares, write_shares

    scenario = with_settings(job.scenario, {"goal.minimise": Goal.COST})
    with progress(scenario) as report:
        result = run(scenario, progress=report)
        job.see_that_it_meets(result, without="cost to share")
    label = names(result, "district")
    with groups_progress(scenario, label) as tell:
        found = share_cost(result, effort_of(scenario), sites.value, orders, tell)
        found = found.renamed(label)
    with whole_set(job.out, "shares") as folder:
        write_shares(found, scenario, folder)
        write_report(result, folder / "shares.html", found)
    show_shares(found, scenario)
    typer.echo(f"Written to {job.out}: shares.xlsx, shares.csv, shares.html.")
    short = [one for one in found.coalitions.values() if one.status == "shortage"]
    if short:
        typer.echo(
            "Some groups cannot meet the demands on their own; see shares.csv/groups."
        )
    late = {"time_limit", "stopped"}
    raise ended(proven=all(one.status not in late for one in found.coalitions.values()))


@contextmanager
def groups_progress(
    scenario: Scenario, label: dict[str, str]
) -> Iterator[Callable[[int, Coalition], None]]:
    """Give a callback that counts the groups of districts planned."""
    from logistics.accounts import EXACT_PARTIES
    from maps.commands.progress_line import ProgressLine, live
    from maps.shared import TimeLeft

    districts = scenario.sources["district"].nunique()
    groups = 2**districts - 1 if districts <= EXACT_PARTIES else None
    limits = scenario.settings.solve
    line = ProgressLine("groups of districts", TimeLeft(groups, limits.seconds))

    def tell(done: int, last: Coalition) -> None:
        from logistics.scenario import in_list

        who = in_list(sorted(label.get(code, code) for code in last.group))
        line.counted(done, groups, f"group {done}: {who}, {last.seconds:.0f} s")

    with live(line):
        yield tell
