"""The command `rounds`: a planned month as rounds of trucks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from maps.commands.choices import Exit
from maps.commands.endings import fail
from maps.commands.jobs import PlanningJob, planning
from maps.commands.options import MOST_SEED, Workers

if TYPE_CHECKING:
    from concurrent.futures import Executor
    from pathlib import Path

    from logistics.results import Result
    from logistics.rounds import Driven, Turn, YardChoice
    from logistics.scenario import Scenario

TURNS_KEPT = (
    "Ctrl-C: the plans driven so far are kept. Press Ctrl-C again to end with nothing "
    "written."
)
"""What is said where planning and driving in turns is stopped."""


@planning()
def rounds(
    job: PlanningJob,
    period: Annotated[
        str | None,
        typer.Option(
            "--period",
            help="Code or name of the period, such as m04 or April.",
            show_default="all",
        ),
    ] = None,
    separate: Annotated[
        bool,
        typer.Option(
            "--separate", help="Never take compost out and feedstock back on one trip."
        ),
    ] = False,
    seed: Annotated[
        int,
        typer.Option("--seed", min=0, max=MOST_SEED, help="Random seed of the search."),
    ] = 1,
    workers: Workers = None,
    again: Annotated[
        int,
        typer.Option(
            "--feedback",
            min=0,
            max=100,
            help="Plan again up to this many times, with driven times and costs.",
        ),
    ] = 0,
    iterations: Annotated[
        int | None,
        typer.Option(
            "--iterations",
            min=10,
            max=10_000_000,
            help="Steps per search.",
            show_default="rounds.iterations",
        ),
    ] = None,
    choose: Annotated[
        bool,
        typer.Option(
            "--choose-yards",
            help="Show which yards suit the rounds of feedstock that spoils.",
        ),
    ] = False,
) -> None:
    """Turn a planned month into truck rounds: run sheets, times, costs."""
    from logistics.scenario import period_named

    chosen = None if period is None else period_named(job.scenario, period)
    if choose and chosen is None:
        message = "--choose-yards needs one period: name it with --period."
        raise fail(message, Exit.USAGE)
    from logistics.results import run
    from maps.commands.progress_line import progress

    how: dict[str, Any] = {
        "pair": not separate, "seed": seed, "workers": workers,
        "iterations": iterations,
    }  # fmt: skip
    turns: list[Turn] = []
    if again:
        turns = settled(job.scenario, again, how)
        result, all_driven = of_cheapest(turns)
    else:
        with progress() as report:
            result = run(job.scenario, progress=report, begun=job.begun)
        all_driven = {}
    job.see_that_it_meets(result, without="round to drive")
    if chosen is None:
        driven = list(all_driven.values()) or every_period(result, how)
        typer.echo(all_written(result, driven, job.out, turns))
        return
    one = all_driven.get(chosen) or one_driven(result, chosen, how)
    sound(one)
    choice, said = yards_chosen(result, chosen, seed) if choose else (None, [])
    from maps.field import write_rounds

    written = write_rounds(result, one, job.out, turns, choice)
    for line in [*lines(result, one), *said]:
        typer.echo(line)
    typer.echo(
        f"Written to {written}: rounds.xlsx, rounds_map.html, run_sheets_day_*.html, "
        f"{'yard_choice.csv, ' if choice else ''}yard_sheets/, geojson/, gpx/."
    )


def one_driven(
    result: Result, period: str, how: dict[str, Any], pool: Executor | None = None
) -> Driven:
    """Drive a period, showing how the search stands."""
    from logistics.rounds import drive
    from maps.commands.progress_line import rounds_progress

    with rounds_progress() as counted:
        return drive(result, period, progress=counted, pool=pool, **how)


def sound(driven: Driven) -> None:
    """Stop where the check of rounds found a fault; nothing is written then."""
    if driven.faults:
        message = "The rounds broke rules and were not written:\n"
        raise fail(message + "\n".join(driven.faults), Exit.BUG)


def every_period(result: Result, how: dict[str, Any]) -> list[Driven]:
    """Drive all periods, each with a line when it is done and the time still needed."""
    import os
    from contextlib import nullcontext
    from time import perf_counter

    from logistics.rounds import processes
    from maps.commands.progress_line import still_needed
    from maps.shared import names

    label = names(result, "period")
    codes = [str(code) for code in result.scenario.periods["period"]]
    begun, found = perf_counter(), []
    typer.echo(f"No --period given: all {len(codes)} are driven, one after another.")
    count = how["workers"] or os.cpu_count() or 1
    with processes(count) if count > 1 else nullcontext() as pool:
        for number, code in enumerate(codes, start=1):
            driven = one_driven(result, code, how, pool)
            sound(driven)
            found.append(driven)
            left = still_needed(number, len(codes), perf_counter() - begun)
            name = label.get(code, code)
            typer.echo(f"{number} of {len(codes)}, {name}: driven{left}.")
    return found


def all_written(
    result: Result, driven: list[Driven], out: Path, turns: list[Turn]
) -> str:
    """Write all periods, say what each came to, and where it is."""
    from maps.field import overview_lines, write_all_rounds

    for one in driven:
        sound(one)
    written = write_all_rounds(result, driven, out, turns)
    for line in overview_lines(result, driven):
        typer.echo(line)
    return (
        f"Written to {written}: overview.xlsx, overview.csv, budget.xlsx (haulage as "
        f"driven), and a folder a period (rounds_{driven[0].period}/ and so on)."
    )


def yards_chosen(
    result: Result, period: str, seed: int
) -> tuple[YardChoice | None, list[str]]:
    """Choose yards by the rounds of what spoils alone, and say what comes of it."""
    from logistics.rounds import NoChoiceError, choose_yards
    from maps.commands.progress_line import busy
    from maps.field import choice_words

    most = result.scenario.settings.rounds.seconds
    try:
        with busy("choosing yards by the rounds of feedstock that spoils"):
            choice = choose_yards(result, period, seed=seed, seconds=most)
    except NoChoiceError as error:
        return None, [f"Yards were not chosen by rounds: {error}."]
    if choice.faults:
        message = "The choice of yards broke rules; nothing was written:\n"
        raise fail(message + "\n".join(choice.faults), Exit.BUG)
    said = choice_words(result, choice)
    if choice.timed_out:
        said.append(
            "The time limit ended that search: another run may answer differently."
        )
    return choice, said


def settled(scenario: Scenario, most: int, how: dict[str, Any]) -> list[Turn]:
    """Plan, drive and plan again, saying how each plan drives."""
    from itertools import count

    from logistics.rounds import feedback
    from maps.commands.interrupts import keeping
    from maps.field import first_words, turn_line, turn_words

    number = count(1)
    for line in first_words(scenario):
        typer.echo(line)

    def say(turn: Turn) -> None:
        typer.echo(turn_line(turn, next(number)))

    with keeping(TURNS_KEPT):
        turns = feedback(scenario, most=most, report=say, **how)
    for line in turn_words(turns):
        typer.echo(line)
    return turns


def of_cheapest(turns: list[Turn]) -> tuple[Result, dict[str, Driven]]:
    """Take the plan that is cheapest to drive, and its periods as driven."""
    from logistics.rounds import cheapest

    turn = turns[cheapest(turns)]
    return turn.result, {done.period: done for done in turn.driven}


def lines(result: Result, driven: Driven) -> list[str]:
    """Say in a few lines what is driven, against what was planned."""
    from logistics.rounds import by_freight, summary
    from maps.shared import money_unit, names

    known = summary(result, driven)
    money = result.scenario.settings.currency
    unit = money_unit(money, [known["driven_money"], known["planned_money"]])
    materials = names(result, "material")
    period = names(result, "period").get(driven.period, driven.period)
    said = [
        f"{period}: {known['driven_t']:,.0f} of {known['planned_t']:,.0f} t driven in "
        f"{known['trips']:,} trips on {known['tours']:,} truck-days.",
        f"Truck hours: {known['driven_hours']:,.0f} driven, "
        f"{known['planned_hours']:,.0f} planned.",
        f"Cost of haulage: {unit.said(known['driven_money'])} driven, "
        f"{unit.text(known['planned_money'])} planned (hire included).",
        f"Kilometres: {known['driven_km']:,.0f} driven ({known['empty_km']:,.0f} "
        f"empty), {known['planned_km']:,.0f} planned.",
    ]
    said += _fleet_words(result, driven)
    for row in by_freight(result, driven).to_dict("records"):
        said.append(
            f"  {materials.get(row['material'], row['material'])}: "
            f"{row['driven_per_t']:,.2f} {money}/t driven, "
            f"{row['planned_per_t']:,.2f} planned"
        )
    left = driven.left.groupby("reason")["tonnes"].agg(["sum", "size"])
    for reason, tonnes, count in zip(
        left.index, left["sum"], left["size"], strict=True
    ):
        said.append(f"Not driven: {tonnes:,.2f} t in {count} visits: {reason}.")
    if driven.timed_out:
        said.append("The time limit ended a search: another run may give other rounds.")
    return said


def _fleet_words(result: Result, driven: Driven) -> list[str]:
    """Say of every truck type how many were out at most, and how well used."""
    from logistics.rounds import fleet_driven
    from logistics.scenario import in_list
    from maps.shared import names

    table, label = fleet_driven(result, driven), names(result, "truck")
    owned = dict(
        zip(*(result.scenario.trucks[c] for c in ("truck", "owned")), strict=True)
    )
    found = []
    for code in dict.fromkeys(table["truck"]):
        words = []
        here = table[(table["truck"] == code) & (table["yard"] == "")]
        for row in here.sort_values("whose", ascending=False).to_dict("records"):
            if row["whose"] == "owned":
                words.append(f"{row['most']} of {owned[code]:g} own out at most")
                words.append(f"{row['use'] * 100:.0f} % of their time used")
            else:
                words.append(f"{row['most']} hired at most")
        found.append(f"  {label.get(code, code)}: {in_list(words)}")
    return found
