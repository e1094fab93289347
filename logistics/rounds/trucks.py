"""
Which trucks are at which yard on a day.

Own trucks have a home, where the plan bases them (`fleet.homes`). A yard has its own
trucks, hires what its hours call for beyond them, and one more if they just do, so long
as the limit of hire allows. Where nothing can be hired, an own truck that its home can
spare comes over, empty. What stands idle when the rounds are known takes over hired
rounds (`rounds_lend`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil, isfinite
from typing import TYPE_CHECKING, Any

import numpy as np

from logistics.costs import may_carry
from logistics.rounds.records import Base, Way
from logistics.rounds.rows_known import rows_of
from logistics.rounds.visit_records import USABLE, Visit

if TYPE_CHECKING:
    from logistics.results import Result

Row = dict[str, Any]
UNLIMITED = 1000


@dataclass
class Share:
    """
    Trucks of a type at a yard on a day.

    Attributes
    ----------
    own, hired
        Own trucks that are at home there; hired ones.
    lent
        Own trucks of other yards, with their way.
    """

    own: int = 0
    hired: int = 0
    lent: list[Way] = field(default_factory=list)

    @property
    def count(self) -> int:
        """All trucks."""
        return self.own + self.hired + len(self.lent)


def open_hours(place: Row) -> tuple[float, float]:
    """Read opening hours; all day where the table says nothing."""
    return float(place.get("opens_h", 0.0)), float(place.get("closes_h", 24.0))


def way_over(
    result: Result, period: str, code: str, home: str, yard: str, number: int
) -> Way | None:
    """Reckon the empty way of an own truck to another yard; None if too far a day."""
    truck = rows_of(result.scenario, "trucks")[code]
    state = result.travel.pick(code, period)
    there, here = result.travel.index("yard", [home, yard])
    if not (isfinite(state.hours[there, here]) and isfinite(state.hours[here, there])):
        return None
    per_km = (
        truck["fuel_l_per_km_empty"] * result.scenario.settings.finance.fuel_price_per_l
    )
    per_km += truck["repair_cost_per_km"]
    legs = [
        (float(state.km[a, b]), float(state.hours[a, b]),
         float(state.km[a, b] * per_km + state.fare[a, b]))
        for a, b in ((there, here), (here, there))
    ]  # fmt: skip
    if legs[0][1] + legs[1][1] > result.scenario.settings.work.hours_per_day / 2:
        return None
    base = Base(home, *open_hours(rows_of(result.scenario, "yards")[home]))
    return Way(base, number, *legs[0], *legs[1])


def share_fleet(
    result: Result,
    period: str,
    yards: Mapping[str, Sequence[Visit]],
    stand: Mapping[str, Mapping[str, int]],
    more: Sequence[str] = (),
) -> dict[str, dict[str, Share]]:
    """
    Give each yard its trucks of every type for a day.

    `stand` says how many own trucks stand where at night (`fleet.homes`); `more` names
    yards that ask for one more of every type, in the order of asking.
    """
    shift = result.scenario.settings.work.hours_per_day * USABLE
    shares: dict[str, dict[str, Share]] = {yard: {} for yard in yards}
    for code, truck in rows_of(result.scenario, "trucks").items():
        hours = {
            y: sum(v.hours for v in f if v.truck == code) for y, f in yards.items()
        }
        useful = {
            y for y, f in yards.items() if any(may_carry(truck, v.material) for v in f)
        }
        need = {y: ceil(h / shift - 1e-9) for y, h in hours.items()}
        here = {y: Share(stand[code].get(y, 0) if y in useful else 0) for y in yards}
        limit = truck["hire_limit"]
        rest = UNLIMITED if limit is None or np.isnan(limit) else int(limit)
        gone: Counter[str] = Counter()
        order = sorted(yards, key=lambda y: (-hours[y], y))
        for yard in order:
            rent = min(rest, max(0, need[yard] - here[yard].own))
            here[yard].hired, rest = rent, rest - rent
        wanted = [y for y in order for _ in range(need[y] - here[y].count)]
        wanted += [y for y in order if y in useful and here[y].own <= need[y]]
        for yard in [*wanted, *(y for y in more if y in useful)]:
            if rest > 0:
                here[yard].hired, rest = here[yard].hired + 1, rest - 1
                continue
            spare = {
                y: n - gone[y] - need.get(y, 0)
                for y, n in stand[code].items()
                if y != yard
            }
            ways = [
                way
                for y, n in spare.items()
                if n > 0
                for number in [stand[code][y] - gone[y]]
                for way in [way_over(result, period, code, y, yard, number)]
                if way
            ]
            if ways:
                best = min(ways, key=lambda w: (w.out_h + w.back_h, w.home.code))
                here[yard].lent.append(best)
                gone[best.home.code] += 1
                if best.home.code in here and here[best.home.code].own:
                    here[best.home.code].own -= 1
        for yard in yards:
            shares[yard][code] = here[yard]
    return shares


def sent(share: Share) -> list[tuple[str, int, Way | None]]:
    """List a yard's trucks: "owned" or "hired", how many, and their way if lent."""
    rows: list[tuple[str, int, Way | None]] = [("owned", share.own, None)]
    rows += [("owned", 1, way) for way in share.lent]
    return [*rows, ("hired", share.hired, None)]
