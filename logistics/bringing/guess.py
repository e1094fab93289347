"""Propose how a sheet becomes one of our tables."""

from __future__ import annotations

from dataclasses import replace

from logistics.bringing.angles import is_plus_code, pair_of
from logistics.bringing.headings import (
    PLACED,
    Reading,
    best_readings,
    confidence,
    joined,
)
from logistics.bringing.numbers import NumberFault
from logistics.bringing.recipe import ASK, ColumnRecipe, SheetRecipe
from logistics.bringing.sheets import ReadSheet
from logistics.bringing.survey_columns import MARK, tail_of
from logistics.bringing.units import split_heading
from logistics.bringing.words import LIKELY, SURE, UNSURE, plain
from logistics.scenario import columns_of, in_list, keys_of, plain_name

OWN = "our own heading"
"""Reason of a column whose unit is that of `columns.csv`."""
LEAST_SCORE, CLEAR = 2.0, 0.75
"""Score below which a sheet is none of our tables; lead over the next table."""


def proposed(sheet: ReadSheet) -> SheetRecipe:
    """
    Propose a recipe for a sheet: table, heading rows and columns.

    A table that two readings fit alike, and a column with two headings that fit alike,
    are asked about.
    """
    bare = SheetRecipe(sheet.file, sheet.name)
    if sheet.encoding.endswith("?"):
        bare = replace(bare, told={"encoding": ASK})
    if len(sheet.rows) < 2:
        return replace(bare, why="it has fewer than two rows")
    readings = best_readings(sheet)
    if sheet.layer and not readings:
        return replace(bare, why="no column is like one of ours")
    placed = [r for r in readings if r.score >= LEAST_SCORE and _enough(r)]
    if not placed:
        return replace(bare, why="its headings are like those of no table")
    best = placed[0]
    rivals = [r.table for r in placed if r.score > best.score - CLEAR]
    if len(rivals) > 1:
        why = f"it may be {in_list(rivals)}"
        rows = tuple(sheet.numbers[p] for p in best.headings.rows)
        return replace(bare, table=ASK, heading_rows=rows, why=why, confidence=UNSURE)
    return recipe_for(sheet, best, bare)


def _enough(reading: Reading) -> bool:
    """Whether a reading has what tells rows apart, and more than a name."""
    columns = set(reading.columns)
    placed = {"lon", "lat", "place"} & columns
    if reading.table in PLACED:
        return bool({"name", reading.table.removesuffix("s")} & columns or placed)
    return len(columns) > 1


def as_table(sheet: ReadSheet, table: str, bare: SheetRecipe) -> SheetRecipe:
    """Propose columns for a sheet whose table is known."""
    readings = [r for r in best_readings(sheet) if r.table == table]
    if not readings:
        return replace(bare, table=table, why="told")
    return recipe_for(sheet, readings[0], bare)


def recipe_for(sheet: ReadSheet, reading: Reading, bare: SheetRecipe) -> SheetRecipe:
    """Turn a reading into a recipe."""
    heads = reading.headings
    texts = [
        text for text in heads.texts if text and not plain(text).startswith("note")
    ]
    ours_all = {plain_name(text) for text in texts} <= {
        c.name for c in columns_of(reading.table)
    } and keys_of(reading.table)[0] in map(plain_name, texts)
    marked = sheet.survey and MARK in map(tail_of, texts)
    columns = []
    for ours, (place, match) in reading.columns.items():
        heading = ASK if ours in reading.rivals else heads.texts[place]
        unit = "" if _unit_is_not_asked(ours) else split_heading(heads.texts[place])[1]
        heading_text = heads.texts[place]
        if ours_all or (match.score == 1.0 and "_" in heading_text):
            why, unit = OWN, ""
        elif match.language == "form":
            why = match.alias
        else:
            why = f"heading like {match.alias!r}"
        if ours in reading.rivals:
            both = in_list(heads.texts[p] for p in reading.rivals[ours])
            why = f"several headings fit: {both}"
        decimal = ""
        if marked and ours == tail_of(heading_text):
            why, unit, decimal = OWN, _own_unit(reading.table, ours), "."
        columns.append(
            ColumnRecipe(ours, heading, unit, decimal, confidence(match.score), why)
        )
    columns.sort(key=lambda c: reading.columns[c.ours][0])
    recipe = replace(
        bare,
        table=reading.table,
        heading_rows=tuple(sheet.numbers[p] for p in heads.rows),
        columns=tuple(columns),
        confidence=SURE if reading.named else LIKELY,
        why="name and headings" if reading.named else "its headings",
    )
    return _one_amount(_places_by_value(sheet, recipe, reading))


def _own_unit(table: str, ours: str) -> str:
    """Return the unit of an answer to our own form; numbers of a phone have a point."""
    kinds = {c.name: c.kind for c in columns_of(table)}
    return "%" if kinds.get(ours) == "percent" else ""


def _unit_is_not_asked(ours: str) -> bool:
    return ours in {"name", "place", "material", "district", "phone", "crop"}


def _places_by_value(
    sheet: ReadSheet, recipe: SheetRecipe, reading: Reading
) -> SheetRecipe:
    """Find a column of places by what stands in it, if no heading says it."""
    found = {c.ours for c in recipe.columns}
    if recipe.table not in PLACED or {"place"} & found or {"lon", "lat"} <= found:
        return recipe
    taken = {c.heading for c in recipe.columns}
    first = max(reading.headings.rows) + 1
    for place, heading in enumerate(reading.headings.texts):
        cells = [sheet.cell(p, place) for p in range(first, len(sheet.rows))]
        cells = [cell for cell in cells if cell][:50]
        if (
            heading
            and heading not in taken
            and len(cells) > 1
            and all(map(_is_place, cells))
        ):
            column = ColumnRecipe(
                "place", heading, "", "", LIKELY, "its cells are places"
            )
            return recipe.with_column(column)
    return recipe


def _is_place(text: str) -> bool:
    if is_plus_code(text):
        return True
    try:
        pair_of(text)
    except NumberFault:
        return False
    return True


def _one_amount(recipe: SheetRecipe) -> SheetRecipe:
    """Keep one column that gives the amount; the others are left out."""
    amounts = [c for c in recipe.columns if c.ours.endswith("amount")]
    months = [c for c in recipe.columns if c.ours.startswith("month_")]
    columns = recipe.columns
    if months and amounts:
        columns = tuple(c for c in columns if c not in amounts)
    elif len(amounts) > 1:
        order = {SURE: 0, LIKELY: 1}
        amounts.sort(
            key=lambda c: (order.get(c.confidence, 2), c.ours == "cropped_amount")
        )
        ways = in_list(c.heading for c in amounts)
        first = replace(amounts[0], confidence=UNSURE, why=f"one of {ways}")
        columns = tuple(first if c == amounts[0] else c for c in columns
                        if c == amounts[0] or c not in amounts)  # fmt: skip
    return replace(recipe, columns=columns)


def fits(recipe: SheetRecipe, sheet: ReadSheet) -> bool:
    """Whether a recipe of an earlier file is for a sheet: by name, or by headings."""
    if recipe.file == sheet.file and recipe.sheet == sheet.name:
        return True
    if recipe.sheet != sheet.name or not recipe.columns:
        return False
    if (
        not sheet.name
        and recipe.file.rpartition(".")[2] != sheet.file.rpartition(".")[2]
    ):
        return False
    return place_headings(recipe, sheet) is not None


def place_headings(recipe: SheetRecipe, sheet: ReadSheet) -> SheetRecipe | None:
    """Return the recipe with the rows where its headings now stand, or None."""
    wanted = {c.heading for c in recipe.columns if c.heading != ASK}
    size = max(len(recipe.heading_rows), 1)
    for position in range(min(len(sheet.rows) - size + 1, 60)):
        rows = tuple(range(position, position + size))
        if wanted <= set(joined(sheet, rows).texts):
            return replace(recipe, heading_rows=tuple(sheet.numbers[p] for p in rows))
    return None
