"""The stops of a run sheet, row by row."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from logistics.scenario import records
from maps.field.driven_tables import DONE, clock, place_names
from maps.report import bdi, plain
from maps.shared import amount, names

if TYPE_CHECKING:
    from logistics.results import Result

HEAD = Markup(
    '<thead><tr><th scope="col">No.</th><th scope="col">Arrives</th>'
    '<th scope="col">Ready</th><th scope="col">Place</th><th scope="col">Do</th>'
    '<th scope="col" class="n">t</th><th scope="col" class="n">m³</th>'
    '<th scope="col" class="n">km</th><th scope="col" class="tick">Done</th></tr>'
    "</thead>"
)


def phone(text: object) -> Markup:
    """
    Write a telephone number that a phone can dial; nothing where there is none.

    >>> phone("+50 12-34 56")
    Markup('<a href="tel:+50123456">+50 12-34 56</a>')
    >>> phone(None), phone("ask Ana")
    (Markup(''), Markup('ask Ana'))
    """
    words = str(text).strip() if isinstance(text, str) else ""
    digits = "".join(c for c in words if c.isascii() and c.isdigit())
    if len(digits) < 3:
        return Markup("{}").format(plain(words))
    sign = "+" if words.startswith("+") else ""
    return Markup('<a href="tel:{}">{}</a>').format(sign + digits, plain(words))


def phones(result: Result) -> dict[str, str]:
    """Telephone of every source, yard, market and truck type that has one."""
    found = {}
    for table, key in (
        ("sources", "source"),
        ("yards", "yard"),
        ("markets", "market"),
        ("trucks", "truck"),
    ):
        for row in records(result.scenario.tables[table]):
            if isinstance(row.get("phone"), str) and row["phone"]:
                found[str(row[key])] = row["phone"]
    return found


def call_rows(result: Result, tour: pd.DataFrame) -> Markup:
    """Write all rows of a truck's day: loading, stops, breaks, the yard."""
    known, dial = place_names(result), phones(result)
    return Markup("").join(
        _loading(result, known, tour, call) + _row(result, known, dial, call)
        for call in records(tour)
    )


def _cells(kind: str, cells: Mapping[str, object]) -> Markup:
    """Write one row; on a phone the units stand behind the figures."""
    return Markup(
        '<tr class="{kind}"><td class="number">{number}</td>'
        '<td class="time">{arrives}</td><td class="time ready">{ready}</td>'
        '<td class="place">{place}</td><td class="do">{do}</td>'
        '<td class="n load" data-unit=" t">{t}</td>'
        '<td class="n load" data-unit=" m³">{m3}</td>'
        '<td class="n load" data-unit=" km">{km}</td>'
        '<td class="tick"></td></tr>'
    ).format(kind=kind, **cells)


def _loading(
    result: Result, known: dict[str, str], tour: pd.DataFrame, call: dict[str, Any]
) -> Markup:
    """Tell what is loaded at the yard before a trip that brings something out."""
    trip = tour[(tour["trip"] == call["trip"]) & (tour["kind"] != "way")]
    out = trip[trip["kind"] == "out"]
    if out.empty or call["call"] != trip["call"].iloc[0]:
        return Markup("")
    freight = names(result, "material").get(str(out["material"].iloc[0]), "compost")
    cells = {
        "number": "",
        "arrives": clock(call["begins_h"]),
        "ready": clock(call["leaves_h"]),
        "place": bdi(known[str(call["yard"])]),
        "do": plain(f"load {freight.lower()}"),
        "t": amount(float(out["tonnes"].sum()), 2),
        "m3": amount(float(out["m3"].sum()), 1),
        "km": "",
    }
    return _cells("yard", cells)


def _row(
    result: Result, known: dict[str, str], dial: dict[str, str], call: dict[str, Any]
) -> Markup:
    """One line of the table; a break is a line of its own."""
    at_yard = call["kind"] in ("yard", "way")
    empty = at_yard and call["tonnes"] <= 0
    do = DONE[str(call["kind"])]
    if empty and call["kind"] == "yard":
        do = "back at the yard"
    if call["kind"] == "in":
        freight = names(result, "material").get(str(call["material"]), "")
        do = f"{do} {freight.lower()}"
    rest = Markup("")
    if call["break_h"] > 0:
        rest = Markup(
            '<tr><td class="whole" colspan="9">Break of {} min on this leg</td></tr>'
        ).format(round(call["break_h"] * 60))
    place = bdi(known[str(call["place"])])
    if not at_yard and str(call["place"]) in dial:
        place += Markup("<small>{}</small>").format(phone(dial[str(call["place"])]))
    cells = {
        "number": call["call"],
        "arrives": clock(call["arrives_h"]),
        "ready": clock(call["ends_h"]),
        "place": place,
        "do": plain(do),
        "t": "" if empty else amount(call["tonnes"], 2),
        "m3": "" if empty else amount(call["m3"], 1),
        "km": amount(call["km"], 1),
    }
    return rest + _cells(str(call["kind"]), cells)
