"""The command `plan --years`: which yard opens, grows and closes in which year."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from maps.commands.choices import Exit
from maps.commands.endings import ended, fail
from maps.commands.jobs import PlanningJob, own_fleet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from logistics.scenario import Scenario
    from logistics.studies import Chance
    from logistics.years import CapitalShortError, WayAhead

NO_CHOICE = "Nothing was written: the time did not suffice for any choice."


def plan_the_years(
    job: PlanningJob, scenario: Scenario, *, earliest: bool = False
) -> None:
    """Plan the years ahead, write the way there, and say how it ends."""
    from logistics.changes import changes_of_years
    from logistics.years import (
        CHOICE,
        CapitalShortError,
        plan_years,
        years_ahead,
    )
    from maps.commands.progress_line import progress
    from maps.outputs import write_years

    scenario = own_fleet(scenario)
    ahead = years_ahead(scenario, changes_of_years(scenario, job.folder))
    if earliest and not any(len(one.scenario.policy) for one in ahead):
        message = "--earliest needs something to be met: a row least_share in the "
        message += "table policy, such as 60 % of the fish."
        raise fail(message, Exit.USAGE)
    seconds = CHOICE * scenario.settings.solve.seconds
    try:
        with progress(scenario, steps=len(ahead) + 2, last=seconds) as report:
            way = plan_years(
                scenario, ahead, seconds=seconds, watch=report.of, earliest=earliest
            )
    except CapitalShortError as short:
        raise _too_short(short, scenario) from None
    if way is None:
        raise fail(NO_CHOICE, Exit.STOPPED)
    write_years(way, job.out)
    for line in _words(way):
        typer.echo(line)
    typer.echo(
        f"Written to {job.out}: open way.html, way.xlsx or last_year/report.html."
    )
    if way.status == "shortage":
        raise typer.Exit(Exit.SHORTAGE)
    raise ended(proven=way.gap_of_yards <= scenario.settings.solve.gap + 1e-9)


def first_year_for_all(
    job: PlanningJob, scenario: Scenario, chances: Sequence[Chance], seconds: float
) -> None:
    """Decide the first year for many futures, write it, and say how it ends."""
    from logistics.changes import changes_of_years
    from logistics.years import CapitalShortError, years_for_futures
    from maps.commands.progress_line import progress
    from maps.shared import whole_set
    from maps.years import futures_lines, write_futures

    changes = changes_of_years(scenario, job.folder)
    try:
        with progress(scenario, steps=len(chances) + 2, last=seconds) as report:
            found = years_for_futures(
                scenario, changes, chances, seconds=seconds, watch=report.of
            )
    except CapitalShortError as short:
        raise _too_short(short, scenario) from None
    if found is None:
        raise fail(NO_CHOICE, Exit.STOPPED)
    with whole_set(job.out, "robust") as folder:
        write_futures(found, folder)
    for line in futures_lines(found):
        typer.echo(line)
    typer.echo(f"Written to {job.out}: robust.xlsx, robust.csv.")
    raise ended(proven=found.gap <= scenario.settings.solve.gap + 1e-9)


def _too_short(short: CapitalShortError, scenario: Scenario) -> typer.Exit:
    """Say in which years the capital does not even keep what stands."""
    from maps.shared import clean

    currency = scenario.settings.currency
    message = "Nothing was written: what stands today cannot be kept, replaced or "
    message += "cleared from the capital of the table years.\n"
    message += "\n".join(
        clean(f"{year}: {more:,.0f} {currency} more are needed.")
        for year, more in short.by_year.items()
    )
    return fail(message, Exit.SHORTAGE)


def _words(way: WayAhead) -> list[str]:
    """Say in a few lines what happens when, and how good it is."""
    from maps.shared import clean
    from maps.studies import yard_names
    from maps.years import GOALS, earliest_words, goal_said

    names, currency = yard_names(way.scenario), way.scenario.settings.currency
    lines = []
    for year in way.years:
        steps = way.steps[way.steps["year"] == year]
        told = [
            f"{names.get(yard, yard)} {step}"
            + (f" ({size})" if step in ("opens", "enlarged") else "")
            for yard, step, size in zip(
                steps["yard"], steps["step"], steps["size"], strict=True
            )
        ]
        lines.append(
            clean(f"{year}: " + ("; ".join(told) if told else "as before") + ".")
        )
    cost = f"Net present cost {way.present_cost:,.0f} {currency}"
    if way.goal in GOALS:
        cost = f"The way {goal_said(way, way.value)} in all. {cost}"
    proof = (
        f"the choice of yards is proven within {100 * way.gap_of_yards:.2f} % with own "
        f"trucks counted in parts, within {100 * way.gap:.2f} % with whole ones"
        if way.gap < 1
        else "how near the best is not proven"
    )
    short = [
        clean(f"{year}: {words}")
        for year, result in zip(way.years, way.results, strict=True)
        for words in result.plan.shortages["words"].drop_duplicates()
    ]
    when = earliest_words(way)
    return [*lines, *([when] if when else []), *short, clean(f"{cost}; {proof}.")]
