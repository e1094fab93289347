"""Faults of the year: periods, and season profiles that must add up to 100."""

from collections.abc import Sequence

from logistics.scenario.cells import Cells
from logistics.scenario.faults import Problem
from logistics.scenario.lists import in_list
from logistics.scenario.schema import number_text

TOLERANCE = 0.1
YEAR = (360, 366)


def check_periods(periods: Cells) -> list[Problem]:
    """
    Find periods with more working days than days, and years of the wrong length.

    Parameters
    ----------
    periods
        Table of periods.

    Returns
    -------
    list of Problem
        Faults found.
    """
    problems = []
    days = periods.frame["days"].tolist()
    working = periods.frame["working_days"].tolist()
    good = periods.good("days", "working_days")
    for position in good:
        if working[position] > days[position]:
            why = f"is more than the {number_text(days[position])} days of the period"
            remedy = "Write the number of days on which trucks drive"
            value = working[position]
            problems.append(
                periods.problem(position, "working_days", why, remedy, value)
            )
    whole = len(periods.good("days")) == len(periods.rows) and periods.rows
    if whole and not YEAR[0] <= sum(days) <= YEAR[1]:
        why = f"is the sum of all periods, which must be {YEAR[0]} to {YEAR[1]} days"
        remedy = "Make the periods add up to one year"
        problems.append(periods.problem(0, "days", why, remedy, sum(days)))
    return problems


def check_profiles(calendar: Cells, periods: Sequence[str]) -> list[Problem]:
    """
    Find season profiles that miss a period or do not add up to 100.

    Parameters
    ----------
    calendar
        Table of season profiles, share_pct in %.
    periods
        Codes of all periods; empty if they are not known.

    Returns
    -------
    list of Problem
        Faults found; the row is the first of the season.
    """
    seasons = calendar.frame["season"].tolist()
    codes = calendar.frame["period"].tolist()
    shares = calendar.frame["share_pct"].tolist()
    lines: dict[str, list[int]] = {}
    for position in calendar.good("season"):
        lines.setdefault(seasons[position], []).append(position)
    spoilt = {p for p, name in calendar.bad if name in {"share_pct", "period"}}
    problems = []
    for season, positions in lines.items():
        first = positions[0]
        if spoilt & set(positions):
            continue
        present = {codes[p] for p in positions}
        lost = [code for code in periods if code not in present]
        stray = present - set(periods) if periods else set()
        if lost and not stray:
            why = f"has no row for {_some(lost)}"
            remedy = "Add a row for each period; write 0 where there is nothing"
            problems.append(calendar.problem(first, "season", why, remedy, season))
        values = [shares[p] for p in positions]
        twice = len(present) < len(positions)
        if not (stray or twice):
            problems += _wrong_sum(calendar, first, season, values, bool(lost))
    return problems


def _wrong_sum(
    calendar: Cells, first: int, season: str, values: Sequence[float], partial: bool
) -> list[Problem]:
    """Compare the sum of a profile with 100, and with 1 for fractions."""
    total = round(sum(values), 6)
    if abs(total - 100) <= TOLERANCE + 1e-9 or (partial and total < 100):
        return []
    why = f"is the sum of season {season!r}, which must be 100"
    remedy = "Change its shares until they add up to 100"
    if abs(total - 1) <= 0.02:
        one = next(value for value in values if value > 0)
        percent = number_text(round(one * 100, 6))
        remedy = f"Its shares are fractions: write {percent} for {one:.12g}, and so on"
    return [calendar.problem(first, "share_pct", why, remedy, total)]


def _some(codes: Sequence[str]) -> str:
    """List codes, the first five by name."""
    more = f" and {len(codes) - 5} more" if len(codes) > 5 else ""
    return in_list(codes[:5]) + more
