"""Feedstocks: what each material is made of, and whose laboratory says so."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

if TYPE_CHECKING:
    from logistics.scenario import Scenario

LAB_COLUMNS = {
    "lab_moisture": "moisture",
    "lab_carbon": "carbon",
    "lab_nitrogen": "nitrogen",
    "lab_available_carbon": "available_carbon",
}
"""Column of the table sources -> the feedstock property that it replaces."""

FEEDSTOCK_COLUMNS = (
    "feedstock",
    "material",
    "name",
    "moisture",
    "carbon",
    "nitrogen",
    "p2o5",
    "k2o",
    "ash",
    "salt",
    "available_carbon",
    "moisture_range",
    "carbon_range",
    "nitrogen_range",
    "loose_t_m3",
    "hauled_t_m3",
    "keep_hours",
    "store_loss",
    "dry_matter_loss",
    "structure",
)

SPOILS_HOURS = 72.0
"""Feedstock that keeps this long or less spoils; what has no limit keeps. [h]"""


def spoils(table: pd.DataFrame) -> NDArray[np.bool_]:
    """
    Tell which materials or feedstocks spoil.

    What spoils is fetched in time, covered on arrival, kept apart from clean loads
    (the truck is washed out after it), and kept further from homes.

    Parameters
    ----------
    table
        Column keep_hours: hours it keeps, empty where it keeps for good. [h]

    Returns
    -------
    ndarray
        One flag a row, in order.

    Examples
    --------
    >>> spoils(pd.DataFrame({"keep_hours": [12.0, 72.0, 72.1, None]})).tolist()
    [True, True, False, False]
    """
    keep: NDArray[np.float64] = table["keep_hours"].to_numpy(dtype=float)
    return keep <= SPOILS_HOURS


def properties(materials: pd.DataFrame) -> pd.DataFrame:
    """
    Turn rows of the table materials into feedstocks of the same codes.

    Parameters
    ----------
    materials
        Typed table: percentages as shares, densities in kg/m3.

    Returns
    -------
    DataFrame
        Columns feedstock, material, name; moisture, salt [share of wet mass];
        carbon, nitrogen, p2o5, k2o, ash [share of dry mass]; available_carbon
        [share of carbon]; moisture_range [of the wet mass], carbon_range,
        nitrogen_range [of their values], each either way; loose_t_m3, hauled_t_m3
        [t/m3]; keep_hours [h], empty where it keeps; store_loss [share per 30 days];
        dry_matter_loss [share of dry mass]; structure.
    """
    table: pd.DataFrame = materials.assign(
        feedstock=materials["material"],
        loose_t_m3=materials["loose_kg_m3"] / 1000,
        hauled_t_m3=materials["hauled_kg_m3"] / 1000,
    )
    return table[list(FEEDSTOCK_COLUMNS)]


def _has_lab(sources: pd.DataFrame) -> pd.Series[bool]:
    """Whether a source brings any laboratory value of its own."""
    return sources[list(LAB_COLUMNS)].notna().any(axis=1)


def source_feedstock(scenario: Scenario) -> pd.Series[str]:
    """
    Feedstock code of every source.

    A source with a laboratory value has a feedstock of its own, called
    `material__source`; the others share the code of their material.

    Parameters
    ----------
    scenario
        Tables sources and materials.

    Returns
    -------
    Series
        Feedstock codes, index source.
    """
    sources = scenario.sources
    own = sources["material"] + "__" + sources["source"]
    codes = sources["material"].where(~_has_lab(sources), own)
    return pd.Series(
        codes.to_numpy(),
        index=pd.Index(sources["source"], name="source"),
        name="feedstock",
    )


def feedstocks(scenario: Scenario) -> pd.DataFrame:
    """
    List the feedstocks that at least one source brings.

    A laboratory value beats the default; the properties that the laboratory did
    not report stay those of the material.

    Parameters
    ----------
    scenario
        Tables sources and materials.

    Returns
    -------
    DataFrame
        One row a feedstock, columns as in `properties`: first the materials in
        the order of their table, then the laboratory's in the order of the sources.
    """
    sources = scenario.sources
    table = properties(scenario.materials)
    has_lab = _has_lab(sources)
    shared = table[table["material"].isin(sources.loc[~has_lab, "material"])]
    lab = sources[has_lab]
    if lab.empty:
        return shared.reset_index(drop=True)
    own = lab[["source", "material"]].merge(table, on="material", how="left")
    for column, target in LAB_COLUMNS.items():
        values = lab[column].reset_index(drop=True).astype(float)
        own[target] = values.fillna(own[target])
    own["feedstock"] = own["material"] + "__" + own["source"]
    place = lab["name"].where(lab["name"] != "", lab["source"]).reset_index(drop=True)
    own["name"] = own["name"] + " (" + place + ")"
    rows = [shared, own[list(FEEDSTOCK_COLUMNS)]]
    return pd.concat([part for part in rows if len(part)], ignore_index=True)
