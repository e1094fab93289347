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
    NUTRIENTS,
    fertiliser_saving,
    first_year,
    over_rotation,
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
    "LEAST_KG_HA",
    "NUTRIENTS",
    "content_by_yard",
    "describe_mix",
    "dressing_by_market",
    "feedstocks",
    "fertiliser_saving",
    "first_year",
    "fullest",
    "keeping",
    "moments",
    "nitrogen_kept",
    "occupancy",
    "over_limits",
    "over_rotation",
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
