"""The command `check`: as far as planning goes before it solves."""

from __future__ import annotations

import typer

from maps.commands.choices import Exit
from maps.commands.endings import command, fail
from maps.commands.jobs import read
from maps.commands.options import Folder


@command
def check(folder: Folder) -> None:
    """Check a scenario: every fault with its remedy, then warnings."""
    scenario = read(folder)
    from logistics.changes import read_ranges
    from logistics.diagnosis import checked_travel, nothing_possible
    from logistics.model import prepare
    from maps.commands.check_page import check_lines

    read_ranges(scenario)
    made = prepare(scenario, checked_travel(scenario))
    typer.echo(f"{folder}: no faults.")
    for line in check_lines(scenario, made.travel, made.instance):
        typer.echo(line)
    if why := nothing_possible(scenario, made.instance):
        raise fail("\n".join(why), Exit.SHORTAGE)
