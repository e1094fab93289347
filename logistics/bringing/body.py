"""Rows of a sheet below its headings, and those that are no rows of a table."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from logistics.bringing.headings import PLACED, Headings, headings_at
from logistics.bringing.numbers import is_nothing
from logistics.bringing.recipe import ASK, SheetRecipe
from logistics.bringing.sheets import ReadSheet
from logistics.bringing.words import is_total
from logistics.scenario import Problem, is_example

BEYOND = sys.maxsize
"""Place of a column that the sheet does not have."""


@dataclass(frozen=True, eq=False)
class Body:
    """
    A sheet with its recipe, laid side by side.

    Attributes
    ----------
    sheet, recipe
        What is read, and how.
    """

    sheet: ReadSheet
    recipe: SheetRecipe

    def with_recipe(self, recipe: SheetRecipe) -> Body:
        """Return the sheet with another recipe; what does not depend on it is kept."""
        fresh = Body(self.sheet, recipe)
        if _layout(recipe) == _layout(self.recipe):
            for name in ("headings", "places", "_parted", "_columns"):
                if name in self.__dict__:
                    fresh.__dict__[name] = self.__dict__[name]
        return fresh

    @cached_property
    def headings(self) -> Headings:
        """Headings where the recipe says they stand."""
        found = headings_at(self.sheet, self.recipe.heading_rows)
        return found or Headings((-1,), ())

    @cached_property
    def places(self) -> dict[str, int]:
        """Our column -> place in the sheet, for the headings that are there."""
        at = {
            head: place
            for place, head in reversed(list(enumerate(self.headings.texts)))
        }
        return {c.ours: at[c.heading] for c in self.recipe.columns if c.heading in at}

    @property
    def pair(self) -> str:
        """Column with both coordinates in a cell; empty where `place` is a code."""
        return "place" if self.recipe.table in PLACED else ""

    @cached_property
    def missing(self) -> list[str]:
        """Headings of the recipe that the sheet does not have."""
        return [c.heading for c in self.recipe.columns
                if c.ours not in self.places and c.heading != ASK]  # fmt: skip

    @cached_property
    def unused(self) -> list[str]:
        """Headings of the sheet that the recipe leaves out."""
        used = set(self.places.values())
        return [head for place, head in enumerate(self.headings.texts)
                if head and place not in used]  # fmt: skip

    @cached_property
    def _parted(self) -> tuple[list[int], list[tuple[int, str]]]:
        sheet, used = self.sheet, set(self.places.values())
        first = max(self.headings.rows) + 1
        heads = {tuple(sheet.rows[row]) for row in self.headings.rows if row >= 0}
        leave, kept, left = set(self.recipe.leave_out), [], []
        for position in range(first, len(sheet.rows)):
            cells, number = sheet.rows[position], sheet.numbers[position]
            filled = [place for place, cell in enumerate(cells) if cell]
            if not filled:
                continue
            if number in leave and not sheet.layer:
                left.append((number, "left out by the recipe"))
            elif is_example(cells):
                left.append((number, "an example"))
            elif is_total(cells[filled[0]]):
                left.append((number, f"a total ({cells[filled[0]]!r})"))
            elif tuple(cells) in heads:
                left.append((number, "the headings again"))
            elif len(filled) == 1 and len(used) > 1:
                left.append((number, f"a title or a note ({cells[filled[0]][:40]!r})"))
            elif not used.intersection(filled):
                left.append((number, "nothing in the columns that are used"))
            else:
                kept.append(position)
        return kept, left

    @property
    def rows(self) -> list[int]:
        """Positions of the rows of the table."""
        return self._parted[0]

    @property
    def left(self) -> list[tuple[int, str]]:
        """Row number and reason of the rows that are left out."""
        return self._parted[1]

    def text(self, position: int, ours: str) -> str:
        """Return what stands in a row for one of our columns; blank if nothing does."""
        place = self.places.get(ours)
        if place is None:
            return ""
        text = self.sheet.cell(position, place)
        return "" if is_nothing(text) else text

    def merged(self, position: int, ours: str) -> str:
        """Return what stands in the first cell of a merged range."""
        origin = self.sheet.spans.get((position, self.places[ours]))
        return "" if origin is None else self.sheet.cell(*origin)

    def stored(self, position: int, ours: str) -> bool:
        """Whether a cell holds a number and no text."""
        return (position, self.places[ours]) in self.sheet.stored

    @cached_property
    def _columns(self) -> dict[str, list[str]]:
        """Texts of the columns that were asked for."""
        return {}

    def column(self, ours: str) -> list[str]:
        """Return what stands in a column, a text for each of `rows`, as `text` does."""
        if ours not in self._columns:
            place = self.places.get(ours, BEYOND)
            cells = (self.sheet.cell(position, place) for position in self.rows)
            texts = ["" if is_nothing(cell) else cell for cell in cells]
            self._columns[ours] = texts
        return self._columns[ours]

    def texts(self, ours: str) -> Iterator[tuple[int, str]]:
        """Yield position and text of the filled cells of a column."""
        filled = zip(self.rows, self.column(ours), strict=True)
        return ((position, text) for position, text in filled if text)

    def fault(
        self, position: int, ours: str, why: str, remedy: str, value: object = None
    ) -> Problem:
        """Make the fault of a cell, named as the file names it."""
        column = self.recipe.column(ours)
        head = column.heading if column else ours
        number = self.sheet.numbers[position]
        return Problem(self.sheet.label, number, head, value, why, remedy)


def _layout(recipe: SheetRecipe) -> tuple[object, ...]:
    """Return what headings, places and rows of a sheet depend on."""
    columns = tuple((c.ours, c.heading) for c in recipe.columns)
    return recipe.heading_rows, columns, recipe.leave_out
