"""Seasons of a place's own, from amounts by month or from months that were ticked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from logistics.bringing.drafting import BroughtRow
from logistics.bringing.standing import Surroundings
from logistics.scenario import (
    MONTH_DAYS,
    Problem,
    choose_from,
    clear_number,
    keys_of,
    plain_number,
)

ORIGIN = "note_origin"
"""Column that says where a row came from; headings of notes are left alone by all."""
Cells = dict[str, str]
MONTHS = tuple(f"m{month:02}" for month in range(1, 13))


def months_to_seasons(
    rows: Sequence[BroughtRow],
    standing: Surroundings,
    tables: dict[str, list[Cells]],
    faults: list[Problem],
    said: list[str],
) -> None:
    """
    Give rows with months the season of their own, and its rows to the calendar.

    Parameters
    ----------
    rows
        With codes already; amount and season are put into them.
    standing
        The scenario, for its periods.
    tables, faults, said
        Added to.
    """
    for row in rows:
        shares: Mapping[str, float] = {}
        if row.months:
            shares = _of_amounts(row, standing, faults)
        elif row.ticked and not row.cells.get("season"):
            shares = _of_ticks(row, standing, faults)
        if shares:
            season = f"s_{row.cells[keys_of(row.table)[0]]}"[:40]
            row.cells["season"] = season
            tables.setdefault("calendar", []).extend(
                {"season": season, "period": period, "share_pct": plain_number(share),
                 ORIGIN: row.origins[0]}
                for period, share in shares.items()
            )  # fmt: skip
    blank = sum(12 - len(row.months) for row in rows if row.months)
    if blank:
        said.append(f"{blank} blank months count as none")


def _of_amounts(
    row: BroughtRow, standing: Surroundings, faults: list[Problem]
) -> Mapping[str, float]:
    """Return the shares of amounts by month; their sum is the amount of the year."""
    if set(standing.codes("periods")) != set(MONTHS):
        why = "gives amounts by month, and the periods of the scenario are no months"
        remedy = "Give the amount of the year and a season"
        faults.append(Problem(*row.where, "", None, why, remedy))
        return {}
    whole = sum(row.months.values())
    if whole <= 0 or min(row.months.values()) < 0:
        why, remedy = "has no amount in any month", "Write it, or leave the row out"
        faults.append(Problem(*row.where, "", None, why, remedy))
        return {}
    row.cells |= {"amount": plain_number(float(f"{whole:.12g}")), "basis": "tonnes"}
    amounts = [row.months.get(month, 0.0) for month in range(1, 13)]
    return _in_percent(dict(zip(MONTHS, amounts, strict=True)))


def _of_ticks(
    row: BroughtRow, standing: Surroundings, faults: list[Problem]
) -> Mapping[str, float]:
    """Return shares that are even over the days of the periods that were ticked."""
    days = dict(zip(MONTHS, map(float, MONTH_DAYS), strict=True))
    own = {line["period"]: clear_number(line.get("days", ""))
           for line in standing.rows["periods"] if line.get("period")}  # fmt: skip
    days = own or days
    for period in row.ticked:
        if period not in days:
            why, remedy = "is not in periods", choose_from(period, days)
            faults.append(Problem(*row.where, "ticked_months", period, why, remedy))
            return {}
    return _in_percent({p: days[p] * (p in row.ticked) for p in days})


def _in_percent(amounts: Mapping[str, float]) -> Mapping[str, float]:
    """Return shares of a year that add up to 100. [%]"""
    whole = sum(amounts.values())
    shares = {p: round(100 * amount / whole, 6) for p, amount in amounts.items()}
    top = max(shares, key=lambda p: shares[p])
    shares[top] = round(100 - sum(v for p, v in shares.items() if p != top), 6)
    return shares
