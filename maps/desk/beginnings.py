"""Ways to begin a scenario: a blank sheet, a file, a demo, a copy."""

from __future__ import annotations

import csv
import io
import re
import shutil
import tempfile
from collections.abc import Callable
from importlib import resources
from pathlib import Path

from maps.desk.archive import NotOurs, ZipFault, opened, unpack
from maps.desk.book import OUTPUTS, input_files
from maps.desk.share import CHANGES, settle
from maps.desk.shelf import SETTINGS_FILE, NameFault, Shelf, safe_name
from maps.desk.workbooks import MOST_ROWS, check_workbook
from maps.disk import write_whole

BOOK = "tables.xlsx"
LAYERS = "tables.gpkg"
MARGIN = 0.05
"""Around the places of a workbook, in the edges of its district. [degree]"""
DEMOS = {
    "brackwater": "an estuary, with roads and land",
    "highlake": "a lake in the hills, smaller",
}
"""Demos that come with Loamhaul; both are invented."""


def begin(shelf: Shelf, name: str, fill: Callable[[Path], None]) -> Path:
    """
    Make a scenario: filled in a hidden folder, then put in place under its name.

    Raises
    ------
    NameFault
        If the name cannot be one, or is taken.
    """
    place = shelf.free(name)
    draft = Path(tempfile.mkdtemp(prefix=".new-", dir=shelf.folder))
    try:
        fill(draft)
        draft.chmod(0o755)
        place = shelf.free(name)
        return draft.rename(place)
    except BaseException:
        shutil.rmtree(draft, ignore_errors=True)
        raise


def blank(folder: Path, kind: str, name: str) -> None:
    """Fill a folder with starter tables: "csv" files or one "xlsx" workbook."""
    from logistics.scenario import new_scenario

    new_scenario(folder, "xlsx" if kind == "xlsx" else "csv")
    _name_settings(folder, name, [])


def demo_folder(name: str) -> Path | None:
    """Return the folder of a demo; None if it did not come with this installation."""
    packed = Path(str(resources.files("maps"))) / "demos" / name
    beside = Path(str(resources.files("maps"))).parent / "scenarios" / name
    known = [one for one in (packed, beside) if (one / SETTINGS_FILE).is_file()]
    return known[0] if known and name in DEMOS else None


def demos() -> dict[str, str]:
    """Demos that came with this installation, and what each is."""
    return {name: words for name, words in DEMOS.items() if demo_folder(name)}


def copy(origin: Path, folder: Path) -> None:
    """Copy tables, settings and named changes of a scenario; no plans."""
    for path in input_files(origin):
        write_whole(folder / path.name, path.read_bytes())
    changes = origin / CHANGES
    if changes.is_symlink() or not changes.is_dir():
        return
    (folder / CHANGES).mkdir()
    for path in sorted(changes.glob("*.toml")):
        if path.is_file() and not path.is_symlink():
            write_whole(folder / CHANGES / path.name, path.read_bytes())


def from_workbook(file: Path, folder: Path, name: str) -> None:
    """
    Take a workbook as the tables of a new scenario.

    The settings get the scenario's name, and edges around the places it holds.

    Raises
    ------
    NotOurs
        If no sheet has the headings of a table.
    ZipFault
        If it is no workbook, or not to be read without harm.
    """
    from logistics.scenario import keys_of, new_scenario, read_tables
    from maps.desk.seen import KINDS, places_of

    check_workbook(file)
    write_whole(folder / BOOK, file.read_bytes())
    found = read_tables(folder).raw
    if not any(keys_of(name)[0] in table.cells for name, table in found.items()):
        message = "has no sheet with the headings of a table"
        raise NotOurs(message)
    (folder / BOOK).unlink()
    new_scenario(folder, "xlsx")
    write_whole(folder / BOOK, file.read_bytes())
    places = [place for table in KINDS for place in places_of(found.get(table))]
    _name_settings(folder, name, places)


def from_geopackage(file: Path, folder: Path, name: str) -> None:
    """
    Take the layers of a GeoPackage as tables of a new scenario.

    They become CSV files, which can be edited here; points and shapes stand in them in
    degrees. Tables that it does not hold are those of a blank sheet.

    Raises
    ------
    ZipFault
        If no layer bears the name of a table, or one cannot be read.
    """
    from logistics.scenario import new_scenario, read_tables
    from maps.desk.seen import KINDS, places_of

    write_whole(folder / LAYERS, file.read_bytes())
    found = read_tables(folder)
    (folder / LAYERS).unlink()
    for fault in found.problems:
        if fault.row is None and fault.why.startswith("cannot be"):
            raise ZipFault(str(fault).removeprefix(LAYERS).strip(" :."))
    if not found.raw:
        message = "has no layer named as a table is, such as sources or yards"
        raise NotOurs(message)
    if sum(len(table.rows) for table in found.raw.values()) > MOST_ROWS:
        message = f"holds more than {MOST_ROWS:,} rows"
        raise ZipFault(message)
    new_scenario(folder, "csv")
    for table in found.raw.values():
        lines = io.StringIO()
        writer = csv.writer(lines, lineterminator="\n")
        writer.writerow(table.cells)
        writer.writerows(zip(*table.cells.values(), strict=True))
        write_whole(folder / f"{table.table}.csv", lines.getvalue().encode())
    places = [place for table in KINDS for place in places_of(found.raw.get(table))]
    _name_settings(folder, name, places)


def _name_settings(folder: Path, name: str, places: list[tuple[float, float]]) -> None:
    settings = folder / SETTINGS_FILE
    text = settings.read_text(encoding="utf-8")
    write_whole(settings, settings_for(text, name, places).encode())


def settings_for(text: str, name: str, places: list[tuple[float, float]]) -> str:
    """Put name and edges into the text of fresh settings."""
    values: dict[str, str] = {"name": quoted(name)}
    if places:
        east, north = zip(*places, strict=True)
        values |= {
            "west": f"{min(east) - MARGIN:.3f}",
            "east": f"{max(east) + MARGIN:.3f}",
            "south": f"{min(north) - MARGIN:.3f}",
            "north": f"{max(north) + MARGIN:.3f}",
        }
    for key, value in values.items():
        line = f"{key} = {value}".replace("\\", r"\\")
        text = re.sub(rf"^{key} = .*$", line, text, count=1, flags=re.MULTILINE)
    return text


def quoted(text: str) -> str:
    r"""
    Write a text as TOML does.

    >>> quoted('a "b"\\c')
    '"a \\"b\\"\\\\c"'
    """
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def from_share(file: Path, folder: Path, _: str = "") -> None:
    """
    Take a share file as a new scenario; its workbooks are read once, as tables.

    Outputs of its plans are not read, here or later.

    Raises
    ------
    ZipFault
        If it is none, or not to be unpacked without harm.
    """
    from logistics.scenario import read_tables

    with opened(file) as packed:
        if not any(n.endswith(SETTINGS_FILE) for n in packed.namelist()):
            message = "is no share file: it holds no scenario"
            raise NotOurs(message)
    unpack(file, folder)
    settle(folder)
    for book in sorted(folder.rglob("*.xls[xm]")):
        if OUTPUTS not in book.relative_to(folder).parts:
            check_workbook(book)
    read_tables(folder)


def name_for(file_name: str) -> str:
    """
    Return the name a scenario gets from the file it was brought in.

    >>> name_for("north district.share.zip"), name_for("../Tables 2027.xlsx")
    ('north district', 'Tables 2027')
    >>> name_for(".xlsx"), name_for("con.xlsx")
    ('New district', 'New district')
    """
    last = re.split(r"[/\\]", file_name)[-1]
    stem = re.sub(r"(\.share)?\.[A-Za-z]{2,5}$", "", last)
    stem = re.sub(r'[\x00-\x1f\x7f<>:"|?*]', " ", stem).strip(" .~")[:60].strip()
    try:
        return safe_name(stem)
    except NameFault:
        return "New district"


def free_name(shelf: Shelf, wanted: str) -> str:
    """Return a name that is not taken: the one wanted, or with a number."""
    for number in range(1, 1_000):
        name = wanted if number == 1 else f"{wanted} {number}"
        try:
            shelf.free(name)
        except NameFault:
            if shelf.only is not None:
                raise
        else:
            return name
    message = f"There are too many scenarios of the name {wanted!r}"
    raise NameFault(message)
