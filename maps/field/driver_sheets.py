"""Run sheets: one page a truck and day, to print and to drive by."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
from markupsafe import Markup, escape

from logistics.composting import spoils
from logistics.rounds import calls
from logistics.scenario import rows_by
from maps.field.driven_tables import DONE, clock, place_names, short_truck
from maps.report import bdi, plain
from maps.shared import amount, names

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds import Driven

STYLE = """
@page { size: A4; margin: 14mm }
body { font: 11pt/1.35 system-ui, sans-serif; color: #1c1a17; margin: 0 auto;
  max-width: 48rem; padding: 0 1rem }
section { break-after: page; border-bottom: 1px solid #999; padding: 1rem 0 }
@media print { section { border: 0 } }
h1 { font-size: 15pt; margin: 0 } p { margin: .3rem 0 }
table { border-collapse: collapse; width: 100%; margin: .7rem 0 }
th, td { text-align: left; padding: .28rem .4rem; border-bottom: 1px solid #bbb;
  vertical-align: top }
th { background: #eee8df } .n { text-align: right; font-variant-numeric: tabular-nums }
tr.yard td { background: #f4f1ea; font-weight: 600 }
.box { border: 2px solid #8a4b00; padding: .4rem .7rem } li { margin: .2rem 0 }
"""

ALWAYS = (
    "Driving limits: a break after {unbroken} h of driving, at most {day} h a day and "
    "{week} h a week, loading not counted (defaults after ILO Convention 153). Local "
    "law decides; a tired driver stops.",
    "Keep within the payload: loads are planned from tables, not weighed. Weigh where "
    "you can. Cover every load. Nobody rides on the load.",
)
SPOILING = (
    "Fish and like waste: closed, leak-proof body; gloves, boots, wash hands. Bring it "
    "in by the time beside the yard. Husk must lie ready on the pad before it arrives.",
    "Wash out the body at the yard after such a trip, where the water is caught. No "
    "compost in this body on the same day.",
)
COMPOST = (
    "Compost only in a clean body. On a shared trip it is unloaded before feedstock "
    "is loaded.",
)
YARD = (
    "In the yard: walking pace, look out for loader and turner; hot windrows steam and "
    "may hide the edge of the pad.",
)


def cautions(result: Result, tour: pd.DataFrame) -> list[str]:
    """
    Choose the cautions that a truck needs on a day.

    Notes
    -----
    Common practice, and the haulage limits named in the settings; not law.
    """
    limits = result.scenario.settings.rounds
    materials = result.scenario.materials
    short = set(materials.loc[spoils(materials), "material"])
    found = [
        text.format(
            unbroken=amount(limits.unbroken_h, 1),
            day=amount(limits.driving_day_h, 1),
            week=amount(limits.driving_week_h, 1),
        )
        for text in ALWAYS
    ]
    if set(tour["material"]) & short:
        found += SPOILING
    if (tour["kind"] == "out").any():
        found += COMPOST
    return [*found, *YARD]


def run_sheets(result: Result, driven: Driven) -> dict[int, str]:
    """Write the pages of every day: day -> HTML with one page a truck."""
    table = calls(driven)
    return {
        int(str(day)): _page(result, driven.period, int(str(day)), found)
        for day, found in table.groupby("day")
    }


def _page(result: Result, period: str, day: int, table: pd.DataFrame) -> str:
    """One file of a day."""
    title = f"Run sheets, {names(result, 'period').get(period, period)}, day {day}"
    parts = [
        _sheet(result, title, str(truck), tour)
        for truck, tour in table.groupby("truck", sort=False)
    ]
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta http-equiv="Content-Security-Policy" '
        "content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        f"<title>{escape(plain(title))}</title><style>{STYLE}</style></head><body>"
        + "\n".join(parts)
        + "</body></html>\n"
    )


def _sheet(result: Result, title: str, truck: str, tour: pd.DataFrame) -> Markup:
    """One page: stops in order, totals, cautions, lines to sign."""
    known = place_names(result)
    first = tour.iloc[0]
    yard, home = known[str(first["yard"])], known[str(first["home"])]
    of = Markup("")
    if home != yard:
        of = Markup(" of {}").format(bdi(home))
    kind = names(result, "truck").get(str(first["type"]), str(first["type"]))
    rows = Markup("").join(
        _loading(result, known, tour, call) + _row(result, known, call)
        for _, call in tour.iterrows()
    )
    warned = Markup("").join(
        Markup("<li>{}</li>").format(text) for text in cautions(result, tour)
    )
    return Markup(
        "<section><h1>{title}</h1><p><strong>{truck}{of}</strong>: {kind}, {whose}. "
        "Yard: {yard}. Leaves at {leaves}, back by {back}; driving {drive} h, "
        "{km} km, {trips} trip(s).</p>"
        "<table><thead><tr><th>Arrives</th><th>Ready</th><th>Place</th><th>Do</th>"
        '<th class="n">t</th><th class="n">m³</th><th class="n">km</th><th>Done</th>'
        "</tr></thead><tbody>{rows}</tbody></table>"
        '<div class="box"><strong>Cautions</strong><ul>{warned}</ul></div>'
        "<p>Odometer out ________ in ________ &nbsp; Weighed ________ t &nbsp; "
        "Driver ____________________</p></section>"
    ).format(
        title=bdi(title),
        truck=plain(short_truck(truck, str(first["home"]))),
        of=of,
        kind=bdi(kind),
        whose=first["whose"],
        yard=bdi(yard),
        leaves=clock(float(first["leaves_h"])),
        back=clock(float(tour["ends_h"].max())),
        drive=amount(float(tour["drive_h"].sum()), 1),
        km=amount(float(tour["km"].sum()), 0),
        trips=int(tour["trip"].max()),
        rows=rows,
        warned=warned,
    )


def _loading(
    result: Result, known: dict[str, str], tour: pd.DataFrame, call: pd.Series
) -> Markup:
    """Tell what is loaded at the yard before a trip that brings something out."""
    trip = tour[(tour["trip"] == call["trip"]) & (tour["kind"] != "way")]
    out = trip[trip["kind"] == "out"]
    if out.empty or call["call"] != trip["call"].iloc[0]:
        return Markup("")
    freight = names(result, "material").get(str(out["material"].iloc[0]), "compost")
    truck = rows_by(result.scenario.trucks, "truck")[str(call["type"])]
    return Markup(
        '<tr class="yard"><td>{begins}</td><td>{ready}</td><td>{place}</td>'
        '<td>{do}</td><td class="n">{t}</td><td class="n">{m3}</td>'
        "<td></td><td></td></tr>"
    ).format(
        begins=clock(float(call["leaves_h"]) - float(truck["load_minutes"]) / 60),
        ready=clock(float(call["leaves_h"])),
        place=bdi(known[str(call["yard"])]),
        do=plain(f"load {freight.lower()}"),
        t=amount(float(out["tonnes"].sum()), 2),
        m3=amount(float(out["m3"].sum()), 1),
    )


def _row(result: Result, known: dict[str, str], call: pd.Series) -> Markup:
    """One line of the table; a break is a line of its own."""
    at_yard = call["kind"] in ("yard", "way")
    empty = at_yard and float(call["tonnes"]) <= 0
    do = DONE[str(call["kind"])]
    if empty and call["kind"] == "yard":
        do = "back at the yard"
    if call["kind"] == "in":
        freight = names(result, "material").get(str(call["material"]), "")
        do = f"{do} {freight.lower()}"
    rest = Markup("")
    if float(call["break_h"]) > 0:
        rest = Markup(
            '<tr><td colspan="8">Break of {} min on this leg</td></tr>'
        ).format(round(float(call["break_h"]) * 60))
    return rest + Markup(
        '<tr class="{kind}"><td>{arrives}</td><td>{ready}</td><td>{place}</td>'
        '<td>{do}</td><td class="n">{t}</td><td class="n">{m3}</td>'
        '<td class="n">{km}</td><td></td></tr>'
    ).format(
        kind=call["kind"],
        arrives=clock(float(call["arrives_h"])),
        ready=clock(float(call["ends_h"])),
        place=bdi(known[str(call["place"])]),
        do=plain(do),
        t="" if empty else amount(float(call["tonnes"]), 2),
        m3="" if empty else amount(float(call["m3"]), 1),
        km=amount(float(call["km"]), 1),
    )
