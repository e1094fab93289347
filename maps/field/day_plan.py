"""The day plan: the trucks of a day under each other, who is out when."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import pandas as pd
from markupsafe import Markup

from maps.field.day_line import day_line, legend, span_of
from maps.field.driven_tables import clock, place_names, short_truck
from maps.report import bdi, plain
from maps.shared import names

if TYPE_CHECKING:
    from logistics.results import Result


def day_plan(result: Result, title: str, tours: Mapping[str, pd.DataFrame]) -> Markup:
    """
    Draw the trucks of a day on one scale of hours, each with a link to its run sheet.

    Parameters
    ----------
    result
        A planned scenario.
    title
        Heading of the page.
    tours
        Letter of every truck -> its calls, columns as of `rounds.calls`.
    """
    span = span_of(pd.concat(tours.values()))
    lines = [_truck(result, letter, tour, span) for letter, tour in tours.items()]
    return Markup(
        '<section class="plan"><h1>{}</h1><p>{} trucks are out. Letters as on the map '
        'of the day.</p><p class="legend">{}</p><ul>{}</ul></section>'
    ).format(bdi(title), len(tours), legend(), Markup("").join(lines))


def _truck(
    result: Result, letter: str, tour: pd.DataFrame, span: tuple[int, int]
) -> Markup:
    """One truck: its letter, name, yard and times, and its day below."""
    known, first = place_names(result), tour.iloc[0]
    home, yard = str(first["home"]), str(first["yard"])
    name = short_truck(str(first["truck"]), home)
    kind = names(result, "truck").get(str(first["type"]), str(first["type"]))
    return Markup(
        '<li><p><a href="#truck-{letter}"><b class="letter">{letter}</b> {name}</a>{of}'
        ": {kind}. Yard: {yard}. Leaves {leaves}, back {back}.</p>{line}</li>"
    ).format(
        letter=letter,
        name=plain(name),
        of=Markup(" of {}").format(bdi(known[home])) if home != yard else "",
        kind=bdi(kind),
        yard=bdi(known[yard]),
        leaves=clock(float(first["leaves_h"])),
        back=clock(float(tour["ends_h"].max())),
        line=line_of(result, letter, tour, span),
    )


def line_of(
    result: Result, letter: str, tour: pd.DataFrame, span: tuple[int, int]
) -> Markup:
    """Draw the day of a truck under its letter and name."""
    first = tour.iloc[0]
    name = short_truck(str(first["truck"]), str(first["home"]))
    yard = place_names(result)[str(first["yard"])]
    limit = result.scenario.settings.rounds.unbroken_h
    return day_line(f"Truck {letter}, {name}, {yard}", tour, limit, span)
