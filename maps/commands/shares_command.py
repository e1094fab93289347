"""The command `shares`: which district pays what of the joint cost, and why."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from maps.commands.choices import Exit, Goal
from maps.commands.common import (
    Folder,
    Out,
    Seconds,
    fail,
    faults_listed,
    out_of,
    read,
    stoppable,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from logistics.studies import Coalition


class Whose(StrEnum):
    """Whose yards and markets a group on its own may use."""

    OWN = "own"
    ALL = "all"


@stoppable
def shares(
    folder: Folder,
    sites: Annotated[
        Whose,
        typer.Option("--sites", help="Yards and markets a group alone may use."),
    ] = Whose.OWN,
    orders: Annotated[
        int,
        typer.Option("--orders", min=4, help="Orders drawn for over ten districts."),
    ] = 200,
    out: Out = None,
    seconds: Seconds = None,
) -> None:
    """Split the cost between districts: by tonnes, tonne-km and what each adds."""
    out = out_of(folder, out)
    from maps.commands.overrides import with_settings

    scenario = with_settings(read(folder), seconds, None, Goal.COST)
    from logistics.model import NoPlanError
    from logistics.results import effort_of, run
    from logistics.studies import share_cost
    from maps.commands.progress_line import progress
    from maps.report import write_report
    from maps.studies import show_shares, write_shares

    effort = effort_of(scenario)
    try:
        with progress() as report, faults_listed():
            result = run(scenario, progress=report)
            if result.plan.status == "shortage":
                message = "The demands cannot be met, so there is no cost to share. "
                message += f"See which: loamhaul plan {folder}"
                raise fail(message, Exit.SHORTAGE)
            found = share_cost(result, effort, sites.value, orders, _told())
    except NoPlanError as error:
        message = f"Nothing was written: {error}."
        raise fail(message, Exit.STOPPED) from None
    write_shares(found, scenario, out)
    write_report(result, out / "shares.html", found)
    show_shares(found, scenario)
    typer.echo(f"Written to {out}: shares.xlsx, shares.csv, shares.html.")
    short = [one for one in found.coalitions.values() if one.status == "shortage"]
    if short:
        typer.echo("Some groups cannot meet the demands alone; see shares.csv/groups.")
    late = any(
        one.status in ("time_limit", "stopped") for one in found.coalitions.values()
    )
    raise typer.Exit(Exit.STOPPED if late else Exit.DONE)


def _told() -> Callable[[int, Coalition], None]:
    """Say on the error output how far the groups are."""

    def tell(done: int, last: Coalition) -> None:
        who = ", ".join(sorted(last.group))
        typer.echo(f"group {done}: {who}, {last.seconds:.0f} s", err=True)

    return tell
