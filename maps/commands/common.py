"""What the commands share: their options, how they read, and how they fail."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from maps.commands.choices import MOST_SECONDS, Exit

if TYPE_CHECKING:
    from logistics.changes import ChangeSet
    from logistics.scenario import Scenario

Changes = Annotated[
    list[str] | None,
    typer.Option(
        "--change",
        help="A file of DIR/changes, or name:argument=value,...; may be repeated.",
    ),
]

Out = Annotated[
    Path | None,
    typer.Option("--out", help="Folder for the outputs.", show_default="DIR/out"),
]

Folder = Annotated[Path, typer.Argument(metavar="DIR", help="Folder of the scenario.")]

Seconds = Annotated[
    float | None,
    typer.Option("--seconds", min=1, max=MOST_SECONDS, help="Longest time a plan [s]."),
]


def stoppable(command: Callable[..., None]) -> Callable[..., None]:
    """Make a command say so when Ctrl-C comes outside solving, or a second time."""

    @wraps(command)
    def run(*args: object, **options: object) -> None:
        try:
            command(*args, **options)
        except KeyboardInterrupt:
            message = "Stopped. Nothing was written; older outputs are as they were. "
            message += "A single Ctrl-C while solving keeps the best plan."
            raise fail(message, Exit.STOPPED) from None

    return run


def fail(message: str, code: Exit) -> typer.Exit:
    """Print a message on the error output; the caller raises what comes back."""
    typer.echo(message, err=True)
    return typer.Exit(code)


@contextmanager
def faults_listed() -> Iterator[None]:
    """List the faults of a scenario, one a line, on the error output, and stop."""
    from logistics.scenario import ScenarioError

    try:
        yield
    except ScenarioError as error:
        raise fail(str(error), Exit.FAULTS) from None


def read(folder: Path) -> Scenario:
    """Read a scenario or list its faults."""
    from logistics.scenario import read_scenario

    if not folder.exists():
        message = f"There is no {folder}. Name a scenario folder."
        raise fail(message, Exit.USAGE)
    with faults_listed():
        return read_scenario(folder)


def out_of(folder: Path, out: Path | None) -> Path:
    """Folder of the outputs: the one asked for, or `out` beside the scenario."""
    return out or (folder if folder.is_dir() else folder.parent) / "out"


def changes(folder: Path, wanted: list[str] | None) -> list[ChangeSet]:
    """Find the changes asked for or list their faults."""
    from logistics.changes import find_changes

    with faults_listed():
        return find_changes(folder, wanted or [])


def apply(scenario: Scenario, wanted: ChangeSet) -> Scenario:
    """Apply changes or list their faults."""
    from logistics.changes import apply_changes

    with faults_listed():
        return apply_changes(scenario, wanted)


def own_fleet(scenario: Scenario) -> Scenario:
    """Decide own trucks once where `fleet.decide` asks; they stand in all futures."""
    if scenario.settings.fleet.decide != "yes":
        return scenario
    from logistics.results import run
    from logistics.scenario import change_setting, with_table
    from maps.commands.progress_line import progress

    with progress() as report, faults_listed():
        decided = run(scenario, progress=report).scenario.trucks
    counts = zip(decided["truck"], decided["owned"], strict=True)
    said = ", ".join(f"{int(count)} {code}" for code, count in counts)
    typer.echo(f"Own trucks decided first: {said}.")
    settled = with_table(scenario, "trucks", decided)
    return replace(
        settled, settings=change_setting(settled.settings, "fleet.decide", "no")
    )
