"""What stands in the scenario that files are brought into."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from logistics.scenario import (
    WORLD,
    Box,
    TableText,
    clear_number,
    is_example,
    keys_of,
    library,
    plain_name,
    settings_document,
    table_texts,
    tables,
    typed_settings,
)

EXAMPLES = ("sources", "yards", "markets")
"""Tables whose starter rows are of an invented place and give way."""
STARTER_KEYS = {
    "sources": {"mill", "pier", "herd"},
    "yards": {"yard_a", "yard_b"},
    "markets": {"farms"},
}
STARTER_EDGES = Box(-31, 0, -30, 1)


@dataclass(frozen=True, eq=False)
class Surroundings:
    """
    Tables and settings of a scenario as far as bringing needs them.

    Attributes
    ----------
    folder
        Scenario folder.
    texts
        Table -> its text as it stands.
    rows
        Table -> its rows, by our column.
    box
        Edges of the district; the world if they are not set, or are the starter's.
    """

    folder: Path
    texts: Mapping[str, TableText]
    rows: Mapping[str, list[dict[str, str]]]
    box: Box

    @property
    def name(self) -> str:
        """Name of the district."""
        return typed_settings(settings_document(self.folder).text).get("name", "")

    def codes(self, table: str) -> dict[str, str]:
        """Codes of a table and the names they have; materials with the library's."""
        key = keys_of(table)[0]
        found = {}
        if table == "materials":
            frame = library(table).frame
            pairs = zip(frame[key].tolist(), frame["name"].tolist(), strict=True)
            found = {str(code): str(name) for code, name in pairs}
        found |= {r[key]: r.get("name", "") for r in self.rows[table] if r.get(key)}
        if table == "periods" and not found:
            found = {f"m{month:02}": "" for month in range(1, 13)}
        return found

    def example(self, table: str) -> bool:
        """Whether a table still holds just the starter's invented rows."""
        key, rows = keys_of(table)[0], self.rows[table]
        return bool(rows) and all(
            row.get(key) in STARTER_KEYS.get(table, set())
            and row.get("name", "").startswith("Example ")
            and STARTER_EDGES.holds(
                clear_number(row.get("lon", "")), clear_number(row.get("lat", ""))
            )
            for row in rows
        )

    def has_starter_edges(self) -> bool:
        """Whether the edges of the district are still the starter's."""
        return _edges(self.folder) == STARTER_EDGES

    def points(self) -> list[tuple[float, float]]:
        """Longitude and latitude of all places that are no examples. [degrees]"""
        found = []
        for table in EXAMPLES:
            for row in [] if self.example(table) else self.rows[table]:
                place = (
                    clear_number(row.get("lon", "")),
                    clear_number(row.get("lat", "")),
                )
                if all(abs(x) <= 180 for x in place):
                    found.append(place)
        return found


def standing_of(folder: Path) -> Surroundings:
    """Read what stands in a scenario folder, whether or not it has faults."""
    texts = table_texts(folder)
    rows = {}
    for table in tables():
        names = [plain_name(heading) for heading in texts[table].headings]
        rows[table] = [
            {n: cell for n, cell in zip(names, row, strict=False) if n}
            for row in texts[table].rows
            if any(row) and not is_example(row)
        ]
    box = _edges(folder)
    return Surroundings(folder, texts, rows, WORLD if box == STARTER_EDGES else box)


def _edges(folder: Path) -> Box:
    typed = typed_settings(settings_document(folder).text)
    sides = [clear_number(typed.get(f"district.{side}", ""))
             for side in ("west", "south", "east", "north")]  # fmt: skip
    known = all(side == side for side in sides) and sides[0] < sides[2]
    return Box(*sides) if known else WORLD
