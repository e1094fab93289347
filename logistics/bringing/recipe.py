"""The recipe: how sheets of other people become our tables; a file to read and edit."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import tomlkit

from logistics.bringing.words import SURE
from logistics.scenario import Problem, ScenarioError

NAME = "bring.toml"
ASK = "?"
PLAIN = re.compile(r"[\w ./-]*")
"""Texts that stand in quotation marks as they are."""
HEAD = """\
How `loamhaul bring` reads your files. It is written on the first run and used again
for the next files of the same form; edit it as you like. A "?" is a question: write the
answer in its place. A column you do not want is a line to delete. Headings are found by
their words, so columns may move; `heading_rows` count as a spreadsheet does. Delete a
whole [[sheet]] to have it proposed anew.
"""


@dataclass(frozen=True)
class ColumnRecipe:
    """
    Which column of a sheet is one of ours.

    Attributes
    ----------
    ours
        Our column; or `place` (both coordinates in one cell), `accuracy`, `month_1` to
        `month_12`, `processed_amount`, `cropped_amount`, `animals_amount`,
        `area_amount`.
    heading
        Heading in the file, both rows of it joined.
    unit
        Unit of the numbers that bring none with them; `?` if it is asked.
    decimal
        "." or ","; `?` if it is asked, empty if no cell needs it.
    confidence, why
        How sure the proposal is, and what it rests on.
    """

    ours: str
    heading: str
    unit: str = ""
    decimal: str = ""
    confidence: str = SURE
    why: str = ""


@dataclass(frozen=True)
class SheetRecipe:
    """
    How one sheet is read.

    Attributes
    ----------
    file, sheet
        Name of the file, and of the sheet or layer.
    table
        Our table; empty if the sheet is left out, `?` if it is asked.
    heading_rows
        Rows of the headings, as a spreadsheet counts.
    columns
        Columns that are ours.
    values
        Values for all rows, by our column.
    words
        By our column: what a text in the file is in our words.
    told
        Other answers: `load_t`, `bag_kg`, `quintal_kg`, `crs`, `near`, `swapped`,
        `encoding`.
    codes
        Code of each name, kept from run to run.
    leave_out
        Rows to leave out.
    both
        Pairs of names that look like one place and are two.
    confidence, why
        How sure the table is, and what that rests on.
    """

    file: str
    sheet: str
    table: str = ""
    heading_rows: tuple[int, ...] = ()
    columns: tuple[ColumnRecipe, ...] = ()
    values: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    told: Mapping[str, str] = field(default_factory=dict)
    codes: Mapping[str, str] = field(default_factory=dict)
    leave_out: tuple[int, ...] = ()
    both: tuple[tuple[str, str], ...] = ()
    confidence: str = SURE
    why: str = ""

    @property
    def label(self) -> str:
        """Name by which it is told apart: the file, and the sheet or layer in it."""
        return f"{self.file}/{self.sheet}" if self.sheet else self.file

    def column(self, ours: str) -> ColumnRecipe | None:
        """Return the column that is one of ours."""
        return next((c for c in self.columns if c.ours == ours), None)

    def with_column(self, column: ColumnRecipe) -> SheetRecipe:
        """Return the recipe with one column exchanged or added."""
        others = [column if c.ours == column.ours else c for c in self.columns]
        if self.column(column.ours) is None:
            others.append(column)
        return replace(self, columns=tuple(others))

    def asked(self) -> Iterator[str]:
        """Yield the keys of all that is asked, as `answered` takes them."""
        if self.table == ASK:
            yield "table"
            return
        for key, value in self.told.items():
            if value == ASK:
                yield f"told.{key}"
        for column in self.columns:
            for part in ("heading", "unit", "decimal"):
                if getattr(column, part) == ASK:
                    yield f"columns.{column.ours}.{part}"
        for key, value in self.values.items():
            if value == ASK:
                yield f"values.{key}"
        for name, words in self.words.items():
            for word, meant in words.items():
                if meant == ASK:
                    yield f"words.{name}.{word}"


def answered(recipe: SheetRecipe, key: str, value: str) -> SheetRecipe:
    """
    Return the recipe with one answer.

    Parameters
    ----------
    recipe
        Stays as it is.
    key
        `table`, `leave_out`, `both`, or a path such as `columns.amount.unit`.
    value
        The answer.

    Raises
    ------
    KeyError
        If there is nothing of that key.
    """
    head, _, rest = key.partition(".")
    if head == "table":
        return replace(recipe, table="" if value in {"none", "-"} else value)
    if head == "leave_out":
        rows = {*recipe.leave_out, *(int(row) for row in value.split())}
        return replace(recipe, leave_out=tuple(sorted(rows)))
    if head == "both":
        one, _, other = value.partition(" = ")
        return replace(recipe, both=(*recipe.both, (one.strip(), other.strip())))
    if head == "columns":
        name, _, part = rest.rpartition(".")
        known = recipe.column(name)
        if known is None and part == "heading":
            return recipe.with_column(ColumnRecipe(name, value, why="told"))
        if known is None or part not in {"heading", "unit", "decimal"}:
            raise KeyError(key)
        told = replace(known, **{part: value}, confidence=SURE, why="told")
        return recipe.with_column(told)
    if head == "words":
        name, _, word = rest.partition(".")
        words = {**recipe.words.get(name, {}), word: value}
        return replace(recipe, words={**recipe.words, name: words})
    if head in {"values", "told"} and rest:
        changed = {**getattr(recipe, head), rest: value}
        return replace(recipe, values=changed) if head == "values" else replace(
            recipe, told=changed)  # fmt: skip
    raise KeyError(key)


def recipe_text(recipes: tuple[SheetRecipe, ...]) -> str:
    """
    Write recipes as the text of `bring.toml`, with the reasons as comments.

    Line by line, as a document that can be edited takes the square of its lines.
    """
    head = "\n".join(f"# {line}" for line in HEAD.splitlines())
    return "\n\n".join([head, *map(_sheet_text, recipes)]) + "\n"


def _sheet_text(recipe: SheetRecipe) -> str:
    top = {"file": recipe.file, "name": recipe.sheet, "table": recipe.table,
           "heading_rows": list(recipe.heading_rows)}  # fmt: skip
    if recipe.leave_out:
        top["leave_out"] = list(recipe.leave_out)
    if recipe.both:
        top["both"] = [list(pair) for pair in recipe.both]
    why = f" # {recipe.confidence}: {_line(recipe.why)}" if recipe.why else ""
    lines = ["[[sheet]]", *(f"{key} = {_toml(value)}" for key, value in top.items())]
    lines[3] += why
    if recipe.columns:
        lines += ["", "[sheet.columns]", *map(_column_line, recipe.columns)]
    named = {"told": recipe.told, "values": recipe.values, "codes": recipe.codes}
    mappings = {name: texts for name, texts in named.items() if texts}
    mappings |= {f"words.{_key(name)}": texts for name, texts in recipe.words.items()}
    for name, texts in mappings.items():
        lines += ["", f"[sheet.{name}]"]
        lines += [f"{_key(key)} = {_toml(text)}" for key, text in texts.items()]
    return "\n".join(lines)


def _column_line(column: ColumnRecipe) -> str:
    parts = {"heading": column.heading, "unit": column.unit, "decimal": column.decimal}
    told = [f"{part} = {_toml(text)}" for part, text in parts.items()
            if text or part == "heading"]  # fmt: skip
    why = f"{column.confidence}: {_line(column.why)}"
    return f"{_key(column.ours)} = {{{', '.join(told)}}} # {why}"


def _toml(value: object) -> str:
    if isinstance(value, str) and PLAIN.fullmatch(value):
        return f'"{value}"'
    return str(tomlkit.item(value).as_string())


def _key(name: str) -> str:
    if PLAIN.fullmatch(name) and " " in name:
        return f'"{name}"'
    return str(tomlkit.key(name).as_string())


def _line(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def read_recipe(text: str, file: str = NAME) -> tuple[SheetRecipe, ...]:
    """
    Read the text of a recipe.

    Raises
    ------
    ScenarioError
        If it is no TOML, or holds what a recipe has not.
    """
    remedy = "Correct it, or delete the file to have all proposed anew"
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        fault = Problem(file, None, "", None, f"cannot be read ({error})", remedy)
        raise ScenarioError([fault]) from None
    found, faults = [], []
    for number, sheet in enumerate(document.get("sheet", []), start=1):
        try:
            found.append(_sheet_of(sheet))
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            why = f"cannot be used in its [[sheet]] number {number} ({error})"
            faults.append(Problem(file, None, "", None, why, remedy))
    if faults:
        raise ScenarioError(faults)
    return tuple(found)


def _sheet_of(sheet: Mapping[str, Any]) -> SheetRecipe:
    columns = tuple(
        ColumnRecipe(
            ours,
            str(line["heading"]),
            str(line.get("unit", "")),
            str(line.get("decimal", "")),
            why="the recipe",
        )
        for ours, line in sheet.get("columns", {}).items()
    )
    texts = {
        name: {str(k): str(v) for k, v in sheet.get(name, {}).items()}
        for name in ("values", "told", "codes")
    }
    words = {
        str(name): {str(k): str(v) for k, v in mapping.items()}
        for name, mapping in sheet.get("words", {}).items()
    }
    return SheetRecipe(
        str(sheet["file"]),
        str(sheet["name"]),
        str(sheet["table"]),
        tuple(int(row) for row in sheet.get("heading_rows", ())),
        columns,
        texts["values"],
        words,
        texts["told"],
        texts["codes"],
        tuple(int(row) for row in sheet.get("leave_out", ())),
        tuple((str(a), str(b)) for a, b in sheet.get("both", ())),
        why="the recipe" if sheet["table"] else "",
    )
