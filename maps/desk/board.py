"""Tables of a study as its page shows them: made by the worker, kept as texts."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from maps.desk.changes.effect import said_of
from maps.desk.figures import UNKNOWN, written
from maps.disk import read_json, write_json

if TYPE_CHECKING:
    import pandas as pd

    from logistics.results import Result
    from logistics.studies import Outcome

FILE = "sheets.json"
ROWS = 60
"""Most rows of a table on a page; the workbook has all."""
MOST = 12
"""Sources of a change that gain or lose most, of those shown."""
BASE = "Without changes"


@dataclass(frozen=True)
class BoardTable:
    """
    A table of texts.

    Attributes
    ----------
    title, notes
        What it answers, and what has to be said of it.
    head, rows
        Heading of each column; cells, as many in each row.
    numbers
        Whether each column holds numbers.
    """

    title: str
    notes: tuple[str, ...]
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[bool, ...]


def keep_sheets(sheets: Sequence[BoardTable], folder: Path) -> None:
    """Write tables into the folder of a study."""
    write_json(folder / FILE, {"sheets": [asdict(sheet) for sheet in sheets]})


def read_sheets(folder: Path) -> list[BoardTable]:
    """Read the tables of a study; what cannot be one is left out."""
    listed = read_json(folder / FILE).get("sheets")
    made = map(_sheet, listed if isinstance(listed, list) else [])
    return [sheet for sheet in made if sheet is not None]


def _sheet(told: object) -> BoardTable | None:
    """Read one table; None if it is none."""
    if not isinstance(told, dict):
        return None
    parts = [told.get(name) for name in ("notes", "head", "rows", "numbers")]
    if not all(isinstance(part, list) for part in parts):
        return None
    notes, head, rows, numbers = (part or [] for part in parts)
    whole = all(isinstance(row, list) and len(row) == len(head) for row in rows)
    if not whole or len(numbers) != len(head):
        return None
    return BoardTable(
        str(told.get("title", "")),
        tuple(map(str, notes)),
        tuple(map(str, head)),
        tuple(tuple(map(str, row)) for row in rows),
        tuple(one is True for one in numbers),
    )


def board(base: Result, outcomes: Sequence[Outcome]) -> list[BoardTable]:
    """Plans under changes: one table of all, then who gains and who loses."""
    from maps.studies import comparison_tables

    tables = comparison_tables(base, outcomes)
    tables["sources"] = with_names(tables["sources"], [base, *afresh(outcomes)])
    head = ("", BASE, *(outcome.change.title for outcome in outcomes))
    numbers = (False, *(True for _ in head[1:]))
    first, notes = overview_rows(tables["overview"])
    money = [money_row(row) for row in tables["money"].itertuples(index=False)]
    return [
        BoardTable("Side by side", notes, head, tuple(first), numbers),
        BoardTable(
            f"Money by line, all planned afresh [{currency_of(base)}/yr]",
            (),
            head,
            (*money, total_row(tables["money"])),
            numbers,
        ),
        *gains(tables),
    ]


def afresh(outcomes: Sequence[Outcome]) -> list[Result]:
    """Plans of changes, all planned afresh."""
    return [outcome.replan for outcome in outcomes]


def with_names(table: pd.DataFrame, results: Sequence[Result]) -> pd.DataFrame:
    """Put names in place of the codes of sources and feedstocks."""
    from maps.shared import names

    for kind in ("source", "material"):
        known: dict[str, str] = {}
        for result in reversed(results):
            known |= names(result, kind)
        table[kind] = [known.get(code, code) for code in table[kind]]
    return table.rename(columns={"material": "feedstock"})


def currency_of(base: Result) -> str:
    """Currency of a plan's money."""
    return base.scenario.settings.currency


LEFT_OUT = ("change", "answer", "remarks", "status")


def overview_rows(
    table: pd.DataFrame,
) -> tuple[list[tuple[str, ...]], tuple[str, ...]]:
    """
    Turn the overview: a row a figure, a column a plan.

    Parameters
    ----------
    table
        First row the base, then two answers to each change; see `studies.overview`.

    Returns
    -------
    list, tuple
        Rows, and what is said of the plans.
    """
    base, kept, anew = table.iloc[0], table.iloc[1::2], table.iloc[2::2]
    rows = []
    for place, column in enumerate(c for c in table.columns if c not in LEFT_OUT):
        cells = (base[column], *anew[column])
        if all(cell_of(value) in ("", UNKNOWN) for value in cells):
            continue
        texts = [cell_of(value) for value in cells]
        rows.append((label_of(column), *texts))
        if place == 0:  # the net cost: also with the yards as they are
            old = [cell_of(value) for value in kept[column]]
            words = [text if text != UNKNOWN else "cannot stay" for text in old]
            name = f"{label_of(column)}, yards as without changes"
            rows.append((name, texts[0], *words))
    pairs = zip(table["change"], table["remarks"], strict=True)
    notes = tuple(dict.fromkeys(f"{what}: {said}" for what, said in pairs if said))
    return rows, notes


def label_of(column: str) -> str:
    """
    Write the heading of a figure as a row of the page.

    >>> label_of("against the base [coin/yr]")
    'Against the plan without changes [coin/yr]'
    """
    text = column.replace("the base's yards", "the yards without changes")
    text = text.replace("the base", "the plan without changes")
    return text[:1].upper() + text[1:]


def cell_of(value: object) -> str:
    """
    Write a cell: numbers with thousands apart, small ones with a digit or two.

    >>> cell_of(12345.6), cell_of(0.25), cell_of(float("nan")), cell_of("North")
    ('12,346', '0.25', '–', 'North')
    """
    if isinstance(value, str) or not hasattr(value, "__float__"):
        text = str(value)
        return UNKNOWN if text in ("None", "<NA>") else text
    number = float(value)
    if not math.isfinite(number):
        return UNKNOWN
    whole = number == round(number) or abs(number) >= 100
    return written(number, 0 if whole else 2)


def money_row(row: Sequence[Any]) -> tuple[str, ...]:
    """Write a line of the money."""
    account, line, *amounts = row
    name = said_of(str(account), str(line))
    return (name, *(written(float(amount)) for amount in amounts))


def total_row(table: pd.DataFrame) -> tuple[str, ...]:
    """Add up the lines."""
    return ("Net cost", *(written(float(table[c].sum())) for c in table.columns[2:]))


def gains(tables: Mapping[str, pd.DataFrame]) -> list[BoardTable]:
    """Who gains and who loses: districts, and the sources that change most."""
    districts, sources = tables["districts"], tables["sources"]
    found = [frame_sheet("Districts: collected from and compost to each", districts)]
    change = sources["difference [t/yr]"].abs()
    moved = sources[change >= 1].assign(by=change)
    most = moved.sort_values(["change", "by"], ascending=[True, False])
    most = most.groupby("change", sort=False).head(MOST).drop(columns="by")
    title = "Sources that gain or lose most"
    note = () if len(most) else ("No source gives more or less than before.",)
    return [*found, frame_sheet(title, most, note)]


def frame_sheet(
    title: str, table: pd.DataFrame, notes: tuple[str, ...] = ()
) -> BoardTable:
    """Show a table as it is, its first rows."""
    head = tuple(str(c)[:1].upper() + str(c)[1:] for c in table.columns)
    rows = tuple(
        tuple(cell_of(value) for value in row)
        for row in table.head(ROWS).itertuples(index=False)
    )
    if len(table) > ROWS:
        notes = (
            *notes,
            f"The first {ROWS} rows of {len(table)}; the workbook has all.",
        )
    kinds = tuple(table[c].dtype.kind in "if" for c in table.columns)
    return BoardTable(title, notes, head, rows, kinds)


def csv_sheets(folder: Path, titles: Mapping[str, str]) -> list[BoardTable]:
    """Show the tables of a folder, those with a title first and in that order."""
    from maps.shared import read_back

    found = {path.stem: path for path in sorted(folder.glob("*.csv"))}
    order = [*(n for n in titles if n in found), *(n for n in found if n not in titles)]
    return [
        frame_sheet(
            titles.get(name, name.replace("_", " ").capitalize()),
            read_back(found[name]),
        )
        for name in order
    ]
