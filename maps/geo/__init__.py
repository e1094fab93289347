"""The plan on maps: web map, GeoPackage, KML."""

from maps.geo.geopackage import write_geopackage
from maps.geo.kml import write_kml
from maps.geo.map_contents import frame, map_data, rounded
from maps.geo.map_pack import line, packed
from maps.geo.map_roads import land
from maps.geo.web_map import leaflet, leaflet_map, map_scripts, write_map
from maps.geo.whole_scenario import write_scenario

__all__ = [
    "frame",
    "land",
    "leaflet",
    "leaflet_map",
    "line",
    "map_data",
    "map_scripts",
    "packed",
    "rounded",
    "write_geopackage",
    "write_kml",
    "write_map",
    "write_scenario",
]
