"""
The command ``loamhaul``.

Heavy libraries are imported inside the commands, so that help comes at once. Exit
codes are those of `Exit`; the manual's page on the plan says what they mean.

To add a command, write a module with a function made one by `planning` or `command`,
and name it in `COMMANDS`.
"""

from __future__ import annotations

import signal
import sys
from typing import Annotated

import typer

from maps.commands.alternatives_command import alternatives
from maps.commands.bring_command import bring
from maps.commands.changes_command import changes
from maps.commands.check_command import check
from maps.commands.choices import WITH_DATA, Exit
from maps.commands.compare_command import compare
from maps.commands.desk_command import desk
from maps.commands.endings import Command
from maps.commands.export_command import export
from maps.commands.form_command import form
from maps.commands.frontier_command import frontier
from maps.commands.interrupts import answering
from maps.commands.manual_command import manual
from maps.commands.materials_command import materials
from maps.commands.new_command import new
from maps.commands.plain_output import plain_output
from maps.commands.plan_command import plan
from maps.commands.roads_command import roads
from maps.commands.robust_command import robust
from maps.commands.rounds_command import rounds
from maps.commands.shares_command import shares
from maps.commands.sheets_command import sheets
from maps.commands.sites_command import sites
from maps.commands.stick_command import stick
from maps.commands.stress_command import stress
from maps.commands.why_command import why

COMMANDS: dict[str, Command] = {
    "new": new,
    "form": form,
    "bring": bring,
    "export": export,
    "materials": materials,
    "check": check,
    "roads": roads,
    "sites": sites,
    "plan": plan,
    "compare": compare,
    "why": why,
    "alternatives": alternatives,
    "frontier": frontier,
    "robust": robust,
    "stress": stress,
    "changes": changes,
    "shares": shares,
    "rounds": rounds,
    "sheets": sheets,
    "desk": desk,
    "manual": manual,
    "stick": stick,
}
"""Name of the command -> the function, in the order in which help lists them."""

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Plan the composting yards and the haulage of a district.",
)
for _name, _function in COMMANDS.items():
    app.command(_name)(_function)


def _version(wanted: bool) -> None:
    """Print the version and stop."""
    if wanted:
        from importlib.metadata import PackageNotFoundError, version

        try:
            typer.echo(f"loamhaul {version('loamhaul')}")
        except PackageNotFoundError:
            typer.echo("loamhaul (not installed)")
        raise typer.Exit(Exit.DONE)


@app.callback()
def _top(
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_version, is_eager=True, help="Show the version."
        ),
    ] = False,
    with_data: Annotated[
        bool,
        typer.Option(
            WITH_DATA,
            help="Put the tables into the report that is written if Loamhaul itself "
            "fails.",
        ),
    ] = False,
) -> None:
    """Plan the composting yards and the haulage of a district."""


def main() -> None:
    """Run the command line; a reader that hangs up (`| head`) ends it quietly."""
    if hasattr(signal, "SIGPIPE"):
        signal.signal(signal.SIGPIPE, signal.SIG_DFL)
    plain_output()
    try:
        with answering():
            app(prog_name="loamhaul")
    except Exception as error:
        from maps.commands.last_door import told_bug

        sys.exit(told_bug(error, sys.argv[1:]))
