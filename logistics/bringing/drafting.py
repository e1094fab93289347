"""Rows of a sheet in our columns: every cell either a right value or a fault."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache

from logistics.bringing.body import Body
from logistics.bringing.complete import (
    AMOUNTS,
    KIND_TARGETS,
    OURS,
    columns_by_name,
    is_number,
)
from logistics.bringing.headings import TICKED_MONTHS
from logistics.bringing.numbers import NumberFault, parted, value_of
from logistics.bringing.places import placed
from logistics.bringing.recipe import ASK, NAME
from logistics.bringing.standing import Surroundings
from logistics.bringing.units import UnitFault, factor_to, heading_time, unit_of
from logistics.scenario import (
    CellFault,
    Column,
    Problem,
    plain_number,
    read_value,
)

WORST_ACCURACY_M = 30.0
"""GPS accuracy above which a place is warned of. [m] (our judgement)"""
PHOTO = "note_photo"
"""Column of a note with the name of a photograph."""
MONTH = "month_"
MONEY = "money/"
UNCHECKED = {"text", "code", "line", "shape"}
"""Kinds of columns that take any text; codes without a table are made later."""
CORRECT = "Correct the cell, or leave the row out (leave_out in bring.toml)"


@dataclass(eq=False, slots=True)
class BroughtRow:
    """
    One row on its way into a table.

    Attributes
    ----------
    table
        Where it goes.
    cells
        Our column -> text.
    origins
        File, sheet and row that each part came from.
    where
        Label and row number, for faults.
    ticked
        Codes of the periods in which there is feedstock, if the file says so.
    months
        Amount by month [t], if the file gives them.
    accuracy_m
        GPS accuracy [m]; None if it is not known.
    sheet
        Label of the recipe it came by.
    """

    table: str
    cells: dict[str, str]
    origins: tuple[str, ...]
    where: tuple[str, int]
    sheet: str
    ticked: tuple[str, ...] = ()
    months: dict[int, float] = field(default_factory=dict)
    accuracy_m: float | None = None


@dataclass(eq=False)
class BroughtRows:
    """Rows of one sheet, its faults and its warnings."""

    rows: list[BroughtRow] = field(default_factory=list)
    faults: list[Problem] = field(default_factory=list)
    warnings: list[Problem] = field(default_factory=list)


def drafts_of(body: Body, standing: Surroundings) -> BroughtRows:
    """
    Read the rows of a sheet by its recipe, in which nothing is asked any more.

    Values for all rows fill only what a row leaves blank.
    """
    found = BroughtRows()
    recipe, sheet = body.recipe, body.sheet
    for heading in body.missing:
        why, remedy = "is not a heading of it", f"Correct it in {NAME}"
        found.faults.append(Problem(sheet.label, None, heading, None, why, remedy))
    _check_shape(body, found)
    specs = columns_by_name(recipe.table)
    where = {"lon", "lat", body.pair}
    has_places = where & set(body.places)
    points = placed(body, standing, found.faults, found.warnings) if has_places else {}
    columns = [
        (ours, place, body.column(ours), _reader(body, ours, specs, found))
        for ours, place in body.places.items()
        if ours not in where
    ]
    name = f"{sheet.file}{f', {sheet.name}' if sheet.name else ''}"
    name += ", feature" if sheet.layer else ", row"
    file, label = sheet.label, recipe.label
    for order, position in enumerate(body.rows):
        number = sheet.numbers[position]
        row = BroughtRow(recipe.table, {}, (f"{name} {number}",), (file, number), label)
        for ours, place, texts, read in columns:
            text = texts[order] or body.merged(position, ours)
            if text or (position, place) in sheet.uncounted:
                read(row, position, text)
        if position in points:
            lon, lat = points[position]
            row.cells |= {"lon": plain_number(lon), "lat": plain_number(lat)}
        found.rows.append(row)
    return found


def _check_shape(body: Body, found: BroughtRows) -> None:
    """Report rows with more cells than there are headings: a comma pushed them."""
    sheet, width = body.sheet, len(body.headings.texts)
    uneven = bool(sheet.encoding) and len({len(row) for row in sheet.rows}) > 1
    for position in body.rows:
        cells = sheet.rows[position]
        beyond = [c for c in cells[width:] if c]
        if beyond or (uneven and len(cells) > width):
            why = f"has {len(cells)} cells, and there are {width} headings"
            remedy = "Put cells with a comma inside in quotation marks"
            number = sheet.numbers[position]
            value = beyond[0] if beyond else None
            found.faults.append(Problem(sheet.label, number, "", value, why, remedy))


Reader = Callable[[BroughtRow, int, str], None]


def _reader(
    body: Body, ours: str, specs: dict[str, Column], found: BroughtRows
) -> Reader:
    """Return what puts the text of one column into a row, or adds its fault."""
    place, spec = body.places[ours], specs.get(ours)
    number = _number_reader(body, ours, spec)
    words = body.recipe.words.get(ours, {})
    has_numbers = is_number(body.recipe.table, ours)

    def read(row: BroughtRow, position: int, text: str) -> None:
        cell = (position, place)
        try:
            if cell in body.sheet.uncounted:
                message = "is a formula without a stored result"
                raise CellFault(
                    message,
                    "Open it in a spreadsheet program and save it, or write the value",
                )
            if has_numbers:
                if cell in body.sheet.spans:
                    message = "is part of merged cells"
                    raise CellFault(message, "Unmerge them")
                _put(row, ours, *number(text, body.stored(position, ours)))
            elif ours == TICKED_MONTHS:
                row.ticked = tuple(dict.fromkeys(text.replace(",", " ").split()))
            elif ours == "photo":
                row.cells[PHOTO] = text
            else:
                meant = words.get(text, text)
                if spec is not None and spec.kind not in UNCHECKED:
                    read_value(meant, spec)
                row.cells[ours] = meant
        except CellFault as fault:
            found.faults.append(
                body.fault(position, ours, fault.why, fault.remedy, text or None)
            )

    return read


def _put(row: BroughtRow, ours: str, value: float, text: str, basis: str) -> None:
    if ours.startswith(MONTH):
        row.months[int(ours.removeprefix(MONTH))] = value
    elif ours == "accuracy":
        row.accuracy_m = value
    elif ours in AMOUNTS.get(row.table, {}):
        row.cells["amount"] = text
        if basis:
            row.cells["basis"] = basis
    else:
        row.cells[ours] = text


def _checked(value: float, spec: Column | None) -> str:
    """Return a number as text, after a look at the limits of its column."""
    text = plain_number(float(f"{value:.12g}"))
    if spec is not None:
        read_value(text, spec)
    return text


def _number_reader(
    body: Body, ours: str, spec: Column | None
) -> Callable[[str, bool], tuple[float, str, str]]:
    """
    Return what reads a number cell, each text once, and raises its fault.

    It gives the value in the unit of our column, the same as text, and the basis.
    """
    recipe = body.recipe
    column = recipe.column(ours)
    unit_of_column = column.unit if column else ""
    sign = column.decimal if column and column.decimal != ASK else ""
    told = {k: float(v) for k, v in recipe.told.items()
            if k in {"load_t", "bag_kg", "quintal_kg", "area_m2", "gallon_l"}
            and v.replace(".", "", 1).isdigit()}  # fmt: skip
    ways = AMOUNTS.get(recipe.table, {}).get(ours)
    time = heading_time(column.heading) if column else ""
    limits = spec if ways is None else columns_by_name(recipe.table)["amount"]

    @cache
    def factor(text: str) -> tuple[float, str]:
        if text in {"", OURS}:
            return 1.0, ""
        if spec is not None and spec.unit.startswith(MONEY):
            return 1.0 / _per(text, spec.unit.removeprefix(MONEY), told), ""
        unit = unit_of(text, told)
        if unit is None:
            message = f"{text!r} is no unit that is known here"
            raise UnitFault(message)
        if unit.asks:
            message = f"nothing says how much one of {text!r} is ({unit.asks})"
            raise UnitFault(message)
        if time and not any(name == "time" for name, _ in unit.powers):
            unit = unit_of(f"{text}/{time}", told) or unit
        if ours.startswith(MONTH):
            per_month = "t/month" if ("time", -1) in unit.powers else "t"
            return factor_to(unit, per_month, text), ""
        if ways is None:
            target = "m" if ours == "accuracy" else spec.unit if spec else ""
            if spec is not None and spec.kind == "percent":
                target = "%"
            return factor_to(unit, target, text), ""
        for dimension, basis in ways.items():
            if unit.measures(dimension):
                return factor_to(unit, KIND_TARGETS[dimension], text), basis
        message = f"{text!r} does not measure an amount"
        raise UnitFault(message)

    @cache
    def read(text: str, stored: bool) -> tuple[float, str, str]:
        try:
            figures, unit = parted(text)
            value = value_of(figures, "." if stored else sign)
            times, basis = factor(unit or unit_of_column)
        except NumberFault as fault:
            raise CellFault(str(fault), CORRECT) from None
        except UnitFault as fault:
            message = f"has a unit that cannot be used: {fault}"
            raise CellFault(message, CORRECT) from None
        value *= times
        return value, _checked(value, limits), basis

    return read


def _per(text: str, target: str, told: dict[str, float]) -> float:
    """Return one of what a price is over, in a unit: a kg is 0.001 t."""
    unit = unit_of(re.sub(r"^(?:/|per\b|por\b|par\b)\s*", "", text.strip()), told)
    if unit is None or unit.asks:
        message = f"{text!r} is no unit that is known here"
        raise UnitFault(message)
    return factor_to(unit, target, text)
