"""Run sheets: the plan of a day, then one page a truck, to print and to drive by."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
from markupsafe import Markup, escape

from logistics.composting import spoils
from logistics.rounds import calls, pieces
from maps.field.call_rows import HEAD, call_rows, phone, phones
from maps.field.dates import dated, full_date, work_date
from maps.field.day_line import legend, span_of
from maps.field.day_plan import day_plan, line_of
from maps.field.driven_tables import clock, place_names, short_truck, truck_letter
from maps.field.round_lines import leg_lines
from maps.field.route_sketch import sketch
from maps.report import bdi, listed, plain
from maps.shared import STATIC, amount, names

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.roads import Line
    from logistics.rounds import Driven

ALWAYS = (
    "Driving limits: take a break after {unbroken} h of driving; drive at most {day} h "
    "a day and {week} h a week, not counting loading (defaults after ILO Convention "
    "153). Local law decides. If you are tired, stop.",
    "Stay within the payload: loads are planned from tables, not weighed. Weigh where "
    "you can. Cover every load. Nobody rides on the load.",
)
SPOILING = (
    "{freight}: use a closed, leak-proof body. Wear gloves and boots; wash your hands. "
    "Deliver it by the time shown next to the yard. Cover must be ready on the pad "
    "before it arrives.",
    "After such a trip, wash out the body at the yard, where the water is caught. "
    "Carry no compost in it after that, that day.",
)
COMPOST = (
    "Carry compost only in a clean body. On a paired trip, unload it before you load "
    "feedstock.",
)
YARD = (
    "In the yard: drive at walking pace and watch for the loader and the turner. Steam "
    "from hot windrows may hide the edge of the pad.",
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
    carried = [str(code) for code in dict.fromkeys(tour["material"]) if code in short]
    if carried:
        label = names(result, "material")
        freight = listed([label.get(code, code) for code in carried])
        found += [text.format(freight=plain(freight)) for text in SPOILING]
    if (tour["kind"] == "out").any():
        found += COMPOST
    return [*found, *YARD]


def run_sheets(result: Result, driven: Driven) -> dict[int, str]:
    """Write the pages of every day: day -> HTML with one page a truck."""
    table = calls(driven)
    drawn = leg_lines(result, driven.period, table)
    return {
        int(str(day)): _page(result, driven.period, int(str(day)), found, drawn)
        for day, found in table.groupby("day")
    }


def heading(result: Result, period: str, day: int, what: str = "Run sheet") -> str:
    """Name a day: its date where dates are known, else its number in the period."""
    name = names(result, "period").get(period, period)
    date = work_date(result.scenario, period, day)
    if date is None:
        return f"{what}, {name}, working day {day}"
    return f"{what}, {full_date(date)} (working day {day} of {name})"


def _page(
    result: Result, period: str, day: int, table: pd.DataFrame, drawn: list[Line]
) -> str:
    """One file of a day; the first sheet's heading is that of the page."""
    title = heading(result, period, day)
    style = (STATIC / "runsheet.css").read_text(encoding="utf-8")
    tours = {
        truck_letter(n): tour
        for n, (_, tour) in enumerate(table.groupby("truck", sort=False))
    }
    parts = []
    if len(tours) > 1:
        plan = heading(result, period, day, "Day plan")
        parts.append(day_plan(result, plan, tours))
    for letter, tour in tours.items():
        level = "h2" if parts else "h1"
        legs = [drawn[n] for n in tour.index]
        parts.append(_sheet(result, title, letter, tour, legs, level))
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta http-equiv="Content-Security-Policy" '
        "content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(plain(title))}</title><style>{style}</style></head>"
        "<body><main>" + "\n".join(parts) + "</main></body></html>\n"
    )


def _sheet(
    result: Result,
    title: str,
    letter: str,
    tour: pd.DataFrame,
    legs: list[Line],
    level: str,
) -> Markup:
    """One page: what to do, the way, stops in order, cautions, lines to fill in."""
    known, dial = place_names(result), phones(result)
    first = tour.iloc[0]
    truck, yard, home = (str(first[key]) for key in ("truck", "yard", "home"))
    of = Markup(" of {}").format(bdi(known[home])) if home != yard else Markup("")
    kind = names(result, "truck").get(str(first["type"]), str(first["type"]))
    warned = Markup("").join(
        Markup("<li>{}</li>").format(text) for text in cautions(result, tour)
    )
    numbers = [
        Markup(" {}: {}.").format(what, phone(dial[code]))
        for what, code in (("Yard", yard), ("Truck", str(first["type"])))
        if code in dial
    ]
    known_date = dated(result.scenario)
    limit = result.scenario.settings.rounds.unbroken_h
    return Markup(
        '<section id="truck-{letter}"><div class="top"><div><{h}>{title}</{h}><p>'
        '<b class="letter">{letter}</b> <strong>{truck}{of}'
        "</strong>: {kind}, {whose}. Yard: {yard}.</p><p>Leaves at <strong>{leaves}"
        "</strong>, back by <strong>{back}</strong>; driving {drive} h, {km} km, "
        "{trips}.</p>{phones}"
        '<p class="fill" data-truck="{name}"><span>Plate</span><span>Driver</span>'
        "{date}</p>"
        '</div><figure class="sketch">{sketch}<figcaption>Square: yard. Numbers: calls '
        "in order. Dashed: empty.</figcaption></figure></div>"
        '<figure class="line">{line}<figcaption>{legend}</figcaption></figure>'
        "<table>{head}<tbody>{rows}</tbody></table>"
        '<div class="box"><strong>Cautions</strong><ul>{warned}</ul></div>'
        '<p class="fill"><span>Odometer out</span><span>in</span>'
        "<span>Weighed, t</span><span>Signed</span></p></section>"
    ).format(
        h=Markup(level),
        letter=letter,
        name=truck,
        title=bdi(title),
        truck=plain(short_truck(truck, home)),
        of=of,
        kind=bdi(kind),
        whose=first["whose"],
        yard=bdi(known[yard]),
        leaves=clock(float(first["leaves_h"])),
        back=clock(float(tour["ends_h"].max())),
        drive=amount(float(tour["drive_h"].sum()), 1),
        km=amount(float(tour["km"].sum()), 0),
        trips=counted(int(tour["trip"].max()), "trip"),
        date=Markup("") if known_date else Markup("<span>Date</span>"),
        phones=Markup("<p>Telephone:{}</p>").format(Markup("").join(numbers))
        if numbers
        else "",
        sketch=sketch(tour, legs),
        line=line_of(result, letter, tour, span_of(tour)),
        legend=legend(piece.kind for piece in pieces(tour, limit)),
        head=HEAD,
        rows=call_rows(result, tour),
        warned=warned,
    )


def counted(number: int, noun: str) -> str:
    """
    Write a number with its noun.

    >>> counted(1, "trip"), counted(3, "trip")
    ('1 trip', '3 trips')
    """
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
