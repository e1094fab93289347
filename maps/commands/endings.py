"""
How commands end: the one place where what went wrong becomes text and exit code.

A command raises what it likes. `command` turns the errors that a user can cause, or has
to know of, into text on the error output and an exit code; any other is a bug of ours
and shows in full.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from typing import TYPE_CHECKING

import typer

from maps.commands.choices import Exit
from maps.commands.interrupts import stopped_by_user

if TYPE_CHECKING:
    from logistics.scenario import ScenarioError

Command = Callable[..., None]

STOPPED = "Stopped."

MOST_FAULTS = 100
"""Faults that are printed; more than these scroll away."""

FAULTS = "loamhaul-faults.txt"
"""File of all faults where there are more, in the folder of the user."""


def command(body: Command) -> Command:
    """Make a function a command, with the endings that all commands share."""

    @wraps(body)
    def run(*args: object, **options: object) -> None:
        with endings():
            body(*args, **options)

    return run


@contextmanager
def endings(stopped: str = STOPPED) -> Iterator[None]:
    """
    Turn errors and Ctrl-C into text on the error output and an exit code.

    Parameters
    ----------
    stopped
        What to say after Ctrl-C.
    """
    try:
        yield
    except KeyboardInterrupt:
        raise fail(stopped, Exit.INTERRUPTED) from None
    except Exception as error:
        told = ending(error, stopped)
        if told is None:
            raise
        raise fail(*told) from None


def ending(error: Exception, stopped: str = STOPPED) -> tuple[str, Exit] | None:
    """Return text and exit code of an error; None if it is a bug of ours."""
    from logistics.land import GridError
    from logistics.model import NoPlanError
    from logistics.results import AuditError
    from logistics.scenario import ChangeFault, ScenarioError
    from logistics.studies import RunsError

    match error:
        case ScenarioError():
            typed = all(one.file == "--change" for one in error.problems)
            return _listed(error), Exit.USAGE if typed else Exit.FAULTS
        case ChangeFault():
            return str(error), Exit.USAGE
        case NoPlanError() if stopped_by_user():
            return stopped, Exit.INTERRUPTED
        case NoPlanError():
            return f"Nothing was written: {error}.", Exit.NOTHING
        case AuditError():
            whose = "This is a bug in Loamhaul, not a fault in your tables."
            return f"Nothing was written: {error}. {whose}", Exit.BUG
        case RunsError():
            return f"{error}.", Exit.NOTHING
        case GridError():
            return f"Nothing was proposed: {error}.", Exit.USAGE
        case OSError():
            return _of_system(error), Exit.USAGE
    return None


def _listed(error: ScenarioError) -> str:
    """List the faults; of very many the first, and all of them in a file."""
    from maps.commands.last_door import write_here

    lines = str(error).splitlines()
    more = len(error.problems) - MOST_FAULTS
    if more <= 0:
        return str(error)
    path = write_here("\n".join(lines).encode() + b"\n", FAULTS, "wb")
    where = f"all of them are in {path}" if path else "no file could be written of them"
    return "\n".join([*lines[: MOST_FAULTS + 1], f"And {more:,} more: {where}."])


def _of_system(error: OSError) -> str:
    """
    Say what the system refused, without its number.

    >>> _of_system(PermissionError(13, "Permission denied", "out/plan.xlsx"))
    'Nothing was written: out/plan.xlsx: Permission denied.'
    """
    if error.strerror and error.filename:
        return f"Nothing was written: {error.filename}: {error.strerror}."
    return f"Nothing was written: {error}."


def fail(message: str, code: Exit) -> typer.Exit:
    """Print a message on the error output; the caller raises what comes back."""
    typer.echo(message, err=True)
    return typer.Exit(code)


def ended(*, proven: bool) -> typer.Exit:
    """Return the end of a command that wrote its answer, proven or not."""
    return typer.Exit(Exit.DONE if proven else Exit.STOPPED)
