"""
Result -> map.html: one file that works without a network.

Leaflet is written into the file from the installed package, the data is one block
of JSON, and a content security policy names the digest of every script and style, so
that the browser runs nothing else and loads nothing from anywhere.
"""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

import folium
import jinja2
from markupsafe import Markup

from logistics.scenario import tile_server
from maps.geo.map_contents import is_bare, map_data
from maps.geo.map_pack import packed
from maps.shared import (
    A_TONNE,
    NET,
    TO_PROGRAMME,
    filled,
    in_print,
    key_figures,
    own_script,
    own_style,
    policy,
    script_json,
    shortage_sentences,
)
from maps.tables import yards

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario

SCRIPTS = (
    "tools.js",
    "unpack.js",
    "base.js",
    "flows.js",
    "signs.js",
    "labels.js",
    "map.js",
    "charts.js",
    "card.js",
    "strip.js",
    "controls.js",
    "legend.js",
    "tables.js",
)
"""What every page with a map needs, in this order."""
SHEET = "sheet.js"
"""What draws on a map without land and roads; pages of other maps go without it."""
PAGE = "page.js"
"""What puts one plan's page together."""
HEAD_FIGURES = (
    "Yards in use",
    "Collected",
    "Share of the supply",
    "Compost",
    NET,
    TO_PROGRAMME,
    "Haulage",
    A_TONNE,
    "Proven gap",
)
TABLE_COLUMNS = (
    "name",
    "status",
    "size",
    "intake [t/yr]",
    "compost made [t/yr]",
    "lowest C:N",
    "highest C:N",
    "lowest available C:N",
    "highest available C:N",
)


class LocalMap(folium.Map):
    """A folium map that names no address, has a fixed id and lets people zoom."""

    _template = jinja2.Template(
        """
        {% macro html(this, kwargs) %}<div id="{{ this._id }}"></div>{% endmacro %}
        {% macro script(this, kwargs) %}
        function leafletMap(element) {
          return L.map(element, {
            center: {{ this.location|tojson }}, zoom: 10,
            zoomSnap: 0.25, zoomDelta: 0.5, wheelPxPerZoomLevel: 90,
            minZoom: 3, maxZoom: 17, zoomControl: false, attributionControl: false,
            zoomAnimation: false, fadeAnimation: false, markerZoomAnimation: false,
          });
        }
        {% endmacro %}
        """
    )

    def __init__(self, center: tuple[float, float]):
        super().__init__(location=center, tiles=None)
        self.default_js = []
        self.default_css = []
        self._id = "map"


def leaflet(name: str) -> str:
    """Text of a file of the installed Leaflet, without its links to other files."""
    package = resources.files("js_lib_leaflet") / "static" / "js_lib_leaflet"
    text = (package / name).read_text(encoding="utf-8")
    if name.endswith(".css"):
        return re.sub(r"[^;{}]*url\([^)]*\)[^;}]*;?", "", text)
    return re.sub(r"//# sourceMappingURL=\S+", "", text)


def leaflet_map(result: Result) -> tuple[str, str]:
    """Element and script of folium's map: the script holds a function leafletMap."""
    placed = result.scenario.tables
    table = placed["yards"] if len(placed["yards"]) else placed["sources"]
    center = (round(table["lat"].mean(), 5), round(table["lon"].mean(), 5))
    figure: Any = LocalMap(center).get_root()
    figure.render()
    return figure.html.render().strip(), figure.script.render()


def map_scripts(scenario: Scenario) -> list[str]:
    """Name the scripts of a page that shows the map of a scenario."""
    return [*SCRIPTS, *([SHEET] if is_bare(scenario) else [])]


def map_html(result: Result) -> str:
    """
    Make the map's HTML.

    Returns
    -------
    str
        One page; the same result gives the same text.
    """
    data, settings = packed(map_data(result)), result.scenario.settings
    known = [each for each in key_figures(result) if each.label in HEAD_FIGURES]
    element, start = leaflet_map(result)
    scripts = [
        leaflet("leaflet.js"),
        own_script([*map_scripts(result.scenario), PAGE], start),
    ]
    styles = [leaflet("leaflet.css"), own_style("map.css")]
    return filled(
        "map.html.j2",
        settings=settings,
        status=result.plan.status,
        figures=in_print(known, settings.currency),
        data=script_json(data),
        policy=policy(styles, scripts, tile_server(settings.map.tiles)),
        scripts=[Markup(text) for text in scripts],
        styles=[Markup(text) for text in styles],
        map_div=Markup(element),
        yards=yards(result)[list(TABLE_COLUMNS)],
        shortages=shortage_sentences(result),
    )


def write_map(result: Result, path: Path) -> None:
    """Write map.html at `path`."""
    path.write_text(map_html(result), encoding="utf-8", newline="\n")
