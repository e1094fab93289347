"""Commands about many futures at once; `cli.py` registers them."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from maps.commands.choices import Exit
from maps.commands.common import (
    Changes,
    Folder,
    Out,
    Seconds,
    apply,
    changes,
    fail,
    faults_listed,
    out_of,
    own_fleet,
    read,
    stoppable,
)


class Other(StrEnum):
    """The goal that cost is set against."""

    COLLECTED = "collected"
    CO2E = "co2e"
    YARDS = "yards"


@stoppable
def frontier(
    folder: Folder,
    against: Annotated[
        Other, typer.Option("--against", help="The goal that cost is set against.")
    ] = Other.COLLECTED,
    points: Annotated[
        int, typer.Option("--points", min=3, max=30, help="Most points.")
    ] = 10,
    change: Changes = None,
    out: Out = None,
    seconds: Seconds = None,
) -> None:
    """Trade cost against tonnes, emissions or yards: proven points, table and chart."""
    out = out_of(folder, out)
    from maps.commands.overrides import with_settings

    scenario = with_settings(read(folder), seconds, None, None)
    for wanted in changes(folder, change) if change else []:
        scenario = apply(scenario, wanted)
    scenario = own_fleet(scenario)
    from logistics.model import NoPlanError
    from logistics.studies import frontier as trade
    from logistics.studies import problem
    from maps.commands.progress_line import progress
    from maps.studies import show_frontier, write_frontier, yard_names

    try:
        with progress() as report, faults_listed():
            instance, effort = problem(scenario)
            found = trade(instance, against.value, points, effort, report)
    except NoPlanError as error:
        message = f"Nothing was written: {error}."
        raise fail(message, Exit.STOPPED) from None
    if not found:
        message = "The demands cannot be met, so there is no frontier. "
        message += f"See which: loamhaul plan {folder}"
        raise fail(message, Exit.SHORTAGE)
    settings, named = scenario.settings, yard_names(scenario)
    currency = settings.currency
    write_frontier(found, against.value, settings.name, currency, named, out)
    show_frontier(found, against.value, currency, named)
    typer.echo(f"Written to {out}: frontier.html, frontier.xlsx, frontier.csv.")
    late = any(point.gap > settings.solve.gap + 1e-9 for point in found)
    raise typer.Exit(Exit.STOPPED if late else Exit.DONE)


Weighted = Annotated[
    list[str] | None,
    typer.Option(
        "--change",
        help="A file of DIR/changes, or name:argument=value,...; with @2 behind it it "
        "weighs twice as much; may be repeated.",
    ),
]


@stoppable
def robust(
    folder: Folder,
    change: Weighted = None,
    base: Annotated[
        float, typer.Option("--base", min=0, help="Weight of no change at all.")
    ] = 1.0,
    risk: Annotated[
        float, typer.Option("--risk", min=0, help="Weight of the worst futures (CVaR).")
    ] = 0.0,
    worst: Annotated[
        float, typer.Option("--worst", min=1, max=99, help="Share that is worst [%].")
    ] = 20.0,
    minutes: Annotated[
        float, typer.Option("--minutes", min=0.1, help="Longest joint choice [min].")
    ] = 15.0,
    out: Out = None,
    seconds: Seconds = None,
) -> None:
    """Choose yards once for many futures; by default all of DIR/changes and none."""
    out = out_of(folder, out)
    from maps.commands.overrides import with_settings

    scenario = with_settings(read(folder), seconds, None, None)
    weights, texts = _weighted(change or [])
    wanted = changes(folder, texts)
    weights = weights or [1.0] * len(wanted)
    for one in wanted:
        apply(scenario, one)
    scenario = own_fleet(scenario)
    from logistics.model import NoPlanError
    from logistics.studies import BASE, Chance, Risk
    from logistics.studies import robust as choose
    from maps.commands.progress_line import progress
    from maps.studies import show_robust, write_robust, yard_names

    chances = [Chance(BASE, base)] if base > 0 else []
    chances += [Chance(c, w) for c, w in zip(wanted, weights, strict=True) if w > 0]
    if not chances:
        message = "There is no future of any weight. Give --change or --base."
        raise fail(message, Exit.USAGE)
    try:
        with progress() as report, faults_listed():
            told = None if report is None else (lambda _, state: report(state))
            found = choose(
                scenario,
                chances,
                Risk(risk, 1 - worst / 100),
                seconds=60 * minutes,
                watch=told,
            )
    except NoPlanError as error:
        message = f"Nothing was written: {error}."
        raise fail(message, Exit.STOPPED) from None
    if found is None:
        message = "Nothing was written: no yards could be run in every future."
        raise fail(message, Exit.SHORTAGE)
    settings, named = scenario.settings, yard_names(scenario)
    write_robust(found, settings.currency, named, out)
    show_robust(found, settings.currency, named)
    typer.echo(f"Written to {out}: robust.xlsx, robust.csv.")
    late = found.decision.gap > settings.solve.gap + 1e-9
    raise typer.Exit(Exit.STOPPED if late else Exit.DONE)


def _weighted(texts: list[str]) -> tuple[list[float], list[str]]:
    """Take weights off the ends of changes: `mill_closes@2`."""
    weights, plain = [], []
    for text in texts:
        name, at, weight = text.rpartition("@")
        try:
            weights.append(float(weight) if at else 1.0)
        except ValueError:
            message = f"{text}: {weight!r} behind @ is no weight. Write a number."
            raise fail(message, Exit.USAGE) from None
        plain.append(name if at else text)
    return weights, plain
