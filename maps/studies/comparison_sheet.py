"""Plans side by side on paper -> compare_sheet.html: maps in a row, one table below."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from markupsafe import Markup

from logistics.studies import yard_changes
from maps.report import Look, bdi, district_map, intake_by_yard, map_key, plain
from maps.shared import ALL_ESTIMATED, STATIC, count, render
from maps.studies.comparison_lines import PlanColumn, columns, table
from maps.studies.site_costs import site_page

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.studies import Outcome

A_PAGE = 3
"""Changes beside the base on one page."""
MAP_PX, MAP_HIGH_PX = 330, 245
"""Width of a map, and most of its height; its type then prints at some 6 points."""


def maps(plans: Sequence[PlanColumn], page: int, top: float) -> list[Markup]:
    """Draw the plans in a row: discs to one scale, yards opened and closed marked."""
    base, drawn = plans[0].result, []
    for place, plan in enumerate(plans):
        opened, closed, _ = yard_changes(base.plan, plan.result.plan)
        marks = {**dict.fromkeys(opened, "opened"), **dict.fromkeys(closed, "closed")}
        drawn.append(
            district_map(
                plan.known,
                f"map-{page}-{place}",
                f"Map of the yards: {plan.title}",
                f"{count(len(plan.result.plan.yards), 'yard')} in use.",
                Look(MAP_PX, MAP_HIGH_PX, top, marks),
            )
        )
    return drawn


def sheet_html(
    base: Result, outcomes: Sequence[Outcome], sites: Sequence[Outcome] | None = None
) -> str:
    """
    Make the sheets; the same plans give the same text.

    Parameters
    ----------
    base, outcomes
        The base plan, and the changes set beside it, up to three on a page.
    sites
        Changes of `each_site`: bars and a table of them make the first page.
    """
    first, *rest = columns(base, outcomes)
    every = [*outcomes, *(sites or ())]
    shown = site_page(base, every) if sites is not None else None
    top = max(
        [1e-9]
        + [float(intake_by_yard(p.known).sum(axis=1).max() or 0)
           for p in (first, *rest) if len(p.result.plan.yards)]
    )  # fmt: skip
    pages = []
    for start in range(0, len(rest) if shown else max(len(rest), 1), A_PAGE):
        plans = [first, *rest[start : start + A_PAGE]]
        drawn = maps(plans, start, top)
        heads = [(bdi(p.title), p.story) for p in plans]
        pages.append({"heads": heads, "maps": drawn, "lines": table(plans)})
    return render(
        "compare_sheet.html.j2",
        more_style=(STATIC / "compare_sheet.css").read_text(encoding="utf-8"),
        name=plain(base.scenario.settings.name),
        estimated=ALL_ESTIMATED,
        sites=shown,
        pages=pages,
        key=map_key(first.known),
        marked=any(any(yard_changes(base.plan, o.replan.plan)[:2]) for o in outcomes),
    )


def write_sheet(
    base: Result,
    outcomes: Sequence[Outcome],
    path: Path,
    sites: Sequence[Outcome] | None = None,
) -> None:
    """Write compare_sheet.html at `path`."""
    path.write_text(sheet_html(base, outcomes, sites), encoding="utf-8", newline="\n")
