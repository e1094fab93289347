"""From tables to an instance: every number the programme needs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.composting import (
    by_period,
    feedstocks,
    keeping,
    nitrogen_bounds,
    pad_m3,
    seasonal_demand,
    seasonal_supply,
    source_feedstock,
)
from logistics.costs import (
    OptionCost,
    Trips,
    hire_rate,
    inbound_trips,
    option_annual_cost,
    outbound_trips,
)
from logistics.land import barred, no_screening, refused, screen
from logistics.model.assembly.backhaul import offered_backhauls
from logistics.model.assembly.calibration import Realised, scaled_trips, scaled_trucks
from logistics.model.assembly.contents import contents_of
from logistics.model.assembly.cover import cover_needed
from logistics.model.assembly.dominance import lanes_of
from logistics.model.assembly.gases import charge_co2e, left_co2e, leftover_co2e
from logistics.model.assembly.mixes import counted_carbon, mix_of
from logistics.model.assembly.nearby import farm_distances, people_near
from logistics.model.assembly.pad_room import compost_days, pad_room
from logistics.model.assembly.policy import demands, least_loads
from logistics.model.assembly.standard import standard_of
from logistics.model.problem import (
    Feed,
    Floats,
    Instance,
    Integers,
    Markets,
    Options,
    Supply,
    Trucks,
    Yards,
)
from logistics.roads import travel as travel_of
from logistics.scenario import Row, price_change, records

if TYPE_CHECKING:
    from logistics.roads import Travel
    from logistics.scenario import Scenario


@dataclass(frozen=True, eq=False)
class Assembly:
    """
    A scenario and what was made of it before solving.

    Attributes
    ----------
    scenario, travel, screening
        Tables and settings; distances; what the land screening found, see
        `land.screen`.
    instance
        The problem as numbers.
    inbound, outbound
        Trips behind its lanes.
    """

    scenario: Scenario
    travel: Travel
    screening: pd.DataFrame
    instance: Instance
    inbound: Trips
    outbound: Trips


def prepare(
    scenario: Scenario, ways: Travel | None = None, realised: Realised | None = None
) -> Assembly:
    """
    Do all that comes before solving: travel, land screening, instance.

    Parameters
    ----------
    scenario
        Tables and settings, checked.
    ways
        Its travel, where it is known.
    realised
        What driving takes, as factors; None for trips as they are reckoned.
    """
    ways = travel_of(scenario) if ways is None else ways
    return assemble(scenario, ways, screen(scenario), realised)


def assemble(
    scenario: Scenario,
    travel: Travel,
    screening: pd.DataFrame | None = None,
    realised: Realised | None = None,
) -> Assembly:
    """
    Turn a scenario and its travel into an instance.

    Parameters
    ----------
    scenario, travel
        Tables, settings and distances.
    screening
        See `suitability.screen`: yards it refuses get no size and lanes it bars are
        not offered. None refuses nothing.
    realised
        What driving takes, as factors; None for trips as they are reckoned.

    Returns
    -------
    Assembly
        The instance, with all that it was made of.
    """
    settings = scenario.settings
    table = feedstocks(scenario)
    where = {code: m for m, code in enumerate(table["feedstock"])}
    belongs = source_feedstock(scenario).map(where).to_numpy(dtype=np.int64)
    tonnes = _grid(seasonal_supply(scenario), "source", scenario)
    screening = no_screening() if screening is None else screening
    shut = barred(scenario, screening)
    inward = inbound_trips(scenario, table, belongs, tonnes, travel)
    open_ = ~shut[inward.origin, inward.destination][:, None]
    inward = replace(inward, usable=inward.usable & open_)
    outward = outbound_trips(scenario, travel)
    days = scenario.periods["days"].to_numpy(dtype=float)
    process = settings.process
    trucks = _trucks(scenario)
    if realised is not None:
        inward, outward = scaled_trips(realised, inward, outward)
        trucks = scaled_trucks(realised, trucks)
    criteria = settings.goal.minimise
    options = _options(scenario, refused(screening))
    pad, ripe = pad_room(scenario, len(options.yard)), compost_days(scenario)
    backhauls = None
    if realised is None and settings.fleet.pairing != "no":  # else factors hold savings
        backhauls = offered_backhauls(
            scenario, table, belongs, travel, inward, outward, options
        )
    inbound = lanes_of(inward, scenario, trucks, backhauls, inbound=True)
    outbound = lanes_of(outward, scenario, trucks, backhauls, inbound=False)
    instance = Instance(
        periods=tuple(scenario.periods["period"]),
        feed=_feed(table, scenario, days),
        supply=_supply(scenario, table, belongs, tonnes),
        yards=_yards(scenario, days),
        options=options,
        markets=_markets(scenario),
        trucks=trucks,
        inbound=inbound,
        outbound=outbound,
        mix=mix_of(settings, table),
        policy=demands(scenario, table),
        occupancy=pad.occupancy,
        pad_period=pad.period,
        pad_days=pad.by_day,
        ripening=by_period(ripe.ready, ripe.period, len(days)),
        turning_water=process.turning_water_m3_per_t,
        product_t_m3=process.product_kg_m3 / 1000,
        charge_co2e=charge_co2e(scenario, table),
        leftover_per_t=settings.finance.leftover_cost_per_t,
        leftover_co2e=leftover_co2e(scenario),
        goal=criteria,
        cover=cover_needed(scenario, table),
        backhauls=backhauls,
        least_loads=least_loads(scenario),
        compost_days=ripe,
        neighbours=people_near(scenario),
    )
    instance = replace(
        instance,
        contents=contents_of(scenario, instance),
        farms=farm_distances(scenario, travel, instance.markets),
        standard=standard_of(scenario, table, instance.feed),
    )
    return Assembly(scenario, travel, screening, instance, inward, outward)


def _grid(table: pd.DataFrame, key: str, scenario: Scenario) -> Floats:
    """Spread a long table over (site, period), in the order of the tables."""
    sites = scenario.table(f"{key}s")[key]
    by_period = table.pivot_table(
        index=key, columns="period", values="tonnes", aggfunc="sum", observed=False
    )
    grid = by_period.reindex(index=sites, columns=scenario.periods["period"])
    return grid.fillna(0.0).to_numpy(dtype=float)


def _floats(table: pd.DataFrame, column: str) -> Floats:
    return table[column].to_numpy(dtype=float).copy()


def _feed(table: pd.DataFrame, scenario: Scenario, days: Floats) -> Feed:
    settings = scenario.settings
    keep_days = _floats(table, "keep_hours") / 24
    moisture, loss = _floats(table, "moisture"), _floats(table, "dry_matter_loss")
    loose = _floats(table, "loose_t_m3")
    windrow, process = settings.windrow, settings.process
    per_30_days = 1 - _floats(table, "store_loss")
    return Feed(
        codes=tuple(table["feedstock"]),
        materials=tuple(table["material"]),
        moisture=moisture,
        carbon=counted_carbon(table, settings.mix),
        nitrogen=_floats(table, "nitrogen"),
        p2o5=_floats(table, "p2o5"),
        k2o=_floats(table, "k2o"),
        salt=_floats(table, "salt"),
        loose_t_m3=loose,
        dry_matter_loss=loss,
        structure=table["structure"].to_numpy(dtype=bool),
        store_periods=keeping(days, keep_days),
        keep=per_30_days[:, None] ** (days[None, :] / 30),
        pad_m3_per_t=windrow.packing / loose,
        product_per_t=(1 - moisture) * (1 - loss) / (1 - process.product_moisture),
        nitrogen_kept=nitrogen_bounds(table, settings),
    )


def _supply(
    scenario: Scenario, table: pd.DataFrame, belongs: Integers, tonnes: Floats
) -> Supply:
    sources = scenario.sources
    return Supply(
        codes=tuple(sources["source"]),
        districts=tuple(sources["district"]),
        feedstock=belongs,
        tonnes=tonnes,
        money_per_t=_floats(sources, "price_per_t")
        - scenario.settings.finance.subsidy_per_t,
        left_money_per_t=_floats(sources, "disposal_cost_per_t"),
        left_co2e_per_t=left_co2e(scenario, table, belongs),
        must_collect=sources["must_collect"].to_numpy(dtype=bool),
        hold_t=_floats(sources, "can_hold_t"),
        price_change=price_change(scenario, "sources"),
    )


def _yards(scenario: Scenario, days: Floats) -> Yards:
    yards = scenario.yards
    return Yards(
        codes=tuple(yards["yard"]),
        decision=tuple(yards["decision"]),
        water_t=_floats(yards, "water_m3_per_day")[:, None] * days,
        water_per_t=_floats(yards, "water_price_per_m3"),
    )


def yard_options(scenario: Scenario) -> list[tuple[int, Row, OptionCost]]:
    """
    List the sizes each yard may have: those that fit its area.

    An existing yard keeps its size or grows; a closed one has none. `only_size`
    leaves one at most.

    Returns
    -------
    list
        Row number of the yard, row of the size, and its cost.
    """
    sizes = records(scenario.yard_sizes)
    by_code = {size["size"]: size for size in sizes}
    found = []
    for j, yard in enumerate(records(scenario.yards)):
        built = by_code.get(yard["existing_size"])
        least = built["site_m2"] if built else 0.0
        for size in sizes:
            fits = least <= size["site_m2"] <= yard["area_m2"] or size is built
            asked = yard["only_size"] in ("", size["size"])
            if fits and asked and yard["decision"] != "closed":
                discount = scenario.settings.finance.discount
                found.append((j, size, option_annual_cost(yard, size, discount, built)))
    return found


def _options(scenario: Scenario, shut: set[str]) -> Options:
    codes = scenario.yards["yard"].tolist()
    found = [row for row in yard_options(scenario) if codes[row[0]] not in shut]

    def column(name: str) -> Floats:
        return np.array([size[name] for _, size, _ in found], dtype=float)

    windrow = scenario.settings.windrow
    return Options(
        yard=np.array([j for j, _, _ in found], dtype=np.int64),
        size=tuple(size["size"] for _, size, _ in found),
        annual=np.array([cost.total for _, _, cost in found], dtype=float),
        capital=np.array([cost.capital for _, _, cost in found], dtype=float),
        pad_m3=np.array([pad_m3(m2, windrow) for m2 in column("pad_m2")], dtype=float),
        store_m3=column("store_m3"),
        compost_store_m3=column("compost_store_m3"),
        handling_per_t=column("handling_cost_per_t"),
    )


def _markets(scenario: Scenario) -> Markets:
    markets = scenario.markets
    return Markets(
        codes=tuple(markets["market"]),
        demand=_grid(seasonal_demand(scenario), "market", scenario),
        price_per_t=_floats(markets, "price_per_t"),
        price_change=price_change(scenario, "markets"),
    )


def _trucks(scenario: Scenario) -> Trucks:
    trucks = scenario.trucks
    hours = scenario.settings.work.hours_per_day * _floats(
        scenario.periods, "working_days"
    )
    limit = np.nan_to_num(_floats(trucks, "hire_limit"), nan=np.inf)
    with np.errstate(invalid="ignore"):
        hired = np.where(limit[:, None] > 0, limit[:, None] * hours, 0.0)
    return Trucks(
        codes=tuple(trucks["truck"]),
        owned_hours=_floats(trucks, "owned")[:, None] * hours,
        hire_hours=hired,
        hire_per_hour=np.array(
            [
                hire_rate(row, scenario.settings.work.hours_per_day)
                for row in records(trucks)
            ]
        ),
        fixed_annual=float((trucks["owned"] * trucks["fixed_cost_per_year"]).sum()),
        own=trucks["owned"].to_numpy(dtype=np.int64),
    )
