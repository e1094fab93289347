"""
Result -> the one block of data that the map's script draws from.

Everything is plain numbers, text, lists and dicts. Quantities by period are lists in
the order of the year.
"""

from __future__ import annotations

import math
from collections.abc import Hashable
from typing import TYPE_CHECKING, Any

import pandas as pd

from logistics.land import NOT_LAW
from logistics.scenario import tile_server
from maps.geo.map_people import people_by_yard
from maps.geo.map_reach import reach, worth, worth_units
from maps.geo.map_roads import land, roads
from maps.shared import (
    CAUTIONS,
    DISPOSAL,
    LARGE,
    STATUS_WORDS,
    TEXTURES,
    colours,
    headed,
    looks,
    money_unit,
    names,
    number,
    other_yards,
    period_order,
    rounds_words,
    short_names,
    yard_status,
)
from maps.tables import collection, demand_met, reasons, why_unused

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import DistrictSettings, Scenario, Settings

Data = dict[str, object]


def rounded(value: float, digits: int = 3) -> float | None:
    """
    Round a number for the file; one that is missing or infinite becomes None.

    >>> rounded(1.23456), rounded(float("nan"))
    (1.235, None)
    """
    return round(float(value), digits) if math.isfinite(value) else None


class _ByPeriod:
    """Look-up of one number column by place, as a list in the order of the year."""

    def __init__(self, table: pd.DataFrame, keys: list[str], periods: list[str]):
        self.periods = periods
        year = table.groupby([*keys, "period"]).sum(numeric_only=True)
        self.values = {
            str(column): dict(zip(year.index, year[column].tolist(), strict=True))
            for column in year.columns
        }

    def of(self, column: str, *place: Hashable, missing: float = 0.0) -> list[object]:
        """Values of `column` at `place`, `missing` where there is no row."""
        known = self.values[column]
        return [
            rounded(float(known.get((*place, period), missing)))
            for period in self.periods
        ]


def _text(value: Any) -> str:
    """Text of a cell; a missing one is empty."""
    return "" if value is None or pd.isna(value) else str(value)


def yards(result: Result, periods: list[str]) -> list[Data]:
    """Every yard and candidate with its mixes, compost and money."""
    status, size = yard_status(result), names(result, "size")
    plan_size = result.plan.yards.set_index("yard")["size"].to_dict()
    mixes = _ByPeriod(result.mixes, ["yard"], periods)
    compost = _ByPeriod(result.plan.compost, ["yard"], periods)
    label, screened = names(result, "yard"), reasons(result)
    nan = float("nan")
    found: list[Data] = []
    for row in result.scenario.tables["yards"].to_dict("records"):
        code = str(row["yard"])
        entry: Data = {
            "code": code,
            "name": label[code],
            "at": [rounded(row["lat"], 5), rounded(row["lon"], 5)],
            "district": _text(row["district"]),
            "status": status[code],
            "screening": [list(pair) for pair in screened.get(code, [])],
        }
        if code in plan_size:
            entry |= {
                "size": size.get(str(plan_size[code]), str(plan_size[code])),
                "charge": mixes.of("charge_t", code),
                "cn": mixes.of("cn", code, missing=nan),
                "usable": mixes.of("cn_available", code, missing=nan),
                "moisture": [
                    share if share is None else round(float(str(share)) * 100, 1)
                    for share in mixes.of("moisture", code, missing=nan)
                ],
                "water": mixes.of("water_t", code),
                "turning": mixes.of("turning_water_t", code),
                "pad": mixes.of("pad_used", code),
                "made": compost.of("made_t", code),
                "leftover": compost.of("leftover_t", code),
                "money": _money(result, code),
            }
        found.append(entry)
    return found


YARD_ACCOUNTS = ("yards", "pairing")
"""
Accounts shown for a yard. A source, market or truck may bear the same code, and
haulage stands at the lanes: the card adds theirs, so it must not come in twice.
"""


def _money(result: Result, yard: str) -> list[list[object]]:
    """Ledger lines booked at a yard: line and amount [money/yr], largest first."""
    table = result.ledger[result.ledger["place"].astype(str) == yard]
    at_yards = table["account"].isin(YARD_ACCOUNTS) | (table["line"] == "left over")
    table = table.loc[at_yards, ["account", "line", "amount"]]
    named = headed(table, result.scenario)
    lines = named.groupby("line")["amount"].sum().sort_values(ascending=False)
    return [[str(line), rounded(amount)] for line, amount in lines.items()]


def sources(result: Result, periods: list[str]) -> list[Data]:
    """Every source with its supply, collection and what the supply rests on."""
    year = _ByPeriod(collection(result), ["source"], periods)
    reckoned = result.supply.set_index("source")
    label = names(result, "source")
    more = worth(result, "supply", list(label))
    return [
        {
            "code": str(row["source"]),
            "name": label[str(row["source"])],
            "at": [rounded(row["lat"], 5), rounded(row["lon"], 5)],
            "district": _text(row["district"]),
            "material": str(row["material"]),
            "supply": year.of("supply", row["source"]),
            "collected": year.of("collected", row["source"]),
            "uncollected": year.of("uncollected", row["source"]),
            "reckoned": _text(reckoned["conversion"].get(row["source"])),
            "from": _text(reckoned["conversion_source"].get(row["source"])),
            "today": DISPOSAL.get(str(row["disposal"]), ""),
            "worth": more[str(row["source"])],
        }
        for row in result.scenario.tables["sources"].to_dict("records")
    ]


def markets(result: Result, periods: list[str]) -> list[Data]:
    """Every market with its demand and what it gets."""
    year = _ByPeriod(demand_met(result), ["market"], periods)
    label = names(result, "market")
    more = worth(result, "demand", list(label))
    return [
        {
            "code": str(row["market"]),
            "name": label[str(row["market"])],
            "at": [rounded(row["lat"], 5), rounded(row["lon"], 5)],
            "district": _text(row["district"]),
            "crop": _text(row["crop"]),
            "demand": year.of("demand", row["market"]),
            "delivered": year.of("tonnes", row["market"]),
            "worth": more[str(row["market"])],
        }
        for row in result.scenario.tables["markets"].to_dict("records")
    ]


def lanes(result: Result, periods: list[str]) -> list[Data]:
    """
    Every lane and material, all trucks together, largest first.

    Trucks and seasons may take different roads: km is the mean over the trips.
    """
    keys = ["kind", "origin", "destination", "material"]
    table, truck = result.lanes, names(result, "truck")
    year = _ByPeriod(table, keys, periods)
    driven = table.assign(trip_km=table["km"] * table["trips"])
    groups = driven.groupby(keys, sort=False).agg(
        trip_km=("trip_km", "sum"),
        money=("money", "sum"),
        trips=("trips", "sum"),
        tonnes=("tonnes", "sum"),
        trucks=("truck", lambda codes: sorted({str(code) for code in codes})),
    )
    groups = groups[groups["tonnes"] > 0]
    groups = groups.sort_values("tonnes", ascending=False, kind="stable")
    return [
        {
            "kind": str(key[0]),
            "from": str(key[1]),
            "to": str(key[2]),
            "material": str(key[3]),
            "km": rounded(row["trip_km"] / row["trips"], 1),
            "t": year.of("tonnes", *key),
            "money": rounded(row["money"]),
            "trips": rounded(row["trips"], 1),
            "trucks": [truck.get(code, code) for code in row["trucks"]],
        }
        for key, row in zip(groups.index, groups.to_dict("records"), strict=True)
    ]


def frame(district: DistrictSettings) -> list[list[float]] | None:
    """South-west and north-east corner as lat, lon; None where no edge is set."""
    edges = [district.west, district.south, district.east, district.north]
    if edges == [-180, -90, 180, 90]:
        return None
    return [[district.south, district.west], [district.north, district.east]]


def tiles(settings: Settings) -> Data | None:
    """Address and credit of the online map; None unless a usable address is set."""
    if not tile_server(settings.map.tiles):
        return None
    return {"address": settings.map.tiles, "credit": settings.map.tiles_credit}


def _haulage(result: Result) -> float:
    return number(result.summary["haul_cost"])


def is_bare(scenario: Scenario) -> bool:
    """Whether there is neither land nor a road to draw."""
    return scenario.land.empty and scenario.roads.empty


def map_data(result: Result) -> Data:
    """
    Everything that the map shows.

    Returns
    -------
    dict
        Plain values only: ready for JSON.
    """
    scenario, periods = result.scenario, period_order(result)
    settings, mix = scenario.settings, scenario.settings.mix
    label, colour, look = names(result, "material"), colours(result), looks(result)
    period_name = names(result, "period")
    gain, loss = worth_units(result)
    used = set(scenario.tables["sources"]["material"].astype(str))
    return {
        "name": settings.name,
        "currency": settings.currency,
        "money": [list(step) for step in LARGE],
        "periods": [
            {"code": code, "name": period_name[code], "short": short}
            for code, short in zip(
                periods,
                short_names([period_name[code] for code in periods]),
                strict=True,
            )
        ],
        "materials": [
            {
                "code": code,
                "name": label[code],
                "colour": colour[code],
                "texture": TEXTURES[look[code]],
            }
            for code in scenario.tables["materials"]["material"].astype(str)
            if code in used
        ],
        "compost": {"code": "compost", "name": "Compost", "colour": colour["compost"]},
        "windows": {
            "cn": [mix.cn_low, mix.cn_high],
            "counts": mix.cn_basis,
            "moisture": [mix.moisture_low * 100, mix.moisture_high * 100],
        },
        "yards": yards(result, periods),
        "sources": sources(result, periods),
        "markets": markets(result, periods),
        "lanes": lanes(result, periods),
        "land": land(result),
        "roads": roads(result),
        "reach": reach(result),
        "worth": gain,
        "loss": loss,
        "frame": frame(settings.district),
        "travel": result.travel.basis,
        "tiles": tiles(settings),
        "status": STATUS_WORDS.get(result.plan.status, result.plan.status),
        "districts": names(result, "district"),
        "choice": {
            "site": other_yards(result, "with this site"),
            "yard": other_yards(result, "without this yard"),
        },
        "unused": why_unused(result),
        **people_by_yard(result),
        **({"sheet": True} if is_bare(scenario) else {}),
        "goal": settings.goal.minimise,
        "screen": NOT_LAW,
        "cautions": [
            *(f"{item}: {note}" for item, note in CAUTIONS),
            rounds_words(result, money_unit(settings.currency, [_haulage(result)])),
        ],
    }
