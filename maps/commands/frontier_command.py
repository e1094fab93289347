"""The command `frontier`: cost against another goal."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from maps.commands.endings import ended
from maps.commands.jobs import PlanningJob, own_fleet, planning


class Other(StrEnum):
    """The goal that cost is set against."""

    COLLECTED = "collected"
    CO2E = "co2e"
    YARDS = "yards"
    PEOPLE = "people"
    FAIRNESS = "fairness"


@planning()
def frontier(
    job: PlanningJob,
    against: Annotated[
        Other, typer.Option("--against", help="What to compare cost with.")
    ] = Other.COLLECTED,
    points: Annotated[
        int, typer.Option("--points", min=3, max=30, help="Largest number of points.")
    ] = 10,
) -> None:
    """Compare cost with another goal: proven points, table and chart."""
    from logistics.studies import frontier as trade
    from logistics.studies import problem
    from maps.commands.progress_line import progress
    from maps.shared import whole_set
    from maps.studies import show_frontier, write_frontier, yard_names

    scenario = own_fleet(job.scenario)
    with progress(scenario, steps=points + 1) as report:
        instance, effort = problem(scenario)
        found = trade(instance, against.value, points, effort, report, report.step)
    if not found:
        raise job.short(without="frontier")
    job.see_that_it_composts([p for p in found if p.plan.yard_sizes])
    settings, named = scenario.settings, yard_names(scenario)
    currency = settings.currency
    with whole_set(job.out, "frontier") as folder:
        write_frontier(found, against.value, settings.name, currency, named, folder)
    show_frontier(found, against.value, currency, named)
    typer.echo(f"Written to {job.out}: frontier.html, frontier.xlsx, frontier.csv.")
    raise ended(proven=all(p.gap <= settings.solve.gap + 1e-9 for p in found))
