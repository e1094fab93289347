"""The command line; the only room that knows typer."""

import sys

try:
    from maps.commands.command_line import app, main
except KeyboardInterrupt:  # Ctrl-C in the first instants
    sys.stderr.write("Stopped. Nothing was done.\n")
    sys.exit(130)

__all__ = ["app", "main"]
