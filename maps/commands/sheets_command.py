"""The command `sheets`: yard sheets for the foremen; `cli.py` registers it."""

from __future__ import annotations

from typing import Annotated

import typer

from maps.commands.choices import Exit
from maps.commands.common import (
    Changes,
    Folder,
    Out,
    Seconds,
    apply,
    changes,
    fail,
    faults_listed,
    out_of,
    read,
    stoppable,
)


@stoppable
def sheets(
    folder: Folder,
    period: Annotated[
        str | None,
        typer.Option(
            "--period", help="Code of the period, such as m04.", show_default="all"
        ),
    ] = None,
    yard: Annotated[
        str | None,
        typer.Option("--yard", help="Code of the yard.", show_default="all open"),
    ] = None,
    change: Changes = None,
    out: Out = None,
    seconds: Seconds = None,
) -> None:
    """Write yard sheets: loads by day, mix, windrows, turning, log, cautions."""
    out = out_of(folder, out)
    from maps.commands.overrides import with_settings

    scenario = with_settings(read(folder), seconds, None, None)
    for wanted in changes(folder, change) if change else []:
        scenario = apply(scenario, wanted)
    known = [str(code) for code in scenario.periods["period"]]
    _one_of("period", period, known)
    _one_of("yard", yard, [str(code) for code in scenario.yards["yard"]])
    from logistics.model import NoPlanError
    from logistics.results import run
    from maps.commands.progress_line import progress
    from maps.field import write_all
    from maps.outputs import check_out

    try:
        check_out(out)
        with progress() as report, faults_listed():
            result = run(scenario, progress=report)
        opened = [str(code) for code in result.plan.yards["yard"]]
        if yard is not None and yard not in opened:
            message = f"The plan does not open {yard}. Open are {', '.join(opened)}."
            raise fail(message, Exit.USAGE)
        written = write_all(
            result,
            known if period is None else [period],
            opened if yard is None else [yard],
            out,
        )
    except NoPlanError as error:
        message = f"Nothing was written: {error}."
        raise fail(message, Exit.STOPPED) from None
    except OSError as error:
        raise fail(str(error), Exit.USAGE) from None
    count = len(list(written.glob("*.html")))
    typer.echo(
        f"{count} yard sheets written to {written}, from the plan spread over the "
        "working days. `loamhaul rounds` writes those of a month from its rounds."
    )


def _one_of(kind: str, wanted: str | None, known: list[str]) -> None:
    """Stop if a code is not one of those known."""
    if wanted is not None and wanted not in known:
        message = f"There is no {kind} {wanted!r}. Name one of {', '.join(known)}."
        raise fail(message, Exit.USAGE)
