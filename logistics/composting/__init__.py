"""Feedstocks, mixes, windrows, ripening and nutrients: the physics, without money."""

from logistics.composting.dressing import (
    content_by_yard,
    dressing_by_market,
    inside_compost,
)
from logistics.composting.materials import (
    feedstocks,
    properties,
    source_feedstock,
    spoils,
)
from logistics.composting.mixing import describe_mix
from logistics.composting.nitrogen import nitrogen_bounds, nitrogen_kept, nitrogen_lost
from logistics.composting.nutrients import (
    NUTRIENTS,
    fertiliser_saving,
    first_year,
    leftover_nitrogen,
    over_rotation,
)
from logistics.composting.pile_faults import RICHER, WETTER, corrections
from logistics.composting.process import keeping, store_content
from logistics.composting.product import carbon_left
from logistics.composting.ripe_days import by_period, ready_by_day, sent_by_day
from logistics.composting.supply import (
    seasonal_demand,
    seasonal_supply,
    yearly_demand,
    yearly_supply,
)
from logistics.composting.windrow import pad_m3, section_area
from logistics.composting.windrow_life import (
    WEEK,
    Batch,
    batches,
    batches_of,
    life,
    pad_by_day,
    pad_moments,
    period_of_day,
    year_days,
)

__all__ = [
    "NUTRIENTS",
    "RICHER",
    "WEEK",
    "WETTER",
    "Batch",
    "batches",
    "batches_of",
    "by_period",
    "carbon_left",
    "content_by_yard",
    "corrections",
    "describe_mix",
    "dressing_by_market",
    "feedstocks",
    "fertiliser_saving",
    "first_year",
    "inside_compost",
    "keeping",
    "leftover_nitrogen",
    "life",
    "nitrogen_bounds",
    "nitrogen_kept",
    "nitrogen_lost",
    "over_rotation",
    "pad_by_day",
    "pad_m3",
    "pad_moments",
    "period_of_day",
    "properties",
    "ready_by_day",
    "seasonal_demand",
    "seasonal_supply",
    "section_area",
    "sent_by_day",
    "source_feedstock",
    "spoils",
    "store_content",
    "year_days",
    "yearly_demand",
    "yearly_supply",
]
