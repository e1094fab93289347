"""The command `why`: why a yard stands at a site, or why none does."""

from __future__ import annotations

from typing import Annotated

import typer

from maps.commands.choices import Exit
from maps.commands.endings import fail
from maps.commands.jobs import PlanningJob, one_of, own_fleet, planning


@planning()
def why(
    job: PlanningJob,
    yard: Annotated[
        str | None,
        typer.Argument(
            metavar="YARD", help="Code of the site; without it all sites without one."
        ),
    ] = None,
    size: Annotated[
        str | None, typer.Option("--size", help="Ask about a yard of this size.")
    ] = None,
    up_to: Annotated[
        int,
        typer.Option(
            "--up-to",
            min=0,
            max=100,
            help="How far the price of compost and tonnes nearby are changed [%].",
        ),
    ] = 10,
) -> None:
    """Say why a yard stands at a site or not, and what would have to change."""
    one_of("yard", yard, job.scenario.yards["yard"].tolist())
    one_of("size", size, job.scenario.yard_sizes["size"].tolist())
    if size is not None and yard is None:
        message = "Name the yard that --size is asked about."
        raise fail(message, Exit.USAGE)
    if job.scenario.settings.goal.minimise != "cost":
        message = "why compares costs: set goal.minimise to cost."
        raise fail(message, Exit.USAGE)
    from logistics.results import run
    from logistics.scenario import in_list
    from logistics.studies import ground_of, meets, sites_to_ask
    from logistics.studies import why_site as ask
    from maps.commands.progress_line import progress
    from maps.shared import whole_set
    from maps.studies import show_why, write_why

    scenario = own_fleet(job.scenario)
    with progress(scenario, steps=2, solves=2) as report:
        base = run(scenario, progress=lambda state: report.of("Base", state))
        if not meets(base):
            raise job.short(without="plan to ask about")
        ground = ground_of(base, report.of)
        asked = [yard] if yard is not None else sites_to_ask(ground)
        report.left.steps = 1 + len(asked)
        found = [
            ask(ground, code, size or "", up_to / 100, report.of) for code in asked
        ]
    if not found:
        message = "The plan uses every site at which a yard may stand."
        raise fail(message, Exit.USAGE)
    with whole_set(job.out, "why") as folder:
        written = write_why(found, folder)
    show_why(found)
    typer.echo(f"Written to {job.out}: {in_list(written)}.")
