"""The command `stress`: losses and draws of what is uncertain."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated

import typer

from maps.commands.jobs import PlanningJob, own_fleet, planning
from maps.commands.options import MOST_SEED, Workers

if TYPE_CHECKING:
    from logistics.studies import Standing

STORE = "stress.jsonl"


@planning(
    stopped="Stopped. Finished runs are kept: the same command picks up from there."
)
def stress(
    job: PlanningJob,
    draws: Annotated[
        int,
        typer.Option(
            "--draws", min=0, max=100_000, help="Number of draws from the ranges."
        ),
    ] = 100,
    seed: Annotated[
        int,
        typer.Option("--seed", min=0, max=MOST_SEED, help="Random seed of the draws."),
    ] = 1,
    replan: Annotated[
        bool,
        typer.Option("--replan", help="Also choose the yards again in each future."),
    ] = False,
    workers: Workers = None,
    cluster: Annotated[
        str | None, typer.Option("--cluster", help="Dask scheduler, tcp://host:port.")
    ] = None,
) -> None:
    """Test the loss of each source, market, yard and bridge, and draws from ranges."""
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
        with progress(scenario) as report:
            yards = base_yards(scenario, store, report)
        job.see_that_it_composts(yards)
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
    job.end_if_base_is_short(found.records["base", "operate"]["status"], yards)


@contextmanager
def standing() -> Iterator[Callable[[Standing], None]]:
    """Give a callback that shows how many runs are done and how long they may take."""
    from maps.commands.progress_line import ProgressLine, live
    from maps.shared import TimeLeft

    end = "Ctrl-C stops; the same command continues later"
    line = ProgressLine("preparing the futures", TimeLeft(None), end)
    with live(line):
        yield lambda state: line.run(state.done, state.total, state.left)
