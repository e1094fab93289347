"""The command `robust`: yards chosen once for many futures."""

from __future__ import annotations

from math import inf, nan
from typing import Annotated

import typer

from maps.commands.choices import Exit
from maps.commands.endings import ended, fail
from maps.commands.jobs import PlanningJob, own_fleet, planning
from maps.commands.options import a_number
from maps.commands.years_planned import first_year_for_all

Weighted = Annotated[
    list[str] | None,
    typer.Option(
        "--change",
        help="A file in DIR/changes, or name:argument=value,...; add @2 for "
        "twice the weight; may be repeated.",
    ),
]


@planning(changes=False)
def robust(
    job: PlanningJob,
    change: Weighted = None,
    base: Annotated[
        float,
        typer.Option(
            "--base",
            min=0,
            max=1_000_000,
            callback=a_number,
            help="Weight of no change.",
        ),
    ] = 1.0,
    risk: Annotated[
        float,
        typer.Option(
            "--risk",
            min=0,
            max=1_000_000,
            callback=a_number,
            help="Extra weight of the worst futures (CVaR).",
        ),
    ] = 0.0,
    worst: Annotated[
        float,
        typer.Option(
            "--worst",
            min=1,
            max=99,
            callback=a_number,
            help="Share of futures that count as worst [%].",
        ),
    ] = 20.0,
    minutes: Annotated[
        float,
        typer.Option(
            "--minutes",
            min=0.1,
            max=100_000,
            callback=a_number,
            help="Longest time for the joint choice [min].",
        ),
    ] = 15.0,
    years: Annotated[
        bool,
        typer.Option(
            "--years",
            help="Decide the first year of the table years for all futures, the later "
            "ones once it is known which has come; each holds from the second year on.",
        ),
    ] = False,
) -> None:
    """Choose yards once for many futures; by default DIR/changes and no change."""
    weights, texts = _weighted(change or [])
    wanted = job.find(texts)
    weights = weights or [1.0] * len(wanted)
    from logistics.scenario import in_list
    from logistics.studies import BASE, Chance, Risk
    from logistics.studies import robust as choose
    from maps.commands.progress_line import progress
    from maps.shared import clean, whole_set
    from maps.studies import show_robust, write_robust, yard_names

    chances = [Chance(BASE, base)] if base > 0 else []
    chances += [Chance(c, w) for c, w in zip(wanted, weights, strict=True) if w > 0]
    if not chances:
        message = "No future has any weight. Give --change or --base."
        raise fail(message, Exit.USAGE)
    scenario = own_fleet(job.scenario)
    if years:
        if risk:
            message = "--years takes no --risk."
            raise fail(message, Exit.USAGE)
        first_year_for_all(job, scenario, chances, 60 * minutes)
    changed = sum(bool(chance.change.steps) for chance in chances)
    with progress(scenario, steps=changed + 2, last=60 * minutes) as report:
        found = choose(
            scenario,
            chances,
            Risk(risk, 1 - worst / 100),
            seconds=60 * minutes,
            watch=report.of,
        )
    if found is None:
        message = "Nothing was written: no set of yards works in every future, or the "
        message += f"demands are met in none. See: loamhaul plan {job.folder}"
        raise fail(message, Exit.SHORTAGE)
    job.see_that_it_composts([one for one in found.alone if one.plan.yard_sizes])
    settings, named = scenario.settings, yard_names(scenario)
    with whole_set(job.out, "robust") as folder:
        write_robust(found, settings.name, settings.currency, named, folder)
    show_robust(found, settings.currency, named)
    typer.echo(f"Written to {job.out}: robust.xlsx, robust.csv.")
    if short := [one.title for one in found.unmet]:
        typer.echo(clean(f"No yards meet the demands in {in_list(short)}."))
        raise typer.Exit(Exit.SHORTAGE)
    raise ended(proven=found.decision.gap <= settings.solve.gap + 1e-9)


def _weighted(texts: list[str]) -> tuple[list[float], list[str]]:
    """Take weights off the ends of changes: `mill_closes@2`."""
    weights, plain = [], []
    for text in texts:
        name, at, weight = text.rpartition("@")
        try:
            heavy = float(weight) if at else 1.0
        except ValueError:
            heavy = nan
        if not 0 < heavy < inf:
            what = f"{text}: {weight!r} after @ is not a weight."
            message = f"{what} Write a number above 0."
            raise fail(message, Exit.USAGE)
        weights.append(heavy)
        plain.append(name if at else text)
    return weights, plain
