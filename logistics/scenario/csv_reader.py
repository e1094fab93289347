"""Read one CSV file as text, whatever encoding and delimiter it came in."""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from logistics.scenario.faults import Problem
from logistics.scenario.raw import Grid, RawTable, Remark, raw_table
from logistics.scenario.schema import columns_of, plain_name

MAGIC = {
    b"PK\x03\x04": "is a workbook or zip file, not a CSV file",
    b"\xd0\xcf\x11\xe0": "is an old workbook, not a CSV file",
    b"SQLite format 3": "is a database, not a CSV file",
    b"%PDF": "is a PDF file, not a CSV file",
}
DELIMITERS = (",", ";", "\t", "|")
END = "\x1eend\x1e"
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
LONGEST_CELL = 2**31 - 1
ASCII = re.compile(r"[\x00-\x7f]")
FORMULA_MARK = re.compile(r"^'(?='*[=+\-@])")
"""The quotation mark that our own tables put before what looks like a formula."""
STRAY = 3
"""Letters in UTF-8 for each byte that is not, for a file to be UTF-8 (judgement)."""


@dataclass(frozen=True, slots=True)
class CsvForm:
    """
    How a CSV file is written, so that it can be written so again.

    Attributes
    ----------
    delimiter, newline
        Signs between cells and between rows.
    encoding
        As Python names it; `utf-8-sig` and `utf-16` begin with a mark.
    named
        Whether the first line says what the delimiter is.
    """

    delimiter: str = ","
    newline: str = "\n"
    encoding: str = "utf-8"
    named: bool = False


def decode(data: bytes) -> str:
    """
    Turn bytes into text: UTF-8 with or without mark, UTF-16, UTF-32, else cp1252.

    UTF-8 with a few stray bytes stays UTF-8: only they become U+FFFD, which the table
    check reports; so do bytes that cp1252 does not know.

    Examples
    --------
    >>> decode("Łódź".encode("utf-16")), decode("Café".encode("cp1252"))
    ('Łódź', 'Café')
    """
    for mark, encoding in (
        (b"\xef\xbb\xbf", "utf-8-sig"),
        (b"\xff\xfe\x00\x00", "utf-32"),
        (b"\x00\x00\xfe\xff", "utf-32"),
        (b"\xff\xfe", "utf-16"),
        (b"\xfe\xff", "utf-16"),
    ):
        if data.startswith(mark):
            return data.decode(encoding, errors="replace")
    start = data[:4000]
    if start[1::2].count(0) > len(start) / 5:
        return data.decode("utf-16-le", errors="replace")
    if start[::2].count(0) > len(start) / 5:
        return data.decode("utf-16-be", errors="replace")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        name = "utf-8" if mostly_utf8(data) else "cp1252"
        return data.decode(name, errors="replace")


def mostly_utf8(data: bytes) -> bool:
    r"""
    Whether letters beyond ASCII are UTF-8 but for a few stray bytes.

    Examples
    --------
    >>> mostly_utf8("Été à Łódź".encode() + b"\xe9"), mostly_utf8(b"Caf\xe9")
    (True, False)
    """
    whole = data.decode("utf-8", errors="ignore")
    letters = len(whole) - len(ASCII.findall(whole))
    stray = len(data) - len(whole.encode("utf-8"))
    return letters >= STRAY * stray


def read_csv(path: Path, table: str) -> tuple[RawTable | None, list[Problem]]:
    """
    Read a CSV file into a raw table.

    Parameters
    ----------
    path
        File to read.
    table
        Table of `columns.csv` that the file holds.

    Returns
    -------
    RawTable or None, list of Problem
        None if the file is not a table of text.
    """
    data = path.read_bytes()
    why = next((w for magic, w in MAGIC.items() if data.startswith(magic)), "")
    text = "" if why else decode(data)
    if len(CONTROL.findall(text[:4000])) > 0.1 * len(text[:4000]):
        why = "is not a text file"
    if why:
        remedy = "Save the table as CSV (UTF-8) from the spreadsheet"
        return None, [Problem(path.name, None, "", None, why, remedy)]
    grid, open_row, delimiter, _ = _records(text, table)
    grid = [(row, [FORMULA_MARK.sub("", c) for c in cells]) for row, cells in grid]
    if open_row:
        why = "opens a quotation mark that is never closed"
        remedy = "Close the quotation mark or delete it"
        return None, [Problem(path.name, open_row, "", None, why, remedy)]
    if swallowed := _swallowed(grid, delimiter, path.name):
        return None, swallowed
    raw, problems = raw_table(table, path.name, grid)
    if raw is not None and _encoding(data) == "cp1252":
        raw = replace(raw, notes=_encoding_note(raw))
    return raw, problems


def _swallowed(grid: Grid, delimiter: str, file: str) -> list[Problem]:
    """Find cells with a line break and a delimiter: rows that a quote joined."""
    problems = []
    line = 1
    for row, cells in grid:
        for cell in cells:
            if "\n" in cell and delimiter in cell:
                why = (
                    f"begins in line {line} of the file and runs over "
                    f"{cell.count(chr(10)) + 1} lines with {delimiter!r} between them, "
                    "as rows do that a stray quotation mark joins"
                )
                remedy = "Delete the quotation mark, or the line break in the cell"
                shown = cell.split("\n")[0]
                problems.append(Problem(file, row, "", shown, why, remedy))
        line += 1 + sum(cell.count("\n") for cell in cells)
    return problems


def _encoding_note(raw: RawTable) -> tuple[Remark, ...]:
    """Say with a name that a file which is no Unicode was read as Western European."""
    for column, texts in raw.cells.items():
        for n, text in enumerate(texts):
            if not text.isascii():
                why = (
                    "is how the file reads as cp1252 (Western Europe); it is not UTF-8"
                )
                remedy = "If that is garbled, save the file as CSV UTF-8"
                place = (raw.file, raw.rows[n], column, text)
                return (Remark("encoding", Problem(*place, why, remedy)),)
    return ()


def csv_grid(data: bytes, table: str) -> tuple[Grid, CsvForm] | None:
    r"""
    Return the rows of a CSV file and how it is written; None if it is not text.

    Examples
    --------
    >>> grid, form = csv_grid(b"land;name\r\nhill;Hill\r\n", "land")
    >>> grid, form.delimiter, form.newline
    ([(1, ['land', 'name']), (2, ['hill', 'Hill'])], ';', '\r\n')
    """
    text = decode(data)
    grid, open_row, delimiter, named = _records(text, table)
    if open_row or CONTROL.search(text):
        return None
    newline = "\r\n" if "\r\n" in text else "\n"
    return grid, CsvForm(delimiter, newline, _encoding(data), named)


def _encoding(data: bytes) -> str:
    """Name the encoding to write in: what `decode` found, else UTF-8."""
    if data.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig"
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "utf-8" if mostly_utf8(data) else "cp1252"
    return "utf-8"


def csv_bytes(rows: Iterable[Sequence[str]], form: CsvForm) -> bytes:
    r"""
    Write rows as a CSV file is written; with signs it cannot hold it becomes UTF-8.

    Examples
    --------
    >>> csv_bytes([["a", "1,5"]], CsvForm(";", "\r\n")), csv_bytes([["Ł"]], CsvForm())
    (b'a;1,5\r\n', b'\xc5\x81\n')
    """
    lines = io.StringIO(newline="")
    if form.named:
        lines.write(f"sep={form.delimiter}{form.newline}")
    csv.writer(lines, delimiter=form.delimiter, lineterminator=form.newline).writerows(
        rows
    )
    try:
        return lines.getvalue().encode(form.encoding)
    except UnicodeEncodeError:
        return lines.getvalue().encode("utf-8-sig")


def _records(text: str, table: str) -> tuple[Grid, int, str, bool]:
    """
    Split text into records; say in which row a quotation mark stays open (0: none).

    The delimiter and whether the file names it come last. A record is a row as the
    spreadsheet counts, also when a cell holds line breaks.
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    first, _, rest = text.partition("\n")
    named = re.fullmatch(r"\s*sep=(.)\s*", first)
    if named:
        text = rest
    delimiter = named[1] if named else _delimiter(text, table)
    limit = csv.field_size_limit(LONGEST_CELL)
    try:
        lines = io.StringIO(f"{text.rstrip('\n')}\n{END}", newline="")
        records = list(csv.reader(lines, delimiter=delimiter))
    finally:
        csv.field_size_limit(limit)
    if records and records[-1] == [END]:
        return list(enumerate(records[:-1], start=1)), 0, delimiter, bool(named)
    grid = list(enumerate(records, start=1))
    return grid, len(records), delimiter, bool(named)


def _delimiter(text: str, table: str) -> str:
    """Return the delimiter that finds most known headings in the first filled line."""
    heading = next((line for line in text.split("\n") if line.strip(" ,;\t|")), "")
    known = {c.name for c in columns_of(table)}

    def score(delimiter: str) -> tuple[int, int]:
        names = [plain_name(part) for part in heading.split(delimiter)]
        return sum(name in known for name in names), len(names)

    return max(DELIMITERS, key=score)
