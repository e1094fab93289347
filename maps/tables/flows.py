"""Output tables of tonnes: yards, hauls, mixes, stock, supply, compost, deliveries."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.composting import feedstocks, seasonal_demand, seasonal_supply
from maps.shared import (
    feedstock_name,
    named,
    names,
    own_trucks_at,
    period_order,
    yard_status,
)

if TYPE_CHECKING:
    from logistics.results import Result


def yards(result: Result) -> pd.DataFrame:
    """Every yard and candidate: size, status, what it takes in and gives out."""
    table = result.scenario.tables["yards"].set_index("yard")
    code = table.index.to_series().reset_index(drop=True)
    size = dict(zip(result.plan.yards["yard"], result.plan.yards["size"], strict=True))
    room = result.scenario.tables["yard_sizes"].set_index("size")
    lanes, material = result.lanes, names(result, "material")
    taken = lanes[lanes["kind"] == "in"]
    by_material = taken.pivot_table(
        index="destination", columns="material", values="tonnes", aggfunc="sum"
    ).reindex(table.index, fill_value=0.0)
    mixes = result.mixes[result.mixes["charge_t"] > 0].groupby("yard")
    compost = result.plan.compost.groupby("yard")
    sent = result.plan.deliveries.groupby("yard")["tonnes"].sum()
    water = mixes[["water_t", "turning_water_t"]].sum()
    added = water.sum(axis=1)
    homes = own_trucks_at(result)
    lowest, highest = mixes.min(numeric_only=True), mixes.max(numeric_only=True)
    columns: dict[str, object] = {
        "yard": code,
        "name": named(code, names(result, "yard")),
        "district": named(table["district"], names(result, "district")).to_numpy(),
        "status": code.map(yard_status(result)),
        "size": named(code.map(lambda yard: size.get(yard, "")), names(result, "size")),
        "built already": named(
            table["existing_size"].reset_index(drop=True), names(result, "size")
        ),
        "site [m2]": code.map(size).map(room["site_m2"]),
        "pad [m2]": code.map(size).map(room["pad_m2"]),
        "longitude [degrees]": table["lon"].to_numpy(),
        "latitude [degrees]": table["lat"].to_numpy(),
        "own trucks at home": code.map(lambda yard: homes.get(yard, "")),
        "intake [t/yr]": by_material.sum(axis=1).fillna(0.0).to_numpy(),
    }
    for base, tonnes in by_material.items():
        label = f"{material.get(str(base), base)} taken in [t/yr]"
        columns[label] = tonnes.fillna(0.0).to_numpy()
    columns |= {
        "water added [m3/yr]": code.map(added).fillna(0.0),
        "of it at mixing [m3/yr]": code.map(water["water_t"]).fillna(0.0),
        "of it while turning [m3/yr]": code.map(water["turning_water_t"]).fillna(0.0),
        "compost made [t/yr]": code.map(compost["made_t"].sum()).fillna(0.0),
        "compost delivered [t/yr]": code.map(sent).fillna(0.0),
        "compost left over [t/yr]": code.map(compost["leftover_t"].sum()).fillna(0.0),
        "fullest pad [%]": code.map(highest["pad_used"]) * 100,
        "lowest C:N": code.map(lowest["cn"]),
        "highest C:N": code.map(highest["cn"]),
        "lowest available C:N": code.map(lowest["cn_available"]),
        "highest available C:N": code.map(highest["cn_available"]),
        "driest mix [% water]": code.map(lowest["moisture"]) * 100,
        "wettest mix [% water]": code.map(highest["moisture"]) * 100,
    }
    return pd.DataFrame(columns)


def hauls(result: Result) -> pd.DataFrame:
    """Every lane, truck and period: tonnes, trips, km, hours and money."""
    lanes, currency = result.lanes, result.scenario.settings.currency
    inward = lanes["kind"] == "in"
    source, yard = names(result, "source"), names(result, "yard")
    market = names(result, "market")
    start = named(lanes["origin"], source).where(inward, named(lanes["origin"], yard))
    end = named(lanes["destination"], yard)
    end = end.where(inward, named(lanes["destination"], market))
    return pd.DataFrame(
        {
            "direction": lanes["kind"].map({"in": "to yard", "out": "to market"}),
            "from": lanes["origin"],
            "from name": start,
            "to": lanes["destination"],
            "to name": end,
            "material": named(lanes["material"], names(result, "material")),
            "truck": named(lanes["truck"], names(result, "truck")),
            "period": named(lanes["period"], names(result, "period")),
            "tonnes [t]": lanes["tonnes"],
            "one way [km]": lanes["km"],
            "trips [1]": lanes["trips"],
            "truck time [h]": lanes["hours"],
            f"cost [{currency}]": lanes["money"],
        }
    ).reset_index(drop=True)


def demand_met(result: Result) -> pd.DataFrame:
    """Columns market, period, demand [t], tonnes [t]: what markets ask and get."""
    keys = ["market", "period"]
    sent = result.plan.deliveries.groupby(keys, as_index=False)["tonnes"].sum()
    asked = seasonal_demand(result.scenario).rename(columns={"tonnes": "demand"})
    return asked.merge(sent, on=keys, how="left").fillna({"tonnes": 0.0})


def deliveries(result: Result) -> pd.DataFrame:
    """Every market and period: demand, delivery and what is missing."""
    table = demand_met(result)
    crop = result.scenario.tables["markets"].set_index("market")["crop"]
    return pd.DataFrame(
        {
            "market": table["market"],
            "name": named(table["market"], names(result, "market")),
            "crop": table["market"].map(crop),
            "period": named(table["period"], names(result, "period")),
            "demand [t]": table["demand"],
            "delivered [t]": table["tonnes"],
            "not met [t]": (table["demand"] - table["tonnes"]).clip(lower=0),
        }
    )


def mixes(result: Result) -> pd.DataFrame:
    """Recipe of every yard and period, and what it gives."""
    table = result.mixes
    charged = result.plan.charges.assign(
        label=feedstock_name(result, result.plan.charges["feedstock"])
    ).pivot_table(
        index=["yard", "period"], columns="label", values="tonnes", aggfunc="sum"
    )
    rows = pd.MultiIndex.from_frame(table[["yard", "period"]])
    columns: dict[str, object] = {
        "yard": table["yard"],
        "name": named(table["yard"], names(result, "yard")),
        "period": named(table["period"], names(result, "period")),
        "charge [t]": table["charge_t"],
    }
    for label, tonnes in charged.reindex(rows).fillna(0.0).items():
        columns[f"{label} charged [t]"] = tonnes.to_numpy()
    percent = {
        "moisture": "moisture [% of wet mass]",
        "pad_used": "pad used [%]",
        "lost": "nitrogen lost [% of nitrogen]",
        "n": "compost N [% of dry mass]",
        "p2o5": "compost P2O5 [% of dry mass]",
        "k2o": "compost K2O [% of dry mass]",
    }
    columns |= {
        "salt in it [t]": _salt(result).reindex(rows).fillna(0.0).to_numpy(),
        "water added [m3]": table["water_t"] + table["turning_water_t"],
        "of it at mixing [m3]": table["water_t"],
        "of it while turning [m3]": table["turning_water_t"],
        "C:N": table["cn"],
        "available C:N": table["cn_available"],
        percent["moisture"]: table["moisture"] * 100,
        "additive density [kg/m3]": table["density_kg_m3"],
        "windrows [m3]": table["windrow_m3"],
        "room on the pad [m3]": table["pad_m3"],
        percent["pad_used"]: table["pad_used"] * 100,
        "compost from it [t]": table["product_t"],
        percent["lost"]: table["nitrogen_lost"] * 100,
        **{percent[name]: table[name] * 100 for name in ("n", "p2o5", "k2o")},
        "compost C:N": table["product_cn"],
    }
    return pd.DataFrame(columns).reset_index(drop=True)


def _salt(result: Result) -> pd.Series[float]:
    """Salt in what goes into windrows, by yard and period. [t]"""
    salt = feedstocks(result.scenario).set_index("feedstock")["salt"]
    charges = result.plan.charges
    tonnes = charges["feedstock"].map(salt) * charges["tonnes"]
    return tonnes.groupby([charges["yard"], charges["period"]]).sum()


def stock(result: Result) -> pd.DataFrame:
    """Feedstock in store at the end of every period."""
    table = result.plan.stock
    return pd.DataFrame(
        {
            "yard": table["yard"],
            "name": named(table["yard"], names(result, "yard")),
            "feedstock": feedstock_name(result, table["feedstock"]),
            "period": named(table["period"], names(result, "period")),
            "in store at its end [t]": table["tonnes"],
        }
    ).reset_index(drop=True)


def collection(result: Result) -> pd.DataFrame:
    """Columns source, period; supply, collected, held and uncollected in [t]."""
    keys = ["source", "period"]
    lanes = result.lanes[result.lanes["kind"] == "in"]
    taken = lanes.rename(columns={"origin": "source"}).groupby(keys)["tonnes"].sum()
    parts = {
        "supply": seasonal_supply(result.scenario).groupby(keys)["tonnes"].sum(),
        "collected": taken,
        "held": result.plan.held.groupby(keys)["tonnes"].sum(),
        "uncollected": result.plan.uncollected.groupby(keys)["tonnes"].sum(),
    }
    rows = pd.MultiIndex.from_product(
        [result.scenario.tables["sources"]["source"], period_order(result)], names=keys
    )
    return pd.DataFrame(parts).reindex(rows).fillna(0.0).reset_index()


def supply(result: Result) -> pd.DataFrame:
    """Every source: its yearly supply in words and figures, and what becomes of it."""
    yearly = result.supply.set_index("source")
    table = result.scenario.tables["sources"]
    code = table["source"]
    year = collection(result).groupby("source").sum(numeric_only=True)
    forced = table.get("must_collect", pd.Series(data=False, index=table.index))
    return pd.DataFrame(
        {
            "source": code,
            "name": named(code, names(result, "source")),
            "material": named(table["material"], names(result, "material")),
            "district": named(table["district"], names(result, "district")),
            "supply [t/yr]": code.map(yearly["tonnes_per_year"]),
            "collected [t/yr]": code.map(year["collected"]),
            "left uncollected [t/yr]": code.map(year["uncollected"]),
            "how the supply was reckoned": code.map(yearly["conversion"]),
            "where the figures come from": code.map(yearly["conversion_source"]),
            "today uncollected material is": table["disposal"],
            "must be collected": forced.map({True: "yes", False: "no"}),
        }
    )


def uncollected(result: Result) -> pd.DataFrame:
    """Every source and period with something left uncollected."""
    table = collection(result)
    table = table[table["uncollected"] > 1e-6].reset_index(drop=True)
    sources = result.scenario.tables["sources"].set_index("source")
    return pd.DataFrame(
        {
            "source": table["source"],
            "name": named(table["source"], names(result, "source")),
            "material": named(
                table["source"].map(sources["material"]), names(result, "material")
            ),
            "period": named(table["period"], names(result, "period")),
            "supply [t]": table["supply"],
            "left uncollected [t]": table["uncollected"],
            "as today": table["source"].map(sources["disposal"]),
        }
    )


def compost(result: Result) -> pd.DataFrame:
    """Compost of every yard and period: ready, in store, delivered, left over."""
    keys = ["yard", "period"]
    parts = result.plan.compost.groupby(keys)[["made_t", "leftover_t", "stock_t"]].sum()
    parts["sent"] = 0.0
    sent = result.plan.deliveries.groupby(keys)["tonnes"].sum()
    used = [str(code) for code in result.plan.yards["yard"]]
    rows = pd.MultiIndex.from_product([used, period_order(result)], names=keys)
    table = parts.reindex(rows).fillna(0.0)
    table["sent"] = sent.reindex(rows).fillna(0.0)
    table = table.reset_index()
    return pd.DataFrame(
        {
            "yard": table["yard"],
            "name": named(table["yard"], names(result, "yard")),
            "period": named(table["period"], names(result, "period")),
            "ready [t]": table["made_t"],
            "delivered [t]": table["sent"],
            "left over [t]": table["leftover_t"],
            "in store at its end [t]": table["stock_t"],
        }
    )


def collected_by_material(result: Result) -> pd.DataFrame:
    """
    Supply and collection of every material over the year.

    Returns
    -------
    DataFrame
        Index material (base code); columns supply, collected. [t/yr]
    """
    lanes = result.lanes[result.lanes["kind"] == "in"]
    parts = {
        "supply": result.supply.groupby("material")["tonnes_per_year"].sum(),
        "collected": lanes.groupby("material")["tonnes"].sum(),
    }
    materials = result.scenario.tables["materials"]["material"]
    return pd.DataFrame(parts).reindex(materials).fillna(0.0)
