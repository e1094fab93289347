"""Packed files from elsewhere are looked at before anything reads them."""

from __future__ import annotations

import io
import re
import zipfile

from logistics.bringing.sheets import MOST_CELLS, MOST_ROWS, unread
from logistics.scenario import too_much_merged

MOST_FILES, MOST_WHOLE, MOST_RATIO = 2_000, 250_000_000, 200.0
SMALL = 1_000_000
"""Below it no ratio is looked at. [byte]"""
DEFINES = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
ROWS = re.compile(rb"<(?:\w+:)?(?:row|table-row)[\s/>]")
CELLS = re.compile(rb"<(?:c|table:table-cell)[\s/>]")
AGAIN = "Save it again with a spreadsheet program, or send its sheets as CSV"


def opened(data: bytes, file: str) -> zipfile.ZipFile:
    """
    Open a packed file whose parts are small enough and define nothing.

    Parameters
    ----------
    data
        The file.
    file
        Its name, for the fault.

    Raises
    ------
    ScenarioError
        If it is damaged, unpacks to far more than it is, or holds definitions of its
        own (entities), which may multiply.
    """
    try:
        packed = zipfile.ZipFile(io.BytesIO(data))
        _check(packed, file)
    except (zipfile.BadZipFile, NotImplementedError, EOFError, RuntimeError) as error:
        raise unread(file, f"is damaged ({error})", AGAIN) from None
    return packed


def _check(packed: zipfile.ZipFile, file: str) -> None:
    infos = packed.infolist()
    size = sum(info.file_size for info in infos)
    if len(infos) > MOST_FILES:
        raise unread(file, f"holds {len(infos):,} files", AGAIN)
    if size > MOST_WHOLE:
        why = f"unpacks to {size / 1e6:,.0f} MB; {MOST_WHOLE / 1e6:,.0f} are the most"
        raise unread(file, why, "Send the rows that are needed only")
    for info in infos:
        if info.file_size > SMALL and info.file_size > MOST_RATIO * info.compress_size:
            times = info.file_size / max(info.compress_size, 1)
            why = f"unpacks to {times:,.0f} times its size ({info.filename})"
            raise unread(file, why, AGAIN)
        if info.flag_bits & 0x1:
            raise unread(file, "has a password", "Save it without a password")
    rows = cells = 0
    for info in infos:
        if not info.filename.lower().endswith((".xml", ".rels", ".kml")):
            continue
        with packed.open(info) as part:
            text = part.read(info.file_size + 1)
        check_markup(text, file)
        if "sheet" in info.filename.lower() or info.filename == "content.xml":
            rows += len(ROWS.findall(text))
            cells += len(CELLS.findall(text))
            if merged := too_much_merged(text):
                raise unread(file, merged, "Unmerge them")
    if rows > MOST_ROWS or cells > MOST_CELLS:
        why = f"holds {rows:,} rows and {cells:,} cells; "
        why += f"{MOST_ROWS:,} and {MOST_CELLS:,} are the most"
        raise unread(file, why, "Send the rows that are needed only")


def check_markup(text: bytes, file: str) -> None:
    """
    Raise if a part defines anything of its own, as no table needs.

    UTF-16 hides the words that are looked for, so it is looked at as UTF-8.
    """
    if text[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\x00" in text[:200]:
        text = text.decode("utf-16", errors="replace").encode()
    if DEFINES.search(text):
        why = "holds definitions of its own (DOCTYPE or ENTITY), as no table needs"
        raise unread(file, why, AGAIN)


def remarks(packed: zipfile.ZipFile) -> list[str]:
    """Say what stands in a workbook and is never looked at: macros, links outside."""
    names = [name.lower() for name in packed.namelist()]
    said = []
    if any(n.endswith("vbaproject.bin") or n.startswith("basic/") for n in names):
        said.append("has macros, which were not run")
    if any("externallink" in name for name in names):
        said.append("has links to other workbooks, which were not followed")
    return said
