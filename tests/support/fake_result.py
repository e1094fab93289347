"""
A tiny district with a plan made by hand: 3 sources, 2 yards, 2 markets, 3 periods.

The plan is consistent (mass and money add up) but nobody solved it. It stands in for
`logistics.results.pipeline.Result` where only the outputs are tested.
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd

from logistics.composting.supply import yearly_supply
from logistics.model.problem.plan import Plan
from logistics.results.haulage import net_of_paired_trips, no_savings
from logistics.scenario.defaults import library
from logistics.scenario.settings import settings_from

PERIODS = ("dry", "wet", "cool")
HOSTILE = "<script>alert(1)</script>\"'&\u202eevil\u202c 🐟 =cmd|x"


def table(**columns):
    return pd.DataFrame(columns)


def shares_of(frame):
    """Turn percentages into shares, as `logistics.scenario.scenario` does."""
    return frame.rename(columns=lambda name: name.removesuffix("_pct")).assign(
        **{
            name.removesuffix("_pct"): frame[name] / 100
            for name in frame.columns
            if name.endswith("_pct")
        }
    )


NO_YEARS = table(year=[], tipping_fee_per_t=[])


def tables(name="Eastmill"):
    """Typed tables as `logistics.scenario.scenario` gives them."""
    return {
        "materials": table(
            material=["husk", "fish", "straw"],
            name=["Husk", "Fish waste", "Straw"],
            moisture=[0.12, 0.76, 0.15],
            carbon=[0.4, 0.38, 0.4],
            nitrogen=[0.004, 0.1, 0.007],
            p2o5=[0.003, 0.05, 0.002],
            k2o=[0.004, 0.01, 0.017],
            ash=[0.2, 0.2, 0.14],
            salt=[0.0, 0.01, 0.0],
            available_carbon=[1.0] * 3,
            moisture_range=[0.0] * 3,
            carbon_range=[0.0] * 3,
            nitrogen_range=[0.0] * 3,
            loose_kg_m3=[110.0, 950.0, 60.0],
            hauled_kg_m3=[130.0, 950.0, 110.0],
            keep_hours=[float("nan"), 12.0, float("nan")],
            store_loss=[0.0] * 3,
            dry_matter_loss=[0.3] * 3,
            structure=[True, False, True],
            colour=["", "", "#6E6A1E"],
            status=["default, not local"] * 3,
            source=["made up"] * 3,
        ),
        "sources": table(
            source=["mill", "port", "fields"],
            name=[name, "Port", ""],
            material=["husk", "fish", "straw"],
            lon=[-31.1, -31.0, -31.05],
            lat=[-0.9, -1.0, -0.95],
            district=["north", "south", "north"],
            basis=["tonnes", "processed", "cropped"],
            amount=[300.0, 300.0, 50.0],
            waste=[float("nan"), 0.5, float("nan")],
            yield_t_ha=[float("nan")] * 2 + [3.0],
            residue_ratio=[float("nan")] * 2 + [1.0],
            kg_per_head_day=[float("nan")] * 3,
            recoverable=[1.0, 1.0, 0.6],
            conversion_source=["weighbridge", "made up", ""],
            season=["even"] * 3,
            disposal=["burnt", "dumped", "left"],
            tipping_fee_per_t=[0.0] * 3,
            disposal_cost_per_t=[0.0] * 3,
            lab_moisture=[float("nan")] * 3,
            lab_carbon=[float("nan")] * 3,
            lab_nitrogen=[float("nan")] * 3,
            lab_available_carbon=[float("nan")] * 3,
        ),
        "calendar": table(season=["even"] * 3, period=list(PERIODS), share=[1 / 3] * 3),
        "periods": table(
            period=list(PERIODS),
            name=["Dry season", "Wet season", ""],
            days=[120.0, 120.0, 125.0],
            working_days=[100.0] * 3,
            season_speed=[1.0, 0.6, 1.0],
        ),
        "yards": table(
            yard=["hill", "shore"],
            name=["Hill yard", "Shore yard"],
            lon=[-31.06, -31.02],
            lat=[-0.93, -0.98],
            district=["north", "south"],
            existing_size=["", ""],
            decision=["free", "free"],
            area_m2=[5000.0, 5000.0],
            works_factor=[1.0, 1.0],
            land_rent_per_m2_year=[0.1, 0.1],
            water_m3_per_day=[20.0, 20.0],
        ),
        "yard_sizes": table(
            size=["small"],
            name=["Small yard"],
            site_m2=[4000.0],
            pad_m2=[2500.0],
            store_m3=[1500.0],
            compost_store_m3=[1500.0],
            works_cost=[30000.5],
            works_life_years=[20.0],
            machine_cost=[12000.25],
            machine_life_years=[9.0],
            fixed_cost_per_year=[5000.0],
        ),
        "markets": table(
            market=["paddy", "orchard"],
            name=["Paddy group", "Orchard"],
            lon=[-31.08, -31.0],
            lat=[-0.94, -0.93],
            district=["north", "north"],
            crop=["paddy", "fruit"],
            basis=["tonnes", "area"],
            amount=[150.0, 30.0],
            rate_t_ha=[float("nan"), 3.0],
            season=["even", "even"],
            price_per_t=[20.0, 25.0],
            n_limit_kg_ha=[float("nan"), 90.0],
            k2o_limit_kg_ha=[float("nan")] * 2,
            salt_limit_kg_ha=[float("nan")] * 2,
            p2o5_limit_kg_ha=[float("nan")] * 2,
        ),
        "trucks": table(
            hire_least_hours=[1.0],
            hire_call_cost=[0.0],
            truck=["light"],
            name=["Light truck"],
            payload_t=[4.0],
            body_m3=[20.0],
            speed_factor=[1.0],
            fuel_l_per_km_loaded=[0.2],
            load_minutes=[30.0],
            unload_minutes=[20.0],
            owned=[1],
            fixed_cost_per_year=[0.0],
            hire_cost_per_hour=[0.0],
        ),
        "accounts": shares_of(library("accounts").frame),
        "prices": shares_of(library("prices").frame),
        "standards": shares_of(library("standards").frame),
        "crops": library("crops").frame,
        "fertilisers": shares_of(library("fertilisers").frame),
        "policy": table(rule=[], material=[], district=[], share=[]),
        "districts": table(district=[], name=[]),
        "factors": library("factors").frame,
        "roads": table(
            road=["main"],
            name=["Main road"],
            **{"class": ["paved_main"]},
            bridge=[False],
            speed_kmh=[50.0],
            closed_periods=[("wet",)],
            wkt=["LINESTRING (-31.1 -0.9, -31.06 -0.93, -31.0 -1.0)"],
        ),
        "people": table(
            place=["bay", "far"],
            name=[name, ""],
            lon=[-31.045, -30.95],
            lat=[-0.932, -0.85],
            heads=[420.0, 80.0],
        ),
        "places": table(
            place=["inlet", "port"],
            name=["Inlet", name],
            rank=["hamlet", "town"],
            lon=[-31.07, -31.03],
            lat=[-0.9, -0.99],
        ),
        "land": table(
            land=["isle", "bay"],
            name=["Isle", "Bay"],
            kind=["land", "village"],
            wkt=[
                "POLYGON ((-31.2 -1.1, -30.9 -1.1, -31 -0.8, -31.2 -0.8, -31.2 -1.1))",
                "POINT (-31.04 -0.96)",
            ],
        ),
    }


def plan(**changes):
    """300 t husk and 150 t fish into the hill yard, straw left; 240 t of compost."""
    sources = ["mill"] * 3 + ["port"] * 3
    found = Plan(
        status="optimal",
        objective=10_000.0,
        bound=9_960.0,
        gap=0.004,
        seconds=1.5,
        yards=table(yard=["hill"], size=["small"]),
        hauls=table(
            source=sources,
            yard=["hill"] * 6,
            truck=["light"] * 6,
            period=list(PERIODS) * 2,
            tonnes=[100.0] * 3 + [50.0] * 3,
        ),
        deliveries=table(
            yard=["hill"] * 3,
            market=["paddy"] * 3,
            truck=["light"] * 3,
            period=list(PERIODS),
            tonnes=[50.0] * 3,
        ),
        uncollected=table(
            source=["fields"] * 3, period=list(PERIODS), tonnes=[30.0] * 3
        ),
        held=table(source=["mill"], period=["dry"], tonnes=[0.0]),
        stock=table(yard=["hill"], feedstock=["husk"], period=["dry"], tonnes=[0.0]),
        charges=table(
            yard=["hill"] * 6,
            feedstock=["husk"] * 3 + ["fish"] * 3,
            period=list(PERIODS) * 2,
            tonnes=[100.0] * 3 + [50.0] * 3,
        ),
        water=table(yard=["hill"] * 3, period=list(PERIODS), tonnes=[40.0] * 3),
        compost=table(
            yard=["hill"] * 3,
            period=list(PERIODS),
            made_t=[80.0] * 3,
            stock_t=[0.0] * 3,
            leftover_t=[30.0] * 3,
        ),
        hired=table(truck=["light"], yard=["hill"], period=["dry"], hours=[0.0]),
        shortages=table(
            how=[], limit=[], what=[], where=[], when=[], amount=[], unit=[], words=[]
        ),
        worth=table(
            kind=["pad", "supply"],
            where=["hill", "port"],
            when=["dry", "wet"],
            value=[2.0, 9.0],
            unit=["m3", "t"],
            words=["1 m3 more pad at Hill yard saves 2", "1 t more at Port saves 9"],
        ),
    )
    return replace(found, **changes)


def lanes():
    return table(
        kind=["in"] * 6 + ["out"] * 3,
        origin=["mill"] * 3 + ["port"] * 3 + ["hill"] * 3,
        destination=["hill"] * 6 + ["paddy"] * 3,
        material=["husk"] * 3 + ["fish"] * 3 + ["compost"] * 3,
        truck=["light"] * 9,
        period=list(PERIODS) * 3,
        tonnes=[100.0] * 3 + [50.0] * 3 + [50.0] * 3,
        km=[7.0] * 3 + [12.0] * 3 + [3.0] * 3,
        trips=[40.0] * 3 + [12.5] * 3 + [12.5] * 3,
        hours=[60.0] * 3 + [30.0] * 3 + [20.0] * 3,
        vehicle_km=[560.0] * 3 + [300.0] * 3 + [75.0] * 3,
        fuel_l=[100.0] * 3 + [50.0] * 3 + [20.0] * 3,
        fuel=[1000.0] * 3 + [500.0] * 3 + [200.0] * 3,
        repair=[0.0] * 9,
        crew=[0.0] * 9,
        fare=[0.0] * 9,
        money=[1000.0] * 3 + [500.0] * 3 + [200.0] * 3,
    )


def mixes():
    return table(
        yard=["hill"] * 3,
        size=["small"] * 3,
        period=list(PERIODS),
        charge_t=[150.0] * 3,
        water_t=[40.0] * 3,
        turning_water_t=[30.0] * 3,
        cn=[28.0, 29.5, 31.0],
        cn_available=[20.0, 21.0, 22.0],
        nitrogen_lost=[0.45, 0.425, 0.4],
        moisture=[0.52, 0.55, 0.58],
        density_kg_m3=[400.0] * 3,
        windrow_m3=[480.0] * 3,
        pad_m3=[600.0] * 3,
        pad_used=[0.8] * 3,
        product_t=[80.0] * 3,
        n=[0.018] * 3,
        p2o5=[0.01] * 3,
        k2o=[0.006] * 3,
        product_cn=[15.0] * 3,
    )


def ledger():
    return table(
        account=["haulage in", "yards", "compost"],
        line=["fuel", "works annuity", "sale"],
        place=["hill", "hill", "paddy"],
        period=["dry", "year", "dry"],
        quantity=[450.0, 1.0, 150.0],
        unit=["L", "year", "t"],
        rate=[10.0, 8000.0, -20.0],
        amount=[4500.0, 8500.0, -3000.0],
    )


def summary():
    return {
        "status": "optimal",
        "objective": 10_000.0,
        "bound": 9_960.0,
        "gap": 0.004,
        "seconds": 1.5,
        "currency": "shells",
        "yards_open": 1,
        "collected_t": {"husk": 300.0, "fish": 150.0, "straw": 0.0, "all": 450.0},
        "collected_share": {"husk": 1.0, "fish": 1.0, "straw": 0.0, "all": 450 / 540},
        "uncollected_t": 90.0,
        "compost_t": 240.0,
        "haul_cost": 5_100.0,
        "total_cost": 10_000.0,
        "programme_cost": 10_000.0,
        "sources_pay": 0.0,
        "cost_per_t_collected": 10_000 / 450,
        "cn_min": 28.0,
        "cn_max": 31.0,
        "cn_available_min": 20.0,
        "cn_available_max": 22.0,
        "moisture_min": 0.52,
        "moisture_max": 0.58,
        "audit_passed": True,
        "travel_basis": "roads",
    }


def scenario(name="Eastmill", story="An invented isle."):
    parts = tables(name)
    settings = settings_from(
        {"name": name, "currency": "shells", "story": story, "mix.cn_low": 25}
    )
    used = table(
        table=["settings", "materials"],
        key=["", "husk"],
        column=["mix.cn_high", "p2o5"],
        value=["40", "0"],
    )
    return SimpleNamespace(
        path=None,
        settings=settings,
        tables=parts,
        defaults_used=used,
        accepted=(),
        table={**parts, "years": NO_YEARS}.__getitem__,
        **parts,
    )


def crow_km(district):
    """Ways of the tiny district: 1.4 times the line, by pairs of sites. [km]"""

    def at(kind, codes):
        places = district.tables[f"{kind}s"].set_index(kind).loc[list(codes)]
        return places[["lon", "lat"]].to_numpy(dtype=float)

    def shortest_km(kind, codes, yards):
        apart = at(kind, codes)[:, None] - at("yard", yards)[None]
        return 1.4 * 111.2 * np.sqrt((apart**2).sum(axis=2))

    return shortest_km


class Planned(SimpleNamespace):
    """A result whose lanes are driven as they stand."""

    @property
    def driven(self):
        """Lanes less what pairing saves."""
        return net_of_paired_trips(self.lanes, self.paired_trips)


def result(name="Eastmill", story="An invented isle.", **plan_changes):
    """Return the tiny district, planned; `name` names the district and the mill."""
    district = scenario(name, story)
    return Planned(
        scenario=district,
        supply=yearly_supply(district),
        travel=SimpleNamespace(
            basis="roads", driven=None, shortest_km=crow_km(district)
        ),
        instance=None,
        plan=plan(**plan_changes),
        mixes=mixes(),
        lanes=lanes(),
        paired_trips=no_savings(),
        range_ends=pd.DataFrame(),
        money_range=pd.DataFrame(),
        limited=table(
            substance=["n"], market=["orchard"], kg_ha=[31.5], limit_kg_ha=[90.0]
        ),
        ledger=ledger(),
        audit=table(
            check=["mass"], rows=[27], worst=[0.0], tolerance=[1e-6], passed=[True]
        ),
        summary=summary(),
    )


def without_yards():
    """Return the tiny district with a plan that builds nothing."""
    planned = result()
    empty = {
        name: frame.iloc[:0]
        for name, frame in vars(planned.plan).items()
        if isinstance(frame, pd.DataFrame) and name != "uncollected"
    }
    planned = result(**empty)
    for name in ("lanes", "mixes", "ledger"):
        setattr(planned, name, getattr(planned, name).iloc[:0])
    return planned
