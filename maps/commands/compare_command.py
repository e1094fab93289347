"""The command `compare`: plans under changes, side by side."""

from __future__ import annotations

from typing import Annotated

import typer

from maps.commands.choices import Exit
from maps.commands.endings import fail
from maps.commands.jobs import PlanningJob, planning
from maps.commands.options import Changes


@planning(changes=False)
def compare(
    job: PlanningJob,
    change: Changes = None,
    page: Annotated[
        bool,
        typer.Option("--map", help="Also write compare.html: two maps side by side."),
    ] = False,
) -> None:
    """Plan a scenario under changes, side by side; by default all DIR/changes."""
    wanted = job.find(change)
    if not wanted:
        message = f"There are no changes in {job.folder}/changes. Give --change."
        raise fail(message, Exit.USAGE)
    from logistics.results import run
    from logistics.studies import compare as answer
    from maps.commands.progress_line import progress
    from maps.shared import whole_set
    from maps.studies import show_comparison, write_comparison

    with progress(job.scenario, steps=1 + len(wanted), solves=2) as report:
        base = run(job.scenario, progress=lambda state: report.of("Base", state))
        outcomes = answer(job.scenario, base, wanted, report.of)
    with whole_set(job.out, "compare") as folder:
        written = write_comparison(base, outcomes, folder, page)
    show_comparison(base, outcomes)
    typer.echo(f"Written to {job.out}: {', '.join(written)}.")
