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
MONTH = "month_"
MONEY = "money/"
CORRECT = "Correct the cell, or leave the row out (leave_out in bring.toml)"


@dataclass(eq=False)
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
    months
        Amount by month [t], if the file gives them.
    accuracy_m
        GPS accuracy [m]; None if it is not known.
    sheet
        Label of the recipe it came by.
    """

    table: str
    cells: dict[str, str]
    origins: list[str]
    where: tuple[str, int]
    sheet: str
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
    has_places = {"lon", "lat", "place"} & set(body.places)
    points = placed(body, standing, found.faults, found.warnings) if has_places else {}
    readers = {
        ours: _reader(body, ours, specs, found)
        for ours in body.places
        if ours not in {"lon", "lat", "place"}
    }
    name = f"{sheet.file}{f', {sheet.name}' if sheet.name else ''}"
    for position in body.rows:
        number = sheet.numbers[position]
        origin = f"{name}, {'feature' if sheet.layer else 'row'} {number}"
        row = BroughtRow(
            recipe.table, {}, [origin], (sheet.label, number), recipe.label
        )
        for ours, read in readers.items():
            text = body.text(position, ours) or body.merged(position, ours)
            if text or (position, body.places[ours]) in sheet.uncounted:
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
    number = is_number(body.recipe.table, ours)
    words = body.recipe.words.get(ours, {})
    convert = _number_reader(body, ours, spec) if number else None

    def read(row: BroughtRow, position: int, text: str) -> None:
        cell = (position, place)
        try:
            if cell in body.sheet.uncounted:
                message = "is a formula without a stored result"
                raise CellFault(
                    message,
                    "Open it in a spreadsheet program and save it, or write the value",
                )
            if convert is not None:
                if cell in body.sheet.spans:
                    message = "is part of merged cells"
                    raise CellFault(message, "Unmerge them")
                _put(row, ours, convert(text, body.stored(position, ours)), spec)
            else:
                row.cells[ours] = _plain(words.get(text, text), spec)
        except CellFault as fault:
            found.faults.append(
                body.fault(position, ours, fault.why, fault.remedy, text or None)
            )

    return read


def _plain(text: str, spec: Column | None) -> str:
    """Check a text against its column; codes without a table are made later."""
    if spec is not None and spec.kind not in {"text", "code", "line", "shape"}:
        read_value(text, spec)
    return text


def _put(
    row: BroughtRow, ours: str, number: tuple[float, str], spec: Column | None
) -> None:
    value, basis = number
    if ours.startswith(MONTH):
        row.months[int(ours.removeprefix(MONTH))] = value
    elif ours == "accuracy":
        row.accuracy_m = value
    elif ours in AMOUNTS.get(row.table, {}):
        row.cells["amount"] = _checked(value, columns_by_name(row.table)["amount"])
        if basis:
            row.cells["basis"] = basis
    else:
        row.cells[ours] = _checked(value, spec)


def _checked(value: float, spec: Column | None) -> str:
    """Return a number as text, after a look at the limits of its column."""
    text = plain_number(float(f"{value:.12g}"))
    if spec is not None:
        read_value(text, spec)
    return text


def _number_reader(
    body: Body, ours: str, spec: Column | None
) -> Callable[[str, bool], tuple[float, str]]:
    """Return what reads a number cell: value in the unit of our column, and basis."""
    recipe = body.recipe
    column = recipe.column(ours)
    unit_of_column = column.unit if column else ""
    sign = column.decimal if column and column.decimal != ASK else ""
    told = {k: float(v) for k, v in recipe.told.items()
            if k in {"load_t", "bag_kg", "quintal_kg", "area_m2", "gallon_l"}
            and v.replace(".", "", 1).isdigit()}  # fmt: skip
    ways = AMOUNTS.get(recipe.table, {}).get(ours)
    time = heading_time(column.heading) if column else ""

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

    def read(text: str, stored: bool) -> tuple[float, str]:
        try:
            figures, unit = parted(text)
            value = value_of(figures, "." if stored else sign)
            times, basis = factor(unit or unit_of_column)
        except NumberFault as fault:
            raise CellFault(str(fault), CORRECT) from None
        except UnitFault as fault:
            message = f"has a unit that cannot be used: {fault}"
            raise CellFault(message, CORRECT) from None
        return value * times, basis

    return read


def _per(text: str, target: str, told: dict[str, float]) -> float:
    """Return one of what a price is over, in a unit: a kg is 0.001 t."""
    unit = unit_of(re.sub(r"^(?:/|per\b|por\b|par\b)\s*", "", text.strip()), told)
    if unit is None or unit.asks:
        message = f"{text!r} is no unit that is known here"
        raise UnitFault(message)
    return factor_to(unit, target, text)
