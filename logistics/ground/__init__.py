"""The ground under a plan: map extracts, outlines and rasters brought in."""

from logistics.ground.around import district_area, in_degrees, plane_of
from logistics.ground.extract import PREFIX, GroundImport, import_ground
from logistics.ground.extract_files import is_map, road_layer
from logistics.ground.head_counts import BLOCK_M, heads_within
from logistics.ground.rasters import ENDINGS
from logistics.ground.recipe import (
    FILE,
    GroundRecipe,
    ground_recipe_text,
    read_ground_recipe,
    with_asked,
)
from logistics.ground.screen_homes import for_a_screen
from logistics.ground.sites_on_map import site_facts
from logistics.ground.slopes import site_slopes_pct

__all__ = [
    "BLOCK_M",
    "ENDINGS",
    "FILE",
    "PREFIX",
    "GroundImport",
    "GroundRecipe",
    "district_area",
    "for_a_screen",
    "ground_recipe_text",
    "heads_within",
    "import_ground",
    "in_degrees",
    "is_map",
    "plane_of",
    "read_ground_recipe",
    "road_layer",
    "site_facts",
    "site_slopes_pct",
    "with_asked",
]
