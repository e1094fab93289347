"""The command `changes`: what can be named with --change."""

from __future__ import annotations

import typer

from maps.commands.endings import command


@command
def changes() -> None:
    """List all changes you can use with --change, and their arguments."""
    from logistics.changes import CHANGES, arguments_of, shown

    for name in sorted(CHANGES):
        told = [
            shown(argument) if p.default is p.empty else f"[{shown(argument)}]"
            for argument, p in arguments_of(name).items()
        ]
        typer.echo(f"{name}:{','.join(told)}")
        typer.echo(f"    {(CHANGES[name].__doc__ or '').strip()}")
