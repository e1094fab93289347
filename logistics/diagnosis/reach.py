"""
Who cannot be reached: sites, lanes and seasons, by name and with distances.

A fault is a site that must take part, a yard decided open or a source that must be
collected, and that no truck that may carry its freight ever reaches; all else that a
planner should know of is a warning, and a plan does without such a site.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from logistics.costs import may_carry
from logistics.roads import geodesic_km
from logistics.scenario import Problem, in_list, records

if TYPE_CHECKING:
    from logistics.roads import Travel
    from logistics.scenario import Scenario

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

MOST_NAMED = 4
"""Places named in one sentence; the rest are counted."""


class _Leg(NamedTuple):
    """
    All lanes of one kind.

    Attributes
    ----------
    start, end
        Kinds of site.
    km
        Shape (truck, period, start, end), infinite where no way leads there and back.
        [km]
    may
        Whether a truck may carry the freight of a start, shape (truck, start).
    straight_km
        Over the ground, shape (start, end). [km]
    """

    start: str
    end: str
    km: Floats
    may: Bools
    straight_km: Floats


def unreachable_sites(scenario: Scenario, travel: Travel) -> list[Problem]:
    """
    Find the sites that must take part and that nobody can ever reach.

    Parameters
    ----------
    scenario, travel
        Tables, and travel between their sites.

    Returns
    -------
    list of Problem
        Faults, in the order of tables and rows.
    """
    return [p for p, fault in _findings(scenario, travel) if fault]


def travel_warnings(scenario: Scenario, travel: Travel) -> list[Problem]:
    """
    Find sites and lanes without a way, too long, or shut to a truck or in a season.

    Parameters
    ----------
    scenario, travel
        Tables, and travel between their sites.

    Returns
    -------
    list of Problem
        Warnings, at most four a site and kind of lane; a plan can still be made.
    """
    return [p for p, fault in _findings(scenario, travel) if not fault]


def _findings(scenario: Scenario, travel: Travel) -> Iterator[tuple[Problem, bool]]:
    """Go through all sites from both ends of their lanes."""
    for start, end in (("source", "yard"), ("yard", "market")):
        leg = _leg(scenario, travel, start, end)
        carried = np.where(leg.may[:, None, :, None], leg.km, np.inf)
        # what a start can reach, and what can reach an end
        yield from _of_side(scenario, leg, carried, start, end)
        turned = leg._replace(straight_km=leg.straight_km.T)
        yield from _of_side(scenario, turned, carried.swapaxes(2, 3), end, start)


def _leg(scenario: Scenario, travel: Travel, start: str, end: str) -> _Leg:
    tables = {kind: getattr(scenario, f"{kind}s") for kind in (start, end)}
    a = travel.index(start, tables[start][start])
    b = travel.index(end, tables[end][end])
    trucks, periods = records(scenario.trucks), list(scenario.periods["period"])
    km = np.empty((len(trucks), len(periods), len(a), len(b)))
    for v, truck in enumerate(trucks):
        for t, period in enumerate(periods):
            there = travel.pick(truck["truck"], period).km
            way, back = there[np.ix_(a, b)], there[np.ix_(b, a)].T
            km[v, t] = np.where(np.isfinite(back), way, np.inf)
    freight = ["compost"] * len(a)
    if start == "source":
        freight = list(scenario.sources["material"])
    may = np.array([[may_carry(truck, what) for what in freight] for truck in trucks])
    lon_a, lat_a = (tables[start][x].to_numpy(dtype=float)[:, None] for x in XY)
    lon_b, lat_b = (tables[end][x].to_numpy(dtype=float)[None, :] for x in XY)
    straight = geodesic_km(lon_a, lat_a, lon_b, lat_b)
    return _Leg(start, end, km, may.reshape(len(trucks), len(a)), straight)


XY = ("lon", "lat")


def _of_side(
    scenario: Scenario, leg: _Leg, km: Floats, kind: str, other: str
) -> Iterator[tuple[Problem, bool]]:
    """Tell of every site of one kind what it has to do with the other kind."""
    places, others = (records(getattr(scenario, f"{k}s")) for k in (kind, other))
    if not others or not places:
        return
    names = [_name(place, other) for place in others]
    limit = getattr(scenario.settings.travel, "lane_limit_km", None) or np.inf
    for row, place in enumerate(places):
        here, straight = km[:, :, row, :], leg.straight_km[row]

        def told(why: str, remedy: str, row: int = row, place: Any = place) -> Problem:
            return Problem(f"{kind}s.csv", row + 2, kind, place[kind], why, remedy)

        best = here.min(axis=(0, 1))
        if np.isinf(best).all():
            nearest = int(straight.argmin())
            near = f"{names[nearest]}, {straight[nearest]:.1f} km in a straight line"
            what = f"no truck can drive between {_name(place, kind)} and any {other}"
            why = f"{LOST}: {what}; the nearest is {near}"
            yield told(why, DRAW), _must_take_part(place)
            continue
        may = leg.may[:, row] if kind == leg.start else leg.may.any(axis=1)
        yield from _partly(scenario, may, here, other, told)
        never = np.flatnonzero(np.isinf(best))
        if len(never):
            far = [f"{names[k]} {straight[k]:.1f} km" for k in never]
            why = f"has no route to {_some(far, f'{other}s')} (straight line)"
            yield told(why, DRAW), False
        long = np.flatnonzero(np.isfinite(best) & (best > limit))
        if len(long):
            far = [f"{names[k]} {best[k]:.1f} km" for k in long]
            why = f"is further than travel.lane_limit_km = {limit:g} from "
            remedy = "The plan leaves these lanes out; "
            remedy += "raise travel.lane_limit_km if you want them"
            yield told(why + _some(far, f"{other}s"), remedy), False


def _must_take_part(place: dict[str, Any]) -> bool:
    return place.get("decision") == "open" or bool(place.get("must_collect", False))


def out_of_reach(scenario: Scenario, travel: Travel) -> list[str]:
    """Name the sites that nobody can reach, forced or not, each once."""
    found = [p for p, _ in _findings(scenario, travel) if p.why.startswith(LOST)]
    names = {}
    for problem in found:
        places = getattr(scenario, problem.file.removesuffix(".csv"))
        name = places["name"].iloc[(problem.row or 2) - 2]
        names[problem.file, problem.value] = str(name or problem.value)
    return list(names.values())


LOST = "cannot be reached"
DRAW = "Draw the missing road or ferry in roads, or correct the site"


def _partly(
    scenario: Scenario, may: Bools, km: Floats, other: str, told: Any
) -> Iterator[tuple[Problem, bool]]:
    """Seasons and trucks that have no way from a site to any other at all."""
    trucks = list(scenario.trucks["truck"])
    reaches = np.isfinite(km).any(axis=2)
    shut = [
        str(period)
        for period, some in zip(
            scenario.periods["period"], reaches.any(axis=0), strict=True
        )
        if not some
    ]
    if shut:
        why = f"is cut off from every {other} in {in_list(shut)}"
        yield (
            told(why, "Allow for this in the plan, or open a road in closed_periods"),
            False,
        )
    able = np.flatnonzero(may)
    never = [str(trucks[v]) for v in able if not reaches[v].any()]
    if never:
        why = f"is closed to {' and '.join(never)}: no route to or from any {other}"
        remedy = "Check max_gross_t of the roads that lead there, or use lighter trucks"
        yield told(why, remedy), False


def _name(place: dict[str, Any], kind: str) -> str:
    return str(place.get("name") or place[kind])


def _some(names: Sequence[str], kind: str) -> str:
    """Name a few, count the rest."""
    more = len(names) - MOST_NAMED
    text = in_list(names[:MOST_NAMED])
    return f"{text} and {more} more {kind}" if more > 0 else text
