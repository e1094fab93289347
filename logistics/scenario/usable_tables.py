"""All that could be read of a scenario, for checks that see it together."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from logistics.scenario.cells import Cells
from logistics.scenario.coordinates import Box
from logistics.scenario.schema import keys_of


@dataclass(frozen=True)
class Tables:
    """
    All tables that could be read, and where the district lies.

    Attributes
    ----------
    cells
        Table to typed cells; a table that is absent or unreadable is not in it.
    box
        Edges of the district.
    periods
        Codes of the periods, in order; empty if they are unusable.
    settings
        Settings that could be read, by dotted name.
    line
        Line of a setting in its file.
    """

    cells: Mapping[str, Cells]
    box: Box
    periods: tuple[str, ...]
    settings: Mapping[str, object] = field(default_factory=dict)
    line: Callable[[str], int | None] = lambda _: None

    def codes(self, table: str) -> list[str] | None:
        """Return codes other tables may use; None if the table is unusable."""
        if table == "periods":
            return list(self.periods) or None
        cells = self.cells.get(table)
        if cells is None:
            return None
        values = cells.frame[keys_of(table)[0]].tolist()
        codes = [value for value in dict.fromkeys(values) if value]
        return codes or None
