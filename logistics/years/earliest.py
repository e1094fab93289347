"""The earliest year from which the demands of the board can be met, with proof."""

from __future__ import annotations

from dataclasses import dataclass

from logistics.model import Effort, Plan, Session
from logistics.years.cutting import choose
from logistics.years.years_ready import YearsReady, kinds_of, relieved

MET = 1e-6
"""By how much demands may be missed that are met, in parts of them, a year. [1]"""

EITHER = 0.5
"""Gap that tells something from nothing: a bound of half of it is above 0. [1]"""


@dataclass(frozen=True)
class EarliestYear:
    """
    When demands can be met from.

    Attributes
    ----------
    place
        Place of the year; None where they cannot be met in the last one either.
    proven
        Whether it is proven that no year before it would do.
    """

    place: int | None
    proven: bool


def earliest_year(ready: YearsReady, plan: Plan, seconds: float) -> EarliestYear:
    """
    Find the first year from which the board's shares can be collected.

    What holds from a year on holds from the next one on, so years are halved. Limits
    on the running costs must be kept in all years. Own trucks count in parts.

    Parameters
    ----------
    ready, plan
        The years, and the plan of the last one.
    seconds
        Time it may take; what is not decided by then counts as impossible, unproven.
    """
    years = len(ready.ahead)
    share = seconds / max(1, years.bit_length() + 1)
    if (found := _can(ready, plan, years - 1, share)) is not True:
        return EarliestYear(None, proven=found is False)
    low, high, proven = 0, years - 1, True
    while low < high:
        middle = (low + high) // 2
        can = _can(ready, plan, middle, share)
        proven = proven and can is not None
        low, high = (low, middle) if can else (middle + 1, high)
    return EarliestYear(high, proven)


def _can(ready: YearsReady, plan: Plan, first: int, seconds: float) -> bool | None:
    """Say whether demands can be met from a year on; None if that is not known."""
    asked = relieved(ready, first)
    threads = int(ready.ahead[0].scenario.settings.solve.threads)
    session = Session(Effort(seconds=seconds, threads=threads))
    kinds = kinds_of(asked, plan, session, only_short=True)
    free = asked.stage.unpriced()
    found = choose(free, kinds, {}, None, session, gap=EITHER)
    if found is None:
        return None
    if found.value <= MET:
        return True
    return False if found.bound > MET else None
