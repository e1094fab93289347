"""
Result -> report.html: what a board reads, on screen or printed on A4.

One file without scripts that loads nothing; a content security policy allows its own
style and nothing else. The sections are made in the modules `report…`; the template
only sets them.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from maps.report.origins import counted, linked, quoted
from maps.report.pieces import Section, plain
from maps.report.plan_facts import Facts, facts
from maps.report.sections import basis as reportbasis
from maps.report.sections import climate as reportclimate
from maps.report.sections import compost as reportcompost
from maps.report.sections import farms as reportfarms
from maps.report.sections import fleet as reportfleet
from maps.report.sections import flows as reportflows
from maps.report.sections import limits as reportlimits
from maps.report.sections import lineage as reportlineage
from maps.report.sections import money as reportmoney
from maps.report.sections import nutrients as reportnutrients
from maps.report.sections import people as reportpeople
from maps.report.sections import run as reportrun
from maps.report.sections import shares as reportshares
from maps.report.sections import spending as reportspend
from maps.report.sections import yards as reportyards
from maps.report.sections.summary import summary
from maps.shared import render, shortage_sentences

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.studies import Sharing

MOST_SHORTAGES = 14


def sections(known: Facts, sharing: Sharing | None = None) -> list[Section]:
    """Write every section after the first page, in order."""
    return [
        reportyards.section(known),
        reportflows.section(known),
        reportfleet.section(known),
        reportcompost.section(known),
        reportmoney.section(known),
        reportspend.section(known),
        reportshares.section(known, sharing),
        reportnutrients.section(known),
        reportfarms.section(known),
        reportclimate.section(known),
        reportpeople.section(known),
        reportlimits.section(known),
        reportbasis.section(known),
        reportrun.section(known),
        reportlineage.section(known),
    ]


def shortages(known: Facts) -> list[str]:
    """Say what cannot be met, one sentence a demand; the rest is counted."""
    if known.result.plan.shortages.empty:
        return []
    found = [
        quoted("shortages", plain(text)) for text in shortage_sentences(known.result)
    ]
    rest = len(found) - MOST_SHORTAGES
    if rest > 0:
        found[MOST_SHORTAGES:] = [
            f"And {counted('shortages', f'{rest:,} more')} in plan.xlsx, sheet "
            "shortages."
        ]
    return found


def report_html(
    result: Result, sharing: Sharing | None = None, before: Sequence[Section] = ()
) -> str:
    """
    Make the report's HTML.

    Parameters
    ----------
    result
        A planned scenario.
    sharing
        Who pays what, if the groups of districts were planned.
    before
        Sections that stand between the first page and the others.

    Returns
    -------
    str
        One page; the same result gives the same text.
    """
    known = facts(result)
    made = [*before, *sections(known, sharing)]
    numbers = {section.code: place for place, section in enumerate(made, start=2)}
    page = render(
        "report.html.j2",
        settings=result.scenario.settings,
        name=plain(result.scenario.settings.name),
        story=plain(result.scenario.settings.story),
        shortages=shortages(known),
        summary=summary(known, numbers),
        sections=made,
        numbers=numbers,
    )
    return linked(page, known.lineage)


def write_report(
    result: Result,
    path: Path,
    sharing: Sharing | None = None,
    before: Sequence[Section] = (),
) -> None:
    """Write report.html at `path`; see `report_html`."""
    text = report_html(result, sharing, before)
    path.write_text(text, encoding="utf-8", newline="\n")
