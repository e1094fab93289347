"""The command `plan`: one plan and all its outputs."""

from __future__ import annotations

from typing import Annotated

import typer

from maps.commands.choices import STATUS_EXIT, Exit, Goal
from maps.commands.endings import fail
from maps.commands.jobs import PlanningJob, planning
from maps.commands.options import a_number
from maps.commands.years_planned import plan_the_years


@planning()
def plan(
    job: PlanningJob,
    gap: Annotated[
        float | None,
        typer.Option(
            "--gap",
            min=0,
            max=50,
            callback=a_number,
            help="Proven gap at which solving stops [%].",
        ),
    ] = None,
    goal: Annotated[
        Goal | None, typer.Option("--goal", help="What the plan minimises.")
    ] = None,
    ranges: Annotated[
        bool,
        typer.Option(
            "--ranges",
            help="Plan the flows anew at both ends of each range of the money; "
            "without it a straight line does.",
        ),
    ] = False,
    estimate: Annotated[
        bool,
        typer.Option(
            "--estimate",
            help="Leave haulage as estimated; without it the rounds of the whole year "
            "are made, briefly, and their cost is in the answer.",
        ),
    ] = False,
    coarsen: Annotated[
        bool,
        typer.Option(
            "--coarsen", help="Merge nearby sources and markets, for a whole country."
        ),
    ] = False,
    years: Annotated[
        bool,
        typer.Option(
            "--years",
            help="Plan the years of the table years: which yard opens, grows and "
            "closes when, within the money of each year.",
        ),
    ] = False,
    earliest: Annotated[
        bool,
        typer.Option(
            "--earliest",
            help="With --years: ask for what the table policy wants collected from the "
            "first year on in which the money allows it, and say which that is.",
        ),
    ] = False,
    edge: Annotated[
        float | None,
        typer.Option(
            "--edge",
            min=0.1,
            max=1000,
            callback=a_number,
            help="With --coarsen: side of the hexagons [km].",
        ),
    ] = None,
) -> None:
    """Plan a scenario; write summary, map, workbook, geodata and tables."""
    from logistics.changes import read_ranges
    from logistics.diagnosis import checked_travel
    from logistics.model import NoPlanError
    from logistics.results import run
    from logistics.scenario import with_settings
    from logistics.studies import with_ranges
    from maps.commands.progress_line import ends_progress, progress
    from maps.commands.year_driven import STOPPED_ROUNDS, with_rounds
    from maps.outputs import write_outputs
    from maps.tables import reach_line, show

    asked = {"solve.gap_pct": gap, "goal.minimise": goal}
    given = {name: value for name, value in asked.items() if value is not None}
    scenario = with_settings(job.scenario, given)
    if years:
        if coarsen or ranges:
            message = "--years takes neither --coarsen nor --ranges."
            raise fail(message, Exit.USAGE)
        plan_the_years(job, scenario, earliest=earliest)
    elif earliest:
        message = "--earliest goes with --years."
        raise fail(message, Exit.USAGE)
    read_ranges(scenario)  # their faults come before the solving
    with progress(scenario) as report:
        if coarsen:
            from logistics.studies import plan_coarse

            try:
                result, how = plan_coarse(scenario, report, edge)
            except NoPlanError:
                job.see_that_it_composts([])
                raise
            note = how.words()
        else:
            ways = checked_travel(scenario)
            result = run(scenario, progress=report, ways=ways, begun=job.begun)
            note = reach_line(scenario, ways)
    if not (estimate or coarsen):
        result, undriven = with_rounds(result)
        note = " ".join(filter(None, [note, undriven]))
    with ends_progress() as told:
        result = with_ranges(result, told, anew=ranges)
    write_outputs(result, job.out)
    show(result)
    if note:
        typer.echo(note)
    typer.echo(f"Written to {job.out}: open map.html or plan.xlsx.")
    possible = not result.summary.get("nothing_possible")
    code = STATUS_EXIT[result.plan.status] if possible else Exit.SHORTAGE
    if code == Exit.DONE and note.endswith(STOPPED_ROUNDS):
        code = Exit.STOPPED
    raise typer.Exit(code)
