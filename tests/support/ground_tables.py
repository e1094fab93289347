"""Small typed tables made by hand for the tests of materials, supply and travel."""

from types import SimpleNamespace

import numpy as np
import pandas as pd

MATERIALS = pd.DataFrame(
    {
        "material": ["husk", "fish", "straw"],
        "name": ["Rice husk", "Fish waste", "Rice straw"],
        "moisture": [0.12, 0.76, 0.15],
        "carbon": [0.37, 0.382, 0.40],
        "nitrogen": [0.0035, 0.106, 0.0065],
        "p2o5": [0.003, 0.05, 0.002],
        "k2o": [0.004, 0.01, 0.017],
        "ash": [0.20, 0.21, 0.14],
        "salt": [0.0, 0.01, 0.0],
        "available_carbon": [1.0, 1.0, 1.0],
        "moisture_range": [0.0, 0.0, 0.0],
        "carbon_range": [0.0, 0.0, 0.0],
        "nitrogen_range": [0.0, 0.0, 0.0],
        "loose_kg_m3": [110.0, 950.0, 60.0],
        "hauled_kg_m3": [130.0, 950.0, 110.0],
        "keep_hours": [np.nan, 12.0, np.nan],
        "store_loss": [0.0, 0.0, 0.02],
        "dry_matter_loss": [0.22, 0.35, 0.35],
        "structure": [True, False, True],
        "colour": ["", "", ""],
        "status": ["default, not local"] * 3,
        "source": [""] * 3,
    }
)

SOURCE_DEFAULTS = {
    "name": "",
    "basis": "tonnes",
    "waste": np.nan,
    "yield_t_ha": np.nan,
    "residue_ratio": np.nan,
    "kg_per_head_day": np.nan,
    "recoverable": 1.0,
    "conversion_source": "",
    "season": "even",
    "lab_moisture": np.nan,
    "lab_carbon": np.nan,
    "lab_nitrogen": np.nan,
    "lab_available_carbon": np.nan,
    "lon": 0.0,
    "lat": 0.0,
}

ROAD_DEFAULTS = {
    "name": "",
    "class": "gravel",
    "bridge": False,
    "oneway": False,
    "speed_kmh": np.nan,
    "max_gross_t": np.nan,
    "wait_minutes": 0.0,
    "fare_per_trip": 0.0,
    "closed_periods": (),
}


def rows(records, defaults=None):
    """Table with a default for every column a record leaves out."""
    return pd.DataFrame([{**(defaults or {}), **record} for record in records])


def roads(*records):
    """Table roads; each record needs a wkt."""
    given = [{"road": f"r{i}", **record} for i, record in enumerate(records)]
    columns = ["road", *ROAD_DEFAULTS, "wkt"]
    if not given:
        return pd.DataFrame({c: pd.Series(dtype=object) for c in columns})
    return rows(given, ROAD_DEFAULTS)[columns]


def points(kind, places):
    """Table of one kind of site: code -> (lon, lat)."""
    return pd.DataFrame(
        {
            kind: list(places),
            "lon": [p[0] for p in places.values()],
            "lat": [p[1] for p in places.values()],
        }
    )


def scenario(**changes):
    """Two periods, one truck, an even season and no sites unless given."""
    tables = {
        "materials": MATERIALS,
        "sources": points("source", {}),
        "yards": points("yard", {}),
        "markets": points("market", {}),
        "periods": pd.DataFrame(
            {"period": ["dry", "wet"], "season_speed": [1.0, 0.5]},
        ),
        "calendar": pd.DataFrame(
            {
                "season": ["even", "even", "dry_only"],
                "period": ["dry", "wet", "dry"],
                "share": [0.5, 0.5, 1.0],
            }
        ),
        "trucks": rows(
            [{"truck": "t4", "payload_t": 4.0, "tare_t": 3.0, "speed_factor": 1.0}]
        ),
        "roads": roads(),
        "settings": SimpleNamespace(
            travel=SimpleNamespace(
                circuity_near=1.6,
                circuity_middle=1.4,
                circuity_far=1.3,
                straight_kmh=30.0,
                access_kmh=15.0,
                access_limit_km=5.0,
            ),
            process=SimpleNamespace(
                active_days=56, nitrogen_loss=0.30, product_moisture=0.35
            ),
            windrow=SimpleNamespace(
                section="parabola",
                base_m=3.0,
                height_m=1.5,
                aisle_m=3.0,
                packing=0.5,
                mean_volume=0.75,
                reserve=0.75,
            ),
        ),
    }
    return SimpleNamespace(**{**tables, **changes})
