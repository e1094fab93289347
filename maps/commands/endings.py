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

import typer

from maps.commands.choices import Exit

Command = Callable[..., None]

STOPPED = "Stopped."


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
        raise fail(stopped, Exit.STOPPED) from None
    except Exception as error:
        told = ending(error)
        if told is None:
            raise
        raise fail(*told) from None


def ending(error: Exception) -> tuple[str, Exit] | None:
    """Return text and exit code of an error; None if it is a bug of ours."""
    from logistics.land import GridError
    from logistics.model import NoPlanError
    from logistics.results import AuditError
    from logistics.scenario import ChangeFault, ScenarioError
    from logistics.studies import RunsError

    match error:
        case ScenarioError():
            return str(error), Exit.FAULTS
        case ChangeFault():
            return str(error), Exit.USAGE
        case NoPlanError():
            return f"Nothing was written: {error}.", Exit.STOPPED
        case AuditError():
            whose = "This is a bug in Loamhaul, not a fault in your tables."
            return f"Nothing was written: {error}. {whose}", Exit.STOPPED
        case RunsError():
            return f"{error}.", Exit.STOPPED
        case GridError():
            return f"Nothing was proposed: {error}.", Exit.USAGE
        case OSError():
            return _of_system(error), Exit.USAGE
    return None


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
