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
    each_site: Annotated[
        bool,
        typer.Option(
            "--each-site",
            help="Also plan with a yard at each site the base plan does not use; "
            "without --change only this.",
        ),
    ] = False,
) -> None:
    """Plan a scenario under changes, side by side; by default all DIR/changes."""
    wanted = job.find(change) if change or not each_site else []
    if not wanted and not each_site:
        message = f"There are no changes in {job.folder}/changes. Give --change."
        raise fail(message, Exit.USAGE)
    from logistics.results import run
    from logistics.studies import compare as answer
    from logistics.studies import site_changes
    from maps.commands.progress_line import progress
    from maps.shared import whole_set
    from maps.studies import show_comparison, show_sites, write_comparison

    count = len(job.scenario.yards) if each_site else 0
    with progress(job.scenario, steps=1 + len(wanted) + count, solves=2) as report:
        base = run(job.scenario, progress=lambda state: report.of("Base", state))
        others = site_changes(base, wanted) if each_site else []
        report.left.steps = 1 + len(wanted) + len(others)
        outcomes = answer(job.scenario, base, wanted, report.of)
        sites = answer(job.scenario, base, others, report.of) if each_site else None
    if each_site and not (wanted or others):
        message = "The base plan uses every site at which a yard may stand."
        raise fail(message, Exit.USAGE)
    with whole_set(job.out, "compare") as folder:
        written = write_comparison(base, outcomes, folder, page, sites)
    if outcomes:
        show_comparison(base, outcomes)
    if sites is not None:
        show_sites(base, [*outcomes, *sites])
    typer.echo(f"Written to {job.out}: {', '.join(written)}.")
    job.end_if_base_is_short(base.plan.status, base.plan.yard_sizes)
