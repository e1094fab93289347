"""The command line; the only room that knows typer."""

from maps.commands.command_line import app, main

__all__ = ["app", "main"]
