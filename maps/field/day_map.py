"""Rounds of a period -> rounds_map.html: the trucks of a chosen day, along the road."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from logistics.land import parts
from logistics.rounds import calls
from logistics.scenario import records
from maps.field.driven_tables import clock, place_names, short_truck, truck_letter
from maps.field.round_lines import leg_lines
from maps.geo import frame, land, leaflet, leaflet_map
from maps.geo import line as packed_line
from maps.shared import filled, names, own_script, own_style, policy, script_json

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds import Driven

Data = dict[str, Any]
SCRIPTS = ("tools.js", "unpack.js", "base.js", "rounds.js")
CAUTION = (
    "Planned from tables and road speeds; nobody has driven it yet. Follow the run "
    "sheet; the driver decides. Local traffic rules and road closures override this "
    "map."
)


def rounds_data(result: Result, driven: Driven) -> Data:
    """
    Everything that the page draws from.

    Returns
    -------
    dict
        places: kind, name, spot; ways: lines, each once; days: working day -> tours,
        a tour as letter, name, type, own or hired, yard, home of the truck, leaves,
        back, km, tonnes, calls; a call as place, trip, way, loaded on it, kind,
        freight, tonnes, m3, arrives.
    """
    table = calls(driven)
    drawn = leg_lines(result, driven.period, table)
    label, freight = place_names(result), names(result, "material")
    truck = names(result, "truck")
    spots: dict[tuple[str, str], int] = {}
    places: list[list[object]] = []
    ways: dict[str, int] = {}
    days: dict[str, list[Data]] = {}
    for (day, name), tour in table.groupby(["day", "truck"], sort=False):
        rows, found = records(tour), []
        for row, n in zip(rows, tour.index, strict=True):
            key = row["kind"], row["place"]
            if key not in spots:
                spots[key] = len(places)
                end = packed_line([drawn[n][-1]])
                places.append([row["kind"], label[row["place"]], end])
            way = ways.setdefault(packed_line(drawn[n]), len(ways))
            found.append(
                [
                    spots[key],
                    row["trip"],
                    way,
                    int(row["load_t"] > 1e-9),
                    freight.get(row["material"], ""),
                    round(row["tonnes"], 2),
                    round(row["m3"], 1),
                    clock(row["arrives_h"]),
                    clock(row["ends_h"]),
                ]
            )
        tours = days.setdefault(str(day), [])
        tours.append(
            {
                "letter": truck_letter(len(tours)),
                "name": short_truck(str(name), rows[0]["home"]),
                "type": truck.get(rows[0]["type"], rows[0]["type"]),
                "whose": rows[0]["whose"],
                "yard": label[rows[0]["yard"]],
                "home": label[rows[0]["home"]],
                "leaves": clock(rows[0]["leaves_h"]),
                "back": clock(rows[-1]["ends_h"]),
                "km": round(float(tour["km"].sum()), 1),
                "t": round(float(tour.loc[tour["kind"] != "yard", "tonnes"].sum()), 2),
                "calls": found,
            }
        )
    settings = result.scenario.settings
    return {
        "name": settings.name,
        "period": names(result, "period").get(driven.period, driven.period),
        "frame": frame(settings.district),
        "land": [
            {**piece, "parts": [packed_line(part) for part in piece["parts"]]}
            for piece in land(result)
        ],
        "roads": [
            {"class": row["class"], "parts": [packed_line(p) for p in lines]}
            for row in records(result.scenario.tables["roads"])
            for lines in [parts(row["wkt"])[1]]
        ],
        "yards": [
            [label[row["yard"]], packed_line([(row["lon"], row["lat"])])]
            for row in records(result.scenario.yards)
            if row["yard"] in set(result.plan.yards["yard"])
        ],
        "straight": result.travel.driven is None,
        "places": places,
        "ways": list(ways),
        "days": days,
    }


def rounds_map(result: Result, driven: Driven) -> str:
    """Make the page; the same rounds give the same text."""
    element, start = leaflet_map(result)
    scripts = [leaflet("leaflet.js"), own_script(SCRIPTS, start)]
    styles = [leaflet("leaflet.css"), own_style("map.css", "rounds.css")]
    data = rounds_data(result, driven)
    return filled(
        "rounds.html.j2",
        name=result.scenario.settings.name,
        period=data["period"],
        days=list(data["days"]),
        caution=CAUTION,
        data=script_json(data),
        policy=policy(styles, scripts, ""),
        scripts=[Markup(text) for text in scripts],
        styles=[Markup(text) for text in styles],
        map_div=Markup(element),
    )


def write_rounds_map(result: Result, driven: Driven, path: Path) -> None:
    """Write rounds_map.html at `path`."""
    path.write_text(rounds_map(result, driven), encoding="utf-8", newline="\n")
