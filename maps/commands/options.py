"""Options and arguments that several commands take."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Annotated

import typer

from maps.commands.choices import MOST_SECONDS

MOST_SEED = 2**32 - 1
"""Largest random seed that the searches take."""


def a_number(value: float | None) -> float | None:
    """Refuse what is no number: `nan` lies within any limits."""
    if value is not None and math.isnan(value):
        message = "nan is no number. Write one, such as 2.5."
        raise typer.BadParameter(message)
    return value


Folder = Annotated[Path, typer.Argument(metavar="DIR", help="Folder of the scenario.")]

Changes = Annotated[
    list[str] | None,
    typer.Option(
        "--change",
        help="A file in DIR/changes, or name:argument=value,...; may be repeated.",
    ),
]

Out = Annotated[
    Path | None,
    typer.Option("--out", help="Folder for the outputs.", show_default="DIR/out"),
]

Seconds = Annotated[
    float | None,
    typer.Option(
        "--seconds",
        min=1,
        max=MOST_SECONDS,
        callback=a_number,
        help="Longest time per plan [s].",
    ),
]

Workers = Annotated[
    int | None,
    typer.Option(
        "--workers",
        min=1,
        max=1000,
        help="Number of processes on this computer.",
        show_default="all cores",
    ),
]
