"""Studies that ask about the plan itself: why this place, and what else would do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from maps.desk.asked import StudyStopError, standing
from maps.desk.book import OUTPUTS

if TYPE_CHECKING:
    from logistics.model import Progress
    from logistics.scenario import Scenario
    from logistics.studies import Kind
    from maps.desk.study_job import StudyJob
    from maps.desk.telling import Report

SHORT = "The demands of the board cannot be met. Make a plan first: it says which."
GONE = "This place is no longer in the tables."


def why_asked(job: StudyJob, scenario: Scenario) -> str:
    """
    Say why a yard stands at a place or none does, or why it is not served whole.

    Parameters
    ----------
    job, scenario
        The order, its `site` as "yard:code"; tables with own trucks decided.
    """
    from logistics.results import run
    from logistics.scenario import with_settings
    from logistics.studies import (
        BASE_GAP,
        SERVED_GAP,
        UP_TO,
        ground_of,
        meets,
        why_place,
        why_site,
    )
    from maps.shared import whole_set
    from maps.studies import write_why

    kind, code = place_of(scenario, str(job.order.get("site")))
    period = str(job.order.get("period") or "")
    months = (period,) if period in set(scenario.periods["period"]) else ()
    scenario = with_settings(scenario, {"goal.minimise": "cost"})
    job.step(0, 2, "The plan as it is")
    old = standing(scenario, job.order.get("start")) or None
    base = run(scenario, job.report("The plan as it is"), start=old)
    if not meets(base):
        raise StudyStopError(SHORT)

    def watch(title: str, state: Progress) -> None:
        if title not in reports:
            job.step(1, 2, title)
            reports[title] = job.report(title)
        reports[title](state)

    reports: dict[str, Report] = {}
    ground = ground_of(base, watch, BASE_GAP if kind == "yard" else SERVED_GAP)
    job.step(1, 2, "The other decision")
    if kind == "yard":
        found = why_site(ground, code, "", UP_TO, watch)
    else:
        found = why_place(ground, kind, code, months, UP_TO, watch)
    job.told("phase", words="writing the page")
    with whole_set(job.folder / OUTPUTS, "why") as folder:
        write_why([found], folder)
    return ""


def place_of(scenario: Scenario, site: str) -> tuple[Kind, str]:
    """
    Read what is asked about, as "yard:code".

    Raises
    ------
    StudyStopError
        If the tables do not have it.
    """
    kind, _, code = site.partition(":")
    tables: dict[Kind, list[str]] = {
        "yard": scenario.yards["yard"].tolist(),
        "source": scenario.sources["source"].tolist(),
        "market": scenario.markets["market"].tolist(),
    }
    for known, codes in tables.items():
        if kind == known and code in codes:
            return known, code
    raise StudyStopError(GONE)


def nearby_found(job: StudyJob, scenario: Scenario) -> str:
    """Find plans that cost little more and build at other sites."""
    from logistics.scenario import with_settings
    from logistics.studies import plans_nearby
    from maps.shared import whole_set
    from maps.studies import write_nearby, yard_names

    scenario = with_settings(scenario, {"goal.minimise": "cost"})
    share = job.number("within", 3.0, 0.1, 50.0) / 100
    report, begun = job.report(), 0

    def begin(number: int) -> None:
        nonlocal begun
        begun = max(begun, number + 1)
        job.step(number, max(2, begun), "Plans nearly as good")

    found = plans_nearby(scenario, share=share, watch=report, begin=begin)
    if found is None:
        raise StudyStopError(SHORT)
    with whole_set(job.folder / OUTPUTS, "alternatives") as folder:
        write_nearby(found, scenario, yard_names(scenario), folder)
    return ""
