"""The way there as a section of a report: that of the last year's plan."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING

from markupsafe import Markup

from maps.report import Section, Words
from maps.years.way_charts import capital_chart, timeline, tonnes_chart, trucks_chart
from maps.years.way_facts import way_facts
from maps.years.way_words import short_lines, summary_lines

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.years import WayAhead

LAST = "last_year"
"""Folder of the outputs of the last year's plan."""

ABOUT = (
    "This report is on the plan of {last}, the last of the years that were planned "
    "together. Its yards are those that stand by then, so nothing is proven of that "
    "year on its own, and its capital is counted as if all of it were bought at once. "
    "Which yard opens when, and what each year must find, is told here."
)
WHERE = (
    "The figures of this section stand in way.xlsx, a column a year with formulas; "
    "way.html has the map of each year."
)


def plan_of_last_year(way: WayAhead) -> Result:
    """Return the plan of the last year; that its yards were given proves nothing."""
    result = way.results[-1]
    bare = {"bound": None, "gap": None, "gap_money": None}
    bare |= {key: None for key in result.summary if key.startswith("any_")}
    return replace(
        result,
        plan=replace(result.plan, bound=-inf, gap=inf, any_bound=None),
        summary={**result.summary, **bare},
    )


def way_section(way: WayAhead) -> Section:
    """Write the section: in words, then yards, money, trucks and tonnes by year."""
    known = way_facts(way)
    lines = short_lines(known)
    return Section(
        "way",
        "The way there",
        [
            Words([ABOUT.format(last=way.years[-1]), *summary_lines(known)]),
            timeline(known),
            capital_chart(known),
            *([Words(lines, marks="-")] if lines else []),
            trucks_chart(known),
            tonnes_chart(known),
            Words([Markup(WHERE)]),
        ],
    )
