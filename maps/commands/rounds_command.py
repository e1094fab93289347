"""The command `rounds`: a planned month as rounds of trucks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from maps.commands.choices import Exit
from maps.commands.endings import fail
from maps.commands.jobs import PlanningJob, one_of, planning
from maps.commands.options import Workers

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds import Driven, Turn, YardChoice
    from logistics.scenario import Scenario


@planning()
def rounds(
    job: PlanningJob,
    period: Annotated[
        str | None, typer.Option("--period", help="Code of the period, such as m04.")
    ] = None,
    separate: Annotated[
        bool, typer.Option("--separate", help="No compost out and feedstock back.")
    ] = False,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Seed of the search.")] = 1,
    workers: Workers = None,
    again: Annotated[
        int,
        typer.Option(
            "--feedback",
            min=0,
            help="Plan again at most so often with what driving all months takes.",
        ),
    ] = 0,
    iterations: Annotated[
        int | None,
        typer.Option(
            "--iterations",
            min=10,
            help="Steps of every search.",
            show_default="rounds.iterations",
        ),
    ] = None,
    choose: Annotated[
        bool,
        typer.Option(
            "--choose-yards", help="Which yards would rounds of what spoils choose?"
        ),
    ] = False,
) -> None:
    """Turn a planned month into rounds that drive: run sheets, times, costs."""
    known = [str(code) for code in job.scenario.periods["period"]]
    one_of("period", period, known)
    chosen = known[0] if period is None else period
    from logistics.results import run
    from logistics.rounds import drive
    from maps.commands.progress_line import progress, rounds_progress
    from maps.field import write_rounds

    how: dict[str, Any] = {
        "pair": not separate, "seed": seed, "workers": workers,
        "iterations": iterations,
    }  # fmt: skip
    turns: list[Turn] = []
    if again:
        turns = settled(job.scenario, again, how)
        result, driven = of_cheapest(turns, chosen)
    else:
        with progress() as report:
            result = run(job.scenario, progress=report)
        with rounds_progress() as counted:
            driven = drive(result, chosen, progress=counted, **how)
    if driven.faults:
        message = "The rounds broke rules and were not written:\n"
        raise fail(message + "\n".join(driven.faults), Exit.STOPPED)
    choice, said = yards_chosen(result, chosen, seed) if choose else (None, [])
    written = write_rounds(result, driven, job.out, turns, choice)
    for line in [*lines(result, driven), *said]:
        typer.echo(line)
    typer.echo(
        f"Written to {written}: rounds.xlsx, rounds_map.html, run_sheets_day_*.html, "
        f"{'yard_choice.csv, ' if choice else ''}yard_sheets/, geojson/, gpx/."
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
        with busy("choosing yards by the rounds of what spoils"):
            choice = choose_yards(result, period, seed=seed, seconds=most)
    except NoChoiceError as error:
        return None, [f"Yards were not chosen by rounds: {error}."]
    if choice.faults:
        message = "The choice of yards broke rules; nothing was written:\n"
        raise fail(message + "\n".join(choice.faults), Exit.STOPPED)
    said = choice_words(result, choice)
    if choice.timed_out:
        said.append("The time limit ended that search: it cannot be repeated.")
    return choice, said


def settled(scenario: Scenario, most: int, how: dict[str, Any]) -> list[Turn]:
    """Plan, drive and plan again, saying how each plan drives."""
    from itertools import count

    from logistics.rounds import feedback
    from maps.field import first_words, turn_line, turn_words

    number = count(1)
    for line in first_words(scenario):
        typer.echo(line)

    def say(turn: Turn) -> None:
        typer.echo(turn_line(turn, next(number)))

    turns = feedback(scenario, most=most, report=say, **how)
    for line in turn_words(turns):
        typer.echo(line)
    return turns


def of_cheapest(turns: list[Turn], period: str) -> tuple[Result, Driven]:
    """Take the plan that is cheapest to drive, and a period as it was driven."""
    from logistics.rounds import cheapest

    turn = turns[cheapest(turns)]
    (driven,) = (done for done in turn.driven if done.period == period)
    return turn.result, driven


def lines(result: Result, driven: Driven) -> list[str]:
    """Say in a few lines what is driven, against what was planned."""
    from logistics.rounds import by_freight, summary
    from maps.shared import names

    known = summary(result, driven)
    money = result.scenario.settings.currency
    materials = names(result, "material")
    period = names(result, "period").get(driven.period, driven.period)
    said = [
        f"{period}: {known['driven_t']:,.0f} of {known['planned_t']:,.0f} t driven in "
        f"{known['trips']:,} trips on {known['tours']:,} truck-days.",
        f"Truck hours: {known['driven_hours']:,.0f} driven, "
        f"{known['planned_hours']:,.0f} planned.",
        f"Cost of haulage: {known['driven_money']:,.0f} {money} driven, "
        f"{known['planned_money']:,.0f} planned (hire included).",
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
        said.append("The time limit ended a search: these rounds cannot be repeated.")
    return said


def _fleet_words(result: Result, driven: Driven) -> list[str]:
    """Say of every truck type how many were out at most, and how well used."""
    from logistics.rounds import fleet_driven
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
        found.append(f"  {label.get(code, code)}: {', '.join(words)}")
    return found
