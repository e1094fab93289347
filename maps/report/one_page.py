"""
Result -> explain.html: the plan on one page of A4, in plain words.

Every figure leads to where it comes from, in report.html beside it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from maps.report import doubts_in_words as doubts
from maps.report import plan_in_words as words
from maps.report.origins import linked
from maps.report.pieces import Cell, plain
from maps.report.plan_facts import Facts, facts
from maps.report.small_map import district_map
from maps.shared import own_style, render

if TYPE_CHECKING:
    from logistics.results import Result

REPORT = "report.html"
"""File beside it that says where each figure comes from."""


Sentence = Callable[[Facts], Cell]
"""Blank where there is nothing to say."""
PARTS: tuple[
    tuple[str, tuple[Sentence, ...], Callable[[Facts], list[Cell]] | None], ...
] = (
    (
        "What to build, and why there",
        (
            words.what_to_build,
            words.what_they_take,
            words.why_there,
            words.the_other_sites,
        ),
        None,
    ),
    (
        "What it costs, and who pays",
        (words.what_it_costs, words.capital_first, words.who_pays, words.paid_back),
        None,
    ),
    (
        "What drives the cost",
        (
            words.what_drives_it,
            words.what_compost_covers,
            words.what_a_tonne_costs,
            words.what_is_scarce,
        ),
        None,
    ),
    (
        "What could overturn it",
        (
            doubts.if_compost_sells_for_less,
            doubts.if_the_largest_source_closes,
            doubts.how_near_the_best,
        ),
        None,
    ),
    (
        "What was assumed",
        (
            doubts.the_mix,
            doubts.defaults,
            doubts.haulage_as_driven,
            doubts.money_in_nine_cases_of_ten,
        ),
        None,
    ),
    ("What to find out first", (doubts.how_to_find_out,), doubts.find_out_first),
)
"""Headings, their sentences in order, and what makes the list below them."""


@dataclass(frozen=True)
class Part:
    """A heading, its sentences, and what is listed below them."""

    title: str
    text: list[Cell]
    items: list[Cell]


def plan_parts(facts: Facts) -> list[Part]:
    """Write the parts of the page; those with nothing to say are left out."""
    parts = []
    for title, said, items in PARTS:
        text = [x for x in (sentence(facts) for sentence in said) if x]
        below = items(facts) if items else []
        if text or below:
            parts.append(Part(title, text, below))
    return parts


def explain_html(result: Result) -> str:
    """Make the page; the same result gives the same text."""
    known = facts(result)
    page = render(
        "explain.html.j2",
        more_style=own_style("explain.css"),
        name=plain(result.scenario.settings.name),
        story=plain(result.scenario.settings.story),
        short=result.plan.status == "shortage",
        parts=plan_parts(known),
        map=district_map(known, "map", "Map of the yards in the district", ""),
    )
    return linked(page, known.lineage, REPORT)


def write_explain(result: Result, path: Path) -> None:
    """Write explain.html at `path`."""
    path.write_text(explain_html(result), encoding="utf-8", newline="\n")
