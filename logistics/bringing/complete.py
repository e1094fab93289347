"""Fill in what a recipe leaves open from the cells themselves, or ask it."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from contextlib import suppress
from dataclasses import replace

from logistics.bringing.body import Body
from logistics.bringing.guess import OWN
from logistics.bringing.headings import TICKED_MONTHS
from logistics.bringing.numbers import (
    NumberFault,
    Parted,
    parted,
    shown_signs,
    value_of,
)
from logistics.bringing.places import complete_places
from logistics.bringing.recipe import ASK, ColumnRecipe, SheetRecipe
from logistics.bringing.standing import Surroundings
from logistics.bringing.units import has_odd_time, target_unit, unit_of
from logistics.bringing.words import LIKELY, UNSURE, our_word, plain
from logistics.scenario import Column, columns_of, keys_of

OURS = "ours"
"""Unit of a column with our own heading: that of `columns.csv`."""
KIND_TARGETS = {"mass": "t/yr", "area": "ha", "count": "head"}
AMOUNTS: dict[str, dict[str, dict[str, str]]] = {
    "sources": {
        "amount": {"mass": "tonnes", "area": "cropped", "count": "animals"},
        "processed_amount": {"mass": "processed"},
        "cropped_amount": {"area": "cropped"},
        "animals_amount": {"count": "animals"},
    },
    "markets": {
        "amount": {"mass": "tonnes", "area": "area"},
        "area_amount": {"area": "area"},
    },
}
"""Table and column of an amount -> dimension -> basis."""
NEEDED = {
    ("sources", "processed"): ("waste_pct",),
    ("sources", "cropped"): ("yield_t_ha", "residue_ratio"),
    ("sources", "animals"): ("kg_per_head_day",),
    ("markets", "area"): ("rate_t_ha",),
}
"""What an amount of a basis needs beside it."""
MATERIAL_WORDS = ("amount", "processed_amount")
NUMBERS = {"number", "integer", "percent"}


def columns_by_name(table: str) -> dict[str, Column]:
    """Return the columns of a table by name."""
    return {c.name: c for c in columns_of(table)}


def is_number(table: str, ours: str) -> bool:
    """Whether a column of ours, or what stands for one, holds numbers."""
    if ours in AMOUNTS.get(table, {}) or ours.startswith("month_"):
        return True
    column = columns_by_name(table).get(ours)
    return ours == "accuracy" or (column is not None and column.kind in NUMBERS)


def completed(body: Body, standing: Surroundings, given: set[str]) -> SheetRecipe:
    """
    Return the recipe of a sheet with decimals, units, words and questions filled in.

    Parameters
    ----------
    body
        Sheet and recipe.
    standing
        The scenario, for its codes.
    given
        Columns of this table that other sheets give.
    """
    recipe = body.recipe
    for column in recipe.columns:
        if column.ours in body.places and is_number(recipe.table, column.ours):
            recipe = _numbers(body, recipe, column)
    recipe = complete_places(body.with_recipe(recipe), standing)
    recipe = _words(body.with_recipe(recipe), standing)
    return _values(body, recipe, standing, given)


def _parts(body: Body, ours: str) -> list[tuple[bool, Parted]]:
    """Return number cells in parts, each with whether it was stored as a number."""
    found = []
    for position, text in body.texts(ours):
        try:
            found.append((body.stored(position, ours), parted(text)))
        except NumberFault:
            continue
    return found


def _units(body: Body, ours: str) -> set[str]:
    """Return the units that stand in the cells of a column."""
    found = set()
    for text in set(body.column(ours)):
        with suppress(NumberFault):
            found.add(parted(text).unit)
    return found - {""}


def _numbers(body: Body, recipe: SheetRecipe, column: ColumnRecipe) -> SheetRecipe:
    """Settle decimal sign and unit of a column of numbers, or ask them."""
    parts = _parts(body, column.ours)
    if not column.decimal:
        column = _decimal(column, [p.figures for stored, p in parts if not stored])
    spec = columns_by_name(recipe.table).get(column.ours)
    percent = spec is not None and spec.kind == "percent"
    if not column.unit and column.why == OWN:
        column = replace(column, unit=OURS)
    if percent:
        column = _percent(column, parts)
    elif not column.unit:
        column = _unit(recipe.table, column, parts)
    amount = column.ours in AMOUNTS.get(recipe.table, {})
    guessed = column.why not in {"told", "the recipe"}
    if amount and guessed and has_odd_time(column.heading):
        why = (
            f"{column.why}; the time it is for is not plain: answer a unit of the year"
        )
        column = replace(column, unit=ASK, confidence=UNSURE, why=why)
    recipe = recipe.with_column(column)
    told = {key: float(v) for key, v in recipe.told.items() if _plain_number(v)}
    asks = dict(recipe.told)
    for text in sorted({column.unit, *(p.unit for _, p in parts)} - {"", OURS, ASK}):
        unit = unit_of(text, told)
        if unit is not None and unit.asks:
            asks[unit.asks] = ASK
    return replace(recipe, told=asks)


def _plain_number(text: str) -> bool:
    return text.replace(".", "", 1).isdigit()


def _decimal(column: ColumnRecipe, figures: Iterable[str]) -> ColumnRecipe:
    shown = shown_signs(figures)
    if shown.point or shown.comma:
        sign = "." if len(shown.point) >= len(shown.comma) else ","
        if len(shown.point) == len(shown.comma):
            why = f"{shown.point[0]} has a decimal point and {shown.comma[0]} a comma"
            return replace(column, decimal=ASK, why=f"{column.why}; {why}")
        example = (shown.point if sign == "." else shown.comma)[0]
        name = "point" if sign == "." else "comma"
        why = f"{column.why}; {example} shows a decimal {name}"
        plain_point = sign == "." and not shown.open
        return replace(column, decimal=sign, why=column.why if plain_point else why)
    if shown.open:
        one = shown.open[0]
        whole = one.replace(",", "").replace(".", "")
        less = one.replace(",", ".")
        why = f"{column.why}; {one} may be {whole} or {less}, and no cell shows which"
        return replace(column, decimal=ASK, why=why)
    return column


def _percent(column: ColumnRecipe, parts: list[tuple[bool, Parted]]) -> ColumnRecipe:
    """Ask whether numbers of 0 to 1 without a sign are shares or per cent."""
    bare = [p.figures for _, p in parts if not p.unit]
    try:
        values = [value_of(f, "," if column.decimal == "," else ".") for f in bare]
    except NumberFault:
        values = []
    if column.unit == "%":
        values = []
    if values and max(values) <= 1 and any(values) and column.unit in {"", OURS}:
        why = f"{column.why}; {bare[0]} may be a share or per cent"
        return replace(column, unit=ASK, why=why)
    return replace(column, unit=column.unit or "%") if bare else column


def _unit(
    table: str, column: ColumnRecipe, parts: list[tuple[bool, Parted]]
) -> ColumnRecipe:
    """Take the unit of bare numbers from the other cells if they agree, else ask it."""
    spec = columns_by_name(table).get(column.ours)
    amount = column.ours in AMOUNTS.get(table, {}) or column.ours.startswith("month_")
    target = None if spec is None else target_unit(spec.unit)
    if column.ours == "animals_amount":
        return replace(column, unit="head")
    if spec is not None and spec.unit == "money/t":
        target = target_unit("t")
    if not amount and (target is None or not _is_counted(target.powers)):
        return column
    bare = any(not p.unit for _, p in parts)
    units = {" ".join(p.unit.split()) for _, p in parts if p.unit}
    if not bare:
        return column
    if len(units) == 1 and sum(bool(p.unit) for _, p in parts) > 1:
        one = next(iter(units))
        why = f"{column.why}; the cells with a unit say {one!r}"
        return replace(column, unit=one, confidence=LIKELY, why=why)
    return replace(column, unit=ASK, why=f"{column.why}; no unit is stated")


def _is_counted(powers: Collection[tuple[str, int]]) -> bool:
    """Whether a column measures mass, land or volume, so that a unit matters."""
    return any(name in {"mass", "area", "volume"} for name, _ in powers)


def _words(body: Body, standing: Surroundings) -> SheetRecipe:
    """Find our code for every word of a column of codes or choices, or ask it."""
    recipe = body.recipe
    specs = columns_by_name(recipe.table)
    for ours in body.places:
        spec = specs.get(ours)
        if spec is None or (spec.kind == "code" and not spec.refers_to):
            continue
        if spec.kind not in {"code", "choice", "yes_no"}:
            continue
        known = dict(recipe.words.get(ours, {}))
        for text in dict.fromkeys(body.column(ours)):
            if text and text not in known:
                meant = our_code(spec, text, standing)
                if meant != text:
                    known[text] = meant or ASK
        if known:
            recipe = replace(recipe, words={**recipe.words, ours: known})
    return recipe


def our_code(spec: Column, text: str, standing: Surroundings) -> str:
    """Return the code or choice that a text means; empty if that is not known."""
    if spec.kind == "yes_no":
        return our_word("yes_no", ("yes", "no"), text)
    if spec.kind == "choice":
        return our_word(spec.name, spec.choices, text)
    codes = standing.codes(spec.refers_to)
    if text in codes:
        return text
    bare = plain(text)
    same = [c for c, name in codes.items() if bare in (plain(c), plain(name))]
    if len(same) == 1:
        return same[0]
    return our_word(spec.name, tuple(codes), text)


def _values(
    body: Body, recipe: SheetRecipe, standing: Surroundings, given: set[str]
) -> SheetRecipe:
    """Ask for every value that a table needs and no file gives."""
    table, values = recipe.table, dict(recipe.values)
    amounts = {*AMOUNTS.get(table, {}), "month_1", "month_6"}
    alone = not given & amounts or bool(amounts & set(body.places))
    has = {*body.places, *values, *(() if alone else given)}
    if not alone:
        return recipe
    has |= {column.ours for column in recipe.columns if column.heading == ASK}
    basis = basis_of(body, recipe)
    if basis and not {"basis"} & set(body.places):
        values.setdefault("basis", basis)
    needed = [c.name for c in columns_of(table) if c.required and not c.key]
    if _all_known(body, standing):
        needed = []
    needed += NEEDED.get((table, basis), ())
    if any(ours.startswith("month_") for ours in has):
        needed = [name for name in needed if name not in {"season", "amount"}]
    if TICKED_MONTHS in has:
        needed = [name for name in needed if name != "season"]
    if has & set(AMOUNTS.get(table, {})):
        needed = [name for name in needed if name != "amount"]
    for name in needed:
        if name in has or name in values or name in {"lon", "lat", *keys_of(table)}:
            continue
        values[name] = (_material(body, standing) if name == "material" else "") or ASK
    seasons = {"season", TICKED_MONTHS}
    if table == "markets" and not seasons & {*has, *values}:
        values.setdefault("season", ASK)
    return replace(recipe, values=values)


def _all_known(body: Body, standing: Surroundings) -> bool:
    """Whether every row is one that the scenario has already, told by its code."""
    table = body.recipe.table
    keys = keys_of(table)
    if len(keys) != 1 or keys[0] not in body.places or standing.example(table):
        return False
    codes = [text for _, text in body.texts(keys[0])]
    known = {row.get(keys[0]) for row in standing.rows[table]}
    return len(codes) == len(body.rows) and set(codes) <= known


def basis_of(body: Body, recipe: SheetRecipe) -> str:
    """Return the basis of the amounts, if their unit shows it."""
    for ours, ways in AMOUNTS.get(recipe.table, {}).items():
        column = recipe.column(ours)
        if column is None or ours not in body.places:
            continue
        texts = _units(body, ours) or {column.unit}
        found = {_basis(text, ways) for text in texts} - {""}
        return next(iter(found)) if len(found) == 1 else ""
    return ""


def _basis(text: str, ways: dict[str, str]) -> str:
    unit = unit_of(text) if text not in ("", OURS, ASK) else None
    named = [ways[d] for d in ways if unit is not None and unit.measures(d)]
    if len(ways) == 1 and text in ("", ASK):
        return next(iter(ways.values()))
    return named[0] if named else ""


def _material(body: Body, standing: Surroundings) -> str:
    """Return the one feedstock that the headings or the sheet's name speak of."""
    codes = tuple(standing.codes("materials"))
    texts = [c.heading for c in body.recipe.columns if c.ours in MATERIAL_WORDS]
    texts += [body.sheet.name, body.sheet.file.rpartition(".")[0]]
    for text in texts:
        words = plain(text).split()
        runs = [" ".join(words[a:b]) for a in range(len(words))
                for b in range(len(words), a, -1)]  # fmt: skip
        found = {our_word("material", codes, run) for run in runs} - {""}
        if len(found) == 1:
            return next(iter(found))
    return ""
