"""The years ahead as a study of the desk: which yard opens when, and the way there."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from maps.desk.asked import StudyStopError
from maps.desk.board import frame_sheet, keep_sheets
from maps.desk.book import OUTPUTS, STOP

if TYPE_CHECKING:
    from logistics.changes import ChangeSet
    from logistics.model import Progress
    from logistics.scenario import Scenario
    from logistics.years import CapitalShortError
    from maps.desk.study_job import StudyJob
    from maps.desk.telling import Report

STOPPED = "Stopped while the plans of the years were being made; nothing was kept."
TOO_SHORT = "The time did not suffice for any choice of yards."
CHOSEN = "The yards were chosen in the time until you stopped: others may be better."
UNMET = "In some years the demands cannot all be met; the page says in which."


def years_gone(job: StudyJob, scenario: Scenario) -> str:
    """
    Plan the years of the table years, and return what has to be said of the way.

    Parameters
    ----------
    job, scenario
        The order, with the changes that the years speak of; own trucks decided.
    """
    from logistics.years import CHOICE, CapitalShortError, plan_years, years_ahead
    from maps.outputs import write_years
    from maps.shared import read_back

    ahead = years_ahead(scenario, _changes_by_name(job))
    watch = _Watch(job, len(ahead) + 2)
    try:
        way = plan_years(
            scenario,
            ahead,
            seconds=CHOICE * scenario.settings.solve.seconds,
            watch=watch.tell,
            stopped=watch.stop_once,
        )
    except CapitalShortError as short:
        raise StudyStopError(_short_words(short, scenario)) from None
    if way is None:
        raise StudyStopError(TOO_SHORT)
    if job.stopped:  # a plan that is broken off may look as if demands were not met
        raise StudyStopError(STOPPED)
    job.told("phase", words="writing the way, its report and tables")
    write_years(way, job.folder / OUTPUTS)
    steps = read_back(job.folder / OUTPUTS / "way" / "steps.csv")
    sheet = frame_sheet("Which yard when", steps.astype({"year": "str"}))
    keep_sheets([sheet], job.folder)
    notes = [CHOSEN if watch.obeyed else "", UNMET if way.status == "shortage" else ""]
    return " ".join(filter(None, notes))


def _changes_by_name(job: StudyJob) -> dict[str, ChangeSet]:
    """Read the changes of an order, by the names that the table years has for them."""
    from logistics.changes import read_change_text

    listed = job.order.get("changes")
    found = {}
    for one in listed if isinstance(listed, list) else []:
        if isinstance(one, Mapping):
            code = str(one.get("code", ""))
            found[code] = read_change_text(
                str(one.get("text", "")), f"change {code}", code
            )
    return found


def _short_words(short: CapitalShortError, scenario: Scenario) -> str:
    """Say in which years the capital does not even keep what stands."""
    from logistics.scenario import in_list

    currency = scenario.settings.currency
    told = [f"{more:,.0f} {currency} in {year}" for year, more in short.by_year.items()]
    return (
        "What stands today cannot be kept, replaced or cleared from the capital of the "
        f"table years. More is needed: {in_list(told)}."
    )


class _Watch:
    """Tells how far the years are, and passes the planner's wish to stop on, once."""

    def __init__(self, job: StudyJob, whole: int) -> None:
        self.obeyed = False
        self._job, self._whole, self._steps = job, whole, 0
        self._seen, self._report = "", None

    _report: Report | None

    def tell(self, title: str, state: Progress) -> None:
        if title != self._seen or self._report is None:
            words = title if title.isdigit() else "Yards for all years"
            self._job.step(min(self._steps, self._whole - 1), self._whole, words)
            self._seen, self._report = title, self._job.report(words)
            self._steps += 1
        self._report(state)

    def stop_once(self) -> bool:
        """
        Say whether to end the choice of yards with the best so far.

        The wish is taken back: the plans of the years that follow are wanted whole.
        """
        if self._job.stopped:
            self.obeyed = True
            (self._job.folder / STOP).unlink(missing_ok=True)
        return self.obeyed
