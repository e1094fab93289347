"""A driven month as a record of JSON: what the page of the month lists and asks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from logistics.rounds import (
    calls,
    events,
    homes,
    planned_flows,
    summary,
    tours,
    windrows,
)
from logistics.scenario import in_list, records, work_days
from maps.desk.money_record import columns
from maps.desk.month_words import FORMAT
from maps.field import clock, windrow_name, work_date
from maps.shared import names

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds import Anew, Driven, RestOfMonth

MOST_ROADS = 3_000
SUMS = ("trips", "tonnes", "km", "money")


def month_facts(result: Result, driven: Driven) -> dict[str, Any]:
    """
    Write down the rounds of a month.

    Returns
    -------
    dict
        format, period, name, currency; days (day, date or "") with rounds; calendar of
        all working days; limits of driving; countable, see there; tours, see
        `tour_rows`; planned (day, kind, place, material, yard, tonnes [t]); left;
        figures; names of places, feedstocks and trucks; choices for trouble: own trucks
        with their home, trucks for hire, sources, yards, roads.
    """
    known = place_names(result)
    freight = names(result, "material")
    return {
        "format": FORMAT,
        "period": driven.period,
        "name": names(result, "period")[driven.period],
        "currency": result.scenario.settings.currency,
        "days": days_of(result, driven),
        "calendar": calendar_of(result, driven.period),
        "limits": limits_of(result),
        "countable": countable(result, driven.period),
        "tours": tour_rows(driven, known),
        "planned": planned_rows(driven),
        "left": columns(driven.left),
        "figures": {
            name: float(value)
            for name, value in summary(result, driven).items()
            if isinstance(value, int | float) and not isinstance(value, bool)
        },
        "names": {
            "place": known,
            "material": freight,
            "truck": names(result, "truck"),
        },
        "choices": choices(result, driven),
        "pad": pad_facts(result, driven.period),
    }


def pad_facts(result: Result, period: str) -> dict[str, Any]:
    """
    Write down what is due on the pads in a period.

    Returns
    -------
    dict
        due: yard, windrow, what ("turn", "leaves", "ready"), day of the period;
        windrows: names by yard; days in the period; hot_c [degrees C], hot_days.
    """
    process = result.scenario.settings.process
    due, windrows_of = [], {}
    for yard, _ in result.plan.yard_sizes:
        built = windrows(result, yard)
        named = zip(built["period"], built["windrow"], strict=True)
        windrows_of[yard] = [windrow_name(p, n) for p, n in named]
        due += [
            {
                "yard": yard,
                "windrow": windrow_name(row["period"], row["windrow"]),
                "what": row["what"],
                "day": int(row["day"]),
            }
            for row in records(events(result, yard, period))
        ]
    days = result.scenario.periods.set_index("period")["days"]
    return {
        "due": due,
        "windrows": windrows_of,
        "days": int(days[period]),
        "hot_c": float(process.hot_c),
        "hot_days": int(process.hot_days),
    }


def place_names(result: Result) -> dict[str, str]:
    """Name of every source, market and yard by its code."""
    return {
        code: name
        for kind in ("source", "market", "yard")
        for code, name in names(result, kind).items()
    }


def days_of(result: Result, driven: Driven) -> list[dict[str, Any]]:
    """List the working days that have rounds, with their date where it is known."""
    found = []
    for day in sorted({one.day for one in driven.days}):
        date = work_date(result.scenario, driven.period, day)
        found.append({"day": day, "date": date.isoformat() if date else ""})
    return found


def calendar_of(result: Result, period: str) -> list[dict[str, Any]]:
    """List all working days: day, date where it is known, and day of the period."""
    scenario = result.scenario
    days = work_days(scenario.settings, scenario.periods, period)
    found = []
    for day, in_period in enumerate(days, 1):
        date = work_date(scenario, period, day)
        told = date.isoformat() if date else ""
        found.append({"day": day, "date": told, "in_period": in_period})
    return found


def limits_of(result: Result) -> dict[str, float]:
    """Most driving in a day and a week, and most time out in a day. [h]"""
    settings = result.scenario.settings
    return {
        "day_h": float(settings.rounds.driving_day_h),
        "week_h": float(settings.rounds.driving_week_h),
        "shift_h": float(settings.work.hours_per_day),
    }


def countable(result: Result, period: str) -> dict[str, list[str]]:
    """List what may be counted: place -> feedstock that lies there, or compost."""
    flows = planned_flows(result, period)
    found: dict[str, set[str]] = {}
    for flow in flows:
        if flow.kind == "in":
            found.setdefault(flow.place, set()).add(flow.material)
        if not flow.spoils:
            found.setdefault(flow.yard, set()).add(flow.material)
    return {place: sorted(codes) for place, codes in sorted(found.items())}


def truck_words(name: str, yard: str, places: Mapping[str, str]) -> str:
    """
    Name a truck for people: with the name of its home if that is not the yard.

    >>> truck_words("y1 light owned 1", "y1", {"y1": "North"})
    'light owned 1'
    >>> truck_words("y1 light owned 1", "", {"y1": "North"})
    'North: light owned 1'
    """
    home, _, rest = name.partition(" ")
    return rest if home == yard else f"{places.get(home, home)}: {rest}"


def tour_rows(driven: Driven, places: Mapping[str, str]) -> list[dict[str, Any]]:
    """
    List every truck and day.

    Returns
    -------
    list of dict
        day, yard, name (of the truck in the plan), truck (for people), home, type,
        whose, trips, calls, tonnes [t], starts, ends (times of day), starts_h, ends_h
        [h after midnight], driving_h [h], km, spoils (carries what does).
    """
    table = calls(driven)
    homes_of = table.groupby(["day", "truck"])["home"].first().to_dict()
    wet = {
        (day.day, visit.place)
        for day in driven.days
        for visit in day.visits
        if visit.spoils
    }
    carried = table.groupby(["day", "truck"])["place"].agg(set).to_dict()
    return [
        {
            "day": int(row["day"]),
            "yard": row["yard"],
            "name": row["truck"],
            "truck": truck_words(row["truck"], row["yard"], places),
            "home": homes_of[row["day"], row["truck"]],
            "type": row["type"],
            "whose": row["whose"],
            "trips": int(row["trips"]),
            "calls": int(row["calls"]),
            "tonnes": float(row["tonnes"]),
            "starts": clock(row["starts_h"]),
            "ends": clock(row["ends_h"]),
            "starts_h": float(row["starts_h"]),
            "ends_h": float(row["ends_h"]),
            "driving_h": float(row["driving_h"]),
            "km": float(row["km"]),
            "spoils": any(
                (row["day"], place) in wet
                for place in carried[row["day"], row["truck"]]
            ),
        }
        for row in records(tours(driven).sort_values(["day", "yard", "truck"]))
    ]


def planned_rows(driven: Driven) -> dict[str, list[Any]]:
    """List the tonnes of every day, place, feedstock and yard that are to be driven."""
    table = calls(driven)
    table = table[table["kind"].isin(["in", "out"])]
    keys = ["day", "kind", "place", "material", "yard"]
    return columns(table.groupby(keys)["tonnes"].sum().reset_index())


def choices(result: Result, driven: Driven) -> dict[str, Any]:
    """List what may be in trouble: own trucks, hire, sources, yards, roads."""
    table = calls(driven)
    inward = table[table["kind"] == "in"]
    roads = result.scenario.roads.head(MOST_ROADS)
    kinds = zip(
        roads["road"], roads["name"], roads["class"], roads["bridge"], strict=True
    )
    return {
        "trucks": [
            {"truck": code, "yard": yard, "count": count}
            for code, at in homes(result).items()
            for yard, count in at.items()
            if count
        ],
        "hire": [str(code) for code in result.scenario.trucks["truck"]],
        "sources": sorted(set(inward["place"])),
        "yards": sorted(set(table["yard"])),
        "roads": [
            {
                "road": str(road),
                "name": str(name) if isinstance(name, str) else "",
                "kind": "ferry" if kind == "ferry" else "bridge" if bridge else "road",
            }
            for road, name, kind, bridge in kinds
        ],
    }


def anew_facts(result: Result, anew: Anew) -> dict[str, Any]:
    """Write down what a month planned anew changes, and for whom."""
    from logistics.rounds import in_short, place_differences, truck_differences

    known = place_names(result)
    places, trucks = place_differences(anew), truck_differences(anew)
    for column in ("before_trucks", "after_trucks"):
        places[column] = [
            in_list(truck_words(name, "", known) for name in names.split(", ") if name)
            for names in places[column]
        ]
    trucks["truck"] = [truck_words(name, "", known) for name in trucks["truck"]]
    return {
        "format": FORMAT,
        "short": in_short(anew),
        "places": columns(places),
        "trucks": columns(trucks),
        "turned": [
            {
                "day": one.visit.day,
                "place": one.visit.place,
                "material": one.visit.material,
                "tonnes": one.visit.tonnes,
                "from": one.visit.yard,
                "to": one.yard,
                "spoils": one.visit.spoils,
            }
            for one in anew.turned
        ],
        "left": columns(anew.after.left),
        "sums": [sums_of(one, anew.trouble.first) for one in (anew.before, anew.after)],
        "seconds": anew.seconds,
    }


def sums_of(driven: Driven, first: int) -> dict[str, float]:
    """Truck-days, trips, tonnes, km and money of a month from a day on."""
    table = tours(driven)
    table = table[table["day"] >= first]
    found = {name: float(table[name].sum()) for name in SUMS}
    return {"tours": float(len(table)), **found}


def rest_facts(result: Result, rest: RestOfMonth) -> dict[str, Any]:
    """Write down what stock at hand changes in the rest of a month, and for whom."""
    return anew_facts(result, rest.anew) | {
        "account": columns(rest.account),
        "stores": columns(rest.stores),
    }
