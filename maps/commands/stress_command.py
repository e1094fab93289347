"""The command `stress`: losses and draws of what is uncertain."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated

import typer

from maps.commands.choices import Exit
from maps.commands.jobs import PlanningJob, own_fleet, planning
from maps.commands.options import Workers

if TYPE_CHECKING:
    from logistics.studies import Standing

STORE = "stress.jsonl"
EVERY = 20
"""Runs between two lines of progress where there is no terminal."""


@planning(stopped="Stopped. What is done is kept: the same command goes on from there.")
def stress(
    job: PlanningJob,
    draws: Annotated[
        int, typer.Option("--draws", min=0, max=100_000, help="Draws from the ranges.")
    ] = 100,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Seed of the draws.")] = 1,
    replan: Annotated[
        bool, typer.Option("--replan", help="Also plan each with the yards free.")
    ] = False,
    workers: Workers = None,
    cluster: Annotated[
        str | None, typer.Option("--cluster", help="Dask scheduler, tcp://host:port.")
    ] = None,
) -> None:
    """Lose each source, market, yard and bridge in turn, and draw from the ranges."""
    import os

    from logistics.changes import read_ranges
    from logistics.studies import (
        base_yards,
        ends,
        losses,
        one_thread,
        open_store,
    )
    from logistics.studies import draws as drawn
    from logistics.studies import stress as run_futures
    from maps.commands.progress_line import progress
    from maps.shared import whole_set
    from maps.studies import show_stress, write_stress

    with open_store(job.out / STORE) as store:
        ranges = read_ranges(job.scenario)
        scenario = one_thread(own_fleet(job.scenario))
        with progress() as report:
            yards = base_yards(scenario, store, report)
        lost = losses(scenario, [yard for yard, _ in yards])
        futures = [*lost, *ends(ranges), *drawn(ranges, draws, seed)]
        with standing() as told:
            found = run_futures(
                scenario,
                yards,
                futures,
                ranges,
                store,
                replan=replan,
                workers=workers or os.cpu_count() or 1,
                cluster=cluster,
                watch=told,
            )
        with whole_set(job.out, "stress") as folder:
            written = write_stress(found, folder)
    show_stress(found)
    typer.echo(f"Written to {job.out}: {', '.join(written)}.")
    if found.records["base", "operate"]["status"] == "shortage":
        typer.echo("Even the base plan cannot meet its demands: see loamhaul plan.")
        raise typer.Exit(Exit.SHORTAGE)


def standing_text(state: Standing) -> str:
    """One line on how far the runs are."""
    words = [f"{state.done} of {state.total} runs"]
    if state.left is not None:
        left = (
            f"{state.left:,.0f} s" if state.left < 120 else f"{state.left / 60:.0f} min"
        )
        words.append(f"{left} left")
    return " · ".join([*words, "Ctrl-C stops; the same command goes on later"])


@contextmanager
def standing() -> Iterator[Callable[[Standing], None]]:
    """Give a callback that shows how far things are: a live line, or a few lines."""
    if not sys.stderr.isatty():
        yield (
            lambda state: (
                typer.echo(standing_text(state), err=True)
                if state.done % EVERY == 0 or state.done == state.total
                else None
            )
        )
        return
    from rich.console import Console
    from rich.text import Text

    with Console(stderr=True).status(Text("Preparing the futures")) as status:
        yield lambda state: status.update(Text(standing_text(state)))
