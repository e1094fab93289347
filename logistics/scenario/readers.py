"""Find the tables of a scenario folder: CSV files, one workbook, one GeoPackage."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from logistics.scenario.beside import left_aside
from logistics.scenario.csv_reader import read_csv
from logistics.scenario.faults import Problem, nearest
from logistics.scenario.foreign import foreign_faults
from logistics.scenario.library_materials import TABLE as MATERIALS
from logistics.scenario.library_materials import called_for
from logistics.scenario.lists import in_list
from logistics.scenario.own_outputs import not_read, own_output
from logistics.scenario.raw import RawTable, Remark
from logistics.scenario.schema import REQUIRED_TABLES, columns_of, plain_name, tables
from logistics.scenario.table_text import TableText

OLD_KINDS = {".xls", ".ods", ".numbers", ".xlsb"}
BOOKS = {".xlsx", ".gpkg"}


@dataclass(eq=False)
class Found:
    """
    What a scenario folder holds.

    Attributes
    ----------
    raw
        Tables that could be read.
    places
        Table to the files, sheets or layers that claim to hold it.
    others
        Names of files, sheets and layers that are no table.
    problems
        Faults found on the way.
    blank
        Table to a file, sheet or layer with headings and no row, and what it holds.
    notes
        What was read otherwise than its maker may expect, or not at all.
    """

    raw: dict[str, RawTable] = field(default_factory=dict)
    places: dict[str, list[str]] = field(default_factory=dict)
    others: list[tuple[str, str]] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    blank: dict[str, tuple[str, RawTable]] = field(default_factory=dict)
    notes: list[Remark] = field(default_factory=list)

    def add(
        self, table: str, label: str, raw: RawTable | None, problems: list[Problem]
    ) -> None:
        """
        Put one table in; a second one of the same name is a fault.

        Headings without a row are laid aside: they are the table if nothing else is.
        """
        if raw is not None and not raw.rows and not problems:
            self.blank.setdefault(table, (label, raw))
            return
        self.places.setdefault(table, []).append(label)
        self.problems += problems
        if raw is not None:
            self.raw.setdefault(table, raw)

    def take_blank(self) -> None:
        """Let headings without a row be the table where no file holds one."""
        for table, (label, raw) in self.blank.items():
            if table not in self.places:
                self.places[table], self.raw[table] = [label], raw


def read_tables(folder: Path, edited: Mapping[str, TableText] | None = None) -> Found:
    """
    Read all tables of a folder as text.

    Parameters
    ----------
    folder
        Scenario folder.
    edited
        Tables that are being edited: read in place of what their files hold.

    Returns
    -------
    Found
        Tables, and the faults of files, headings and rows.
    """
    found, drafts = Found(), edited or {}
    for text in drafts.values():
        found.add(text.table, text.label, *text.raw())
    files = [p for p in sorted(folder.iterdir()) if not p.name.startswith((".", "~"))]
    ours = [path for path in files if _kind(path) in BOOKS and own_output(path)]
    found.notes += [not_read(path) for path in ours]
    files = [path for path in files if path not in ours]
    many = _one_only(files, found)
    for path in files:
        if path not in many:
            _read_file(path, found, drafts)
    found.take_blank()
    found.problems += _ambiguous(found) + _absent(found, files)
    told = {problem.file for problem in found.problems}
    kinds = [(path.name, path.stem, path.suffix) for path in files]
    found.notes += left_aside(found.others, kinds, found.places, told)
    found.notes += [note for raw in found.raw.values() for note in raw.notes]
    return found


def no_file(path: Path) -> str:
    """
    Say why nothing can be read from a place; nothing where it is a file.

    A pipe or a device would keep a reader waiting for ever.
    """
    if path.is_file():
        return ""
    if path.is_dir():
        return "is a folder, not a file"
    if path.is_symlink() and not path.exists():
        return "leads to a file that is not there"
    return "is a pipe or a device, not a file"


def _kind(path: Path) -> str:
    return {".xlsm": ".xlsx"}.get(path.suffix.lower(), path.suffix.lower())


def _read_file(path: Path, found: Found, edited: Mapping[str, TableText]) -> None:
    """Read a CSV file, a workbook or a GeoPackage; leave all other files alone."""
    kind, table = _kind(path), plain_name(path.stem)
    try:
        if table in edited and edited[table].label == path.name:
            return
        if kind in {".csv", ".tsv"} and table not in tables():
            if path.is_dir():
                return  # such as plan.csv, a folder of outputs
            found.others.append((path.name, path.stem))
        elif kind in {".csv", ".tsv", ".xlsx", ".gpkg"} and (why := no_file(path)):
            remedy = "Move it away or rename it"
            problem = Problem(path.name, None, "", None, why, remedy)
            found.add(table, path.name, None, [problem])
        elif kind in {".csv", ".tsv"}:
            found.add(table, path.name, *read_csv(path, table))
        elif kind in {".xlsx", ".gpkg"}:
            _read_book(path, kind, found, edited)
    except OSError as error:
        why = f"cannot be opened ({error.strerror or type(error).__name__})"
        remedy = "Close it in other programs and check that you are allowed to read it"
        problem = Problem(path.name, None, "", None, why, remedy)
        found.add(table, path.name, None, [problem])


def _read_book(
    path: Path, kind: str, found: Found, edited: Mapping[str, TableText]
) -> None:
    """Read a file that holds several tables."""
    if kind == ".xlsx":
        from logistics.scenario.xlsx_reader import read_xlsx as read
    else:
        from logistics.scenario.gpkg_reader import read_gpkg as read
    sheets, others, problems = read(path)
    for table, label, raw, faults in sheets:
        if table in edited and edited[table].label == label:
            continue
        found.add(table, label, raw, faults)
    part = "sheet" if kind == ".xlsx" else "layer"
    found.others += [(f"{path.name} {part} '{name}'", name) for name in others]
    found.problems += problems


def _one_only(files: list[Path], found: Found) -> list[Path]:
    """
    Report workbooks, or GeoPackages, that are next to each other, and return them.

    None of them is read: as nobody can tell which one counts, what is wrong inside, and
    which tables stand in two of them, would bury the one fault that matters.
    """
    many = []
    for kind in sorted(BOOKS, reverse=True):
        some = [path for path in files if _kind(path) == kind]
        if len(some) > 1:
            why = f"is next to {' and '.join(path.name for path in some[1:])}"
            remedy = "Keep one of them in the folder and move the others away"
            problem = Problem(some[0].name, None, "", None, why, remedy)
            found.problems.append(problem)
            many += some
    return many


def _ambiguous(found: Found) -> list[Problem]:
    """Report tables given in two places: neither wins."""
    problems = []
    for table, places in found.places.items():
        if len(places) > 1:
            why = f"holds the table {table}, and so does {' and '.join(places[1:])}"
            remedy = (
                "Keep one and move the other away; Loamhaul cannot tell which is right"
            )
            problems.append(Problem(places[0], None, "", None, why, remedy))
    return problems


def _absent(found: Found, files: list[Path]) -> list[Problem]:
    """Report required tables that are nowhere, and misspelt names of tables."""
    absent = [table for table in REQUIRED_TABLES if table not in found.places]
    if called_for(found.raw):  # the library stands in for the table
        absent = [table for table in absent if table != MATERIALS]
    unused = [table for table in tables() if table not in found.places]
    problems, explained = [], set()
    for label, name in found.others:
        table = nearest_table(name, unused)
        if table:
            why, remedy = "is not a known table", f"Rename it to '{table}'"
            problems.append(Problem(label, None, "", None, why, remedy))
            explained.add(table)
    broken = any(not p.column and _whole_book(p) for p in found.problems)
    old = [p.name for p in files if p.suffix.lower() in OLD_KINDS]
    if broken:
        return problems
    left = [table for table in absent if table not in explained]
    others = [o for o in found.others if not nearest_table(o[1], unused)]
    foreign = foreign_faults(others, files, left) if left else []
    if foreign:
        return problems + foreign
    if not found.raw and not found.others and not found.blank and not old:
        why, remedy = "holds no tables", "Run `loamhaul new` to start a district"
        return [*problems, Problem("the folder", None, "", None, why, remedy)]
    for table in left:
        names = in_list(c.name for c in columns_of(table) if c.required)
        remedy = f"Add it with the columns {names}"
        if old:
            remedy = f"Save {old[0]} as .xlsx, or add it with the columns {names}"
        file = f"{table}.csv"
        problems.append(Problem(file, None, "", None, "is missing", remedy))
    return problems


def nearest_table(name: str, tables: Collection[str]) -> str:
    """Return the table whose name a sheet or file nearly bears, or nothing."""
    return nearest(plain_name(name), tables, cutoff=0.75)


def _whole_book(problem: Problem) -> bool:
    """Whether the fault is that a whole workbook or GeoPackage cannot be read."""
    return problem.file.lower().endswith((".xlsx", ".xlsm", ".gpkg"))
