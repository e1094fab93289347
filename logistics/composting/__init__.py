"""Feedstocks, mixes, windrows, ripening and nutrients: the physics, without money."""

from logistics.composting.dressing import (
    LEAST_KG_HA,
    content_by_yard,
    dressing_by_market,
    over_limits,
)
from logistics.composting.materials import (
    feedstocks,
    properties,
    source_feedstock,
    spoils,
)
from logistics.composting.mixing import describe_mix, nitrogen_kept
from logistics.composting.nutrients import (
    FIRST_YEAR,
    NUTRIENTS,
    OVER_ROTATION,
    fertiliser_saving,
)
from logistics.composting.process import fullest, keeping, moments, occupancy, ripening
from logistics.composting.supply import (
    seasonal_demand,
    seasonal_supply,
    yearly_demand,
    yearly_supply,
)
from logistics.composting.windrow import pad_m3, section_area

__all__ = [
    "FIRST_YEAR",
    "LEAST_KG_HA",
    "NUTRIENTS",
    "OVER_ROTATION",
    "content_by_yard",
    "describe_mix",
    "dressing_by_market",
    "feedstocks",
    "fertiliser_saving",
    "fullest",
    "keeping",
    "moments",
    "nitrogen_kept",
    "occupancy",
    "over_limits",
    "pad_m3",
    "properties",
    "ripening",
    "seasonal_demand",
    "seasonal_supply",
    "section_area",
    "source_feedstock",
    "spoils",
    "yearly_demand",
    "yearly_supply",
]
