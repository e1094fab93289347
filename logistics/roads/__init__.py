"""Roads as a graph; km, hours and fares between sites; other makers' roads."""

from logistics.roads.geometry import circuitous_km, geodesic_km
from logistics.roads.importing.cut_off_parts import road_warnings
from logistics.roads.importing.run import RoadImport, import_roads
from logistics.roads.importing.tags import hstore
from logistics.roads.load import load_on_roads, shifted_by_paired_trips
from logistics.roads.routes import Line, lines
from logistics.roads.travel_matrices import (
    STRAIGHT,
    Travel,
    TravelState,
    access_problems,
    sites,
    travel,
)

__all__ = [
    "STRAIGHT",
    "Line",
    "RoadImport",
    "Travel",
    "TravelState",
    "access_problems",
    "circuitous_km",
    "geodesic_km",
    "hstore",
    "import_roads",
    "lines",
    "load_on_roads",
    "road_warnings",
    "shifted_by_paired_trips",
    "sites",
    "travel",
]
