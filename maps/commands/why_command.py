"""The command `why`: why a yard stands or not, a source is left, a market short."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING, Annotated

import typer

from maps.commands.choices import Exit
from maps.commands.endings import fail
from maps.commands.jobs import PlanningJob, one_of, own_fleet, planning

if TYPE_CHECKING:
    from logistics.scenario import Scenario
    from logistics.studies import Kind


def kind_of(scenario: Scenario, name: str | None) -> tuple[Kind, str | None]:
    """
    Find what a name is: a site for a yard, a source or a market; and its code.

    Without a name it is about yards.
    """
    if name is None:
        return "yard", None
    tables: dict[Kind, list[str]] = {
        "yard": scenario.yards["yard"].tolist(),
        "source": scenario.sources["source"].tolist(),
        "market": scenario.markets["market"].tolist(),
    }
    found = [(kind, name) for kind, codes in tables.items() if name in codes]
    if ":" in name:
        head, _, code = name.partition(":")
        found = [
            (kind, code)
            for kind, codes in tables.items()
            if kind == head and code in codes
        ]
    if len(found) == 1:
        return found[0]
    from logistics.scenario import in_list

    if found:
        ways = in_list(f"{kind}:{code}" for kind, code in found)
        message = f"{name!r} is several places. Write one of {ways}."
        raise fail(message, Exit.USAGE)
    near = get_close_matches(name, [c for codes in tables.values() for c in codes], 3)
    message = f"There is no yard, source or market {name!r}."
    message += f" Did you mean {' or '.join(near)}?" if near else ""
    raise fail(message, Exit.USAGE)


@planning()
def why(
    job: PlanningJob,
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="NAME",
            help=(
                "Code of a site, a source or a market; where it is several, write "
                "yard:CODE, source:CODE or market:CODE. Without it all sites that have "
                "no yard."
            ),
        ),
    ] = None,
    size: Annotated[
        str | None, typer.Option("--size", help="Ask about a yard of this size.")
    ] = None,
    period: Annotated[
        list[str] | None,
        typer.Option(
            "--period",
            help="Ask about a source or market in this period alone; may be repeated.",
            show_default="all",
        ),
    ] = None,
    up_to: Annotated[
        int,
        typer.Option(
            "--up-to",
            min=0,
            max=100,
            help=(
                "How far the price of compost and tonnes nearby are changed [%]; 0 "
                "leaves out all that plans anew to find what would turn the plan."
            ),
        ),
    ] = 10,
) -> None:
    """Say why a site has a yard or none, a source is left or a market goes short."""
    for each in period or []:
        one_of("period", each, job.scenario.periods["period"].tolist())
    kind, code = kind_of(job.scenario, name)
    one_of("size", size, job.scenario.yard_sizes["size"].tolist())
    if size is not None and (code is None or kind != "yard"):
        message = "Name the yard that --size is asked about."
        raise fail(message, Exit.USAGE)
    if period and kind == "yard":
        message = "Name the source or market that --period is asked about."
        raise fail(message, Exit.USAGE)
    if job.scenario.settings.goal.minimise != "cost":
        message = "why compares costs: set goal.minimise to cost."
        raise fail(message, Exit.USAGE)
    from logistics.results import run
    from logistics.scenario import in_list
    from logistics.studies import (
        BASE_GAP,
        SERVED_GAP,
        SiteAnswer,
        ground_of,
        sites_to_ask,
        why_place,
        why_site,
    )
    from maps.commands.progress_line import progress
    from maps.shared import whole_set
    from maps.studies import show_why, write_why

    scenario = own_fleet(job.scenario)
    with progress(scenario, steps=2, solves=2) as report:
        base = run(
            scenario,
            progress=lambda state: report.of("Base", state),
            begun=job.begun if scenario is job.scenario else None,
        )
        job.see_that_it_meets(base, without="plan to ask about")
        gap = BASE_GAP if kind == "yard" else SERVED_GAP
        ground = ground_of(base, report.of, gap)
        asked = [code] if code is not None else sites_to_ask(ground)
        report.left.steps = 1 + len(asked)

        def answer(one: str) -> SiteAnswer:
            if kind == "yard":
                return why_site(ground, one, size or "", up_to / 100, report.of)
            months = tuple(period or ())
            return why_place(ground, kind, one, months, up_to / 100, report.of)

        found = [answer(one) for one in asked]
    if not found:
        message = "The plan uses every site at which a yard may stand."
        raise fail(message, Exit.USAGE)
    with whole_set(job.out, "why") as folder:
        written = write_why(found, folder)
    show_why(found)
    typer.echo(f"Written to {job.out}: {in_list(written)}.")
