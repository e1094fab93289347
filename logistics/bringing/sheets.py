"""Sheets of files as people have them: texts in rows, with what is known of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from logistics.scenario import Problem, ScenarioError

MOST_ROWS, MOST_CELLS = 250_000, 6_000_000
"""Of one file: more is no table of a district."""
MOST_BYTES = 150_000_000
"""Of one file that is not packed. [byte]"""


@dataclass(frozen=True, eq=False)
class ReadSheet:
    """
    One sheet, layer or text file, as it stands.

    Attributes
    ----------
    file, name
        Name of the file; sheet or layer in it, empty where the file is one table.
    rows
        Texts of the filled rows, trimmed; rows may differ in length.
    numbers
        Row number of each, as a spreadsheet counts; feature ids in a layer.
    stored
        Cells (position, place) that hold numbers and no text.
    spans
        Cell of a merged range -> its first cell, both as (position, place).
    uncounted
        Cells with a formula that carries no stored result.
    said
        How the file was read, for the reader of the proposal.
    layer
        Whether its first row is the names of its columns, as in a GIS.
    encoding
        Of a text file.
    survey
        Whether it is an export of a survey form, whose headings name groups as well.
    """

    file: str
    name: str
    rows: list[list[str]]
    numbers: list[int]
    stored: frozenset[tuple[int, int]] = frozenset()
    spans: Mapping[tuple[int, int], tuple[int, int]] = field(default_factory=dict)
    uncounted: frozenset[tuple[int, int]] = frozenset()
    said: tuple[str, ...] = ()
    layer: bool = False
    encoding: str = ""
    survey: bool = False

    @property
    def label(self) -> str:
        """What faults call it."""
        if not self.name:
            return self.file
        return f"{self.file} {'layer' if self.layer else 'sheet'} '{self.name}'"

    def cell(self, position: int, place: int) -> str:
        """Return the text of a cell; blank beyond the end of the row."""
        row = self.rows[position]
        return row[place] if place < len(row) else ""


def unread(file: str, why: str, remedy: str) -> ScenarioError:
    """Make the error of a file from which nothing is brought in."""
    return ScenarioError([Problem(file, None, "", None, why, remedy)])
