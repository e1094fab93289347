"""The command `sheets`: yard sheets for the foremen."""

from __future__ import annotations

from typing import Annotated

import typer

from maps.commands.choices import Exit
from maps.commands.endings import fail
from maps.commands.jobs import PlanningJob, one_of, planning


@planning()
def sheets(
    job: PlanningJob,
    period: Annotated[
        str | None,
        typer.Option(
            "--period", help="Code or name of the period.", show_default="all"
        ),
    ] = None,
    yard: Annotated[
        str | None,
        typer.Option("--yard", help="Code of the yard.", show_default="all open"),
    ] = None,
) -> None:
    """Write yard sheets: loads by day, mix, windrows, turning, log, cautions."""
    from logistics.scenario import period_named

    known = [str(code) for code in job.scenario.periods["period"]]
    chosen = known if period is None else [period_named(job.scenario, period)]
    one_of("yard", yard, [str(code) for code in job.scenario.yards["yard"]])
    from logistics.results import run
    from maps.commands.progress_line import progress
    from maps.field import write_all
    from maps.shared import count

    with progress(job.scenario) as report:
        result = run(job.scenario, progress=report)
    job.see_that_it_meets(result, without="month to print sheets of")
    opened = [str(code) for code in result.plan.yards["yard"]]
    if yard is not None and yard not in opened:
        from logistics.scenario import in_list

        message = f"The plan does not open {yard}. It opens {in_list(opened)}."
        raise fail(message, Exit.USAGE)
    written = write_all(
        result,
        chosen,
        opened if yard is None else [yard],
        job.out,
    )
    sheets = count(len(list(written.glob("*.html"))), "yard sheet")
    typer.echo(
        f"{sheets} written to {written}, from the plan spread over the working days. "
        "`loamhaul rounds` writes them from a month's rounds."
    )
