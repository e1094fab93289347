"""Text files in any delimiter and encoding; what was taken is said with a sample."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator

from logistics.bringing.sheets import MOST_BYTES, MOST_ROWS, ReadSheet, unread

DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}
LINES_LOOKED_AT = 80
LONGEST_CELL = 2**31 - 1
EDGES = " \t\r\n\xa0\u200b\ufeff"
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
SCRIPTS = (("\u0600", "\u06ff"), ("\u0400", "\u04ff"), ("\u0370", "\u03ff"))
GUESSES = ("cp1252", "cp850", "mac_roman", "cp1256", "cp1251")
"""Encodings of files that are not Unicode, the likelier first."""
MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
END = "\x1eend\x1e"


def read_text(data: bytes, file: str, encoding: str = "") -> ReadSheet:
    """
    Read a text file with one table.

    Parameters
    ----------
    data, file
        The file and its name.
    encoding
        As the recipe gives it; empty to find it.

    Returns
    -------
    ReadSheet
        Its `encoding` ends in `?` where two would read differently and none prevails.

    Raises
    ------
    ScenarioError
        If it is no text, too large, or opens a quotation mark that is never closed.
    """
    if len(data) > MOST_BYTES:
        why = f"has {len(data) / 1e6:,.0f} MB; {MOST_BYTES / 1e6:,.0f} are the most"
        raise unread(file, why, "Send the rows that are needed only")
    taken = encoding or encoding_of(data)
    try:
        text = data.decode(taken.rstrip("?"), errors="replace")
    except LookupError:
        remedy = "Write one such as utf-8, cp1252 or cp1256"
        raise unread(file, f"has no encoding {taken!r}", remedy) from None
    if len(CONTROL.findall(text[:4000])) > 0.02 * len(text[:4000]):
        raise unread(file, "is not a text file", "Save the table as CSV (UTF-8)")
    text = text.lstrip("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    first, _, rest = text.partition("\n")
    named = re.fullmatch(r"\s*sep=(.)\s*", first)
    delimiter = named[1] if named else delimiter_of(text)
    records = _records(rest if named else text, delimiter)
    if not records or records[-1][1] != [END]:
        row = records[-1][0] if records else 1
        why = f"opens a quotation mark in row {row} that is never closed"
        raise unread(file, why, "Close the quotation mark or delete it")
    del records[-1]
    if len(records) > MOST_ROWS:
        why = f"holds {len(records):,} rows; {MOST_ROWS:,} are the most"
        raise unread(file, why, "Send the rows that are needed only")
    how = f"is text in {taken.rstrip('?')}, divided by {_called(delimiter)}"
    foreign = _sample(text)
    return ReadSheet(
        file,
        "",
        [cells for _, cells in records],
        [row for row, _ in records],
        said=(f"{how}{f', with names such as {foreign!r}' if foreign else ''}",),
        encoding=taken,
    )


def _called(delimiter: str) -> str:
    return DELIMITERS.get(delimiter, repr(delimiter))


def _records(text: str, delimiter: str) -> list[tuple[int, list[str]]]:
    limit = csv.field_size_limit(LONGEST_CELL)
    try:
        lines = io.StringIO(f"{text.rstrip(chr(10))}\n{END}", newline="")
        reader = csv.reader(lines, delimiter=delimiter)
        rows = ((n, [cell.strip(EDGES) for cell in c]) for n, c in enumerate(reader, 1))
        return [(n, cells) for n, cells in rows if any(cells)]
    finally:
        csv.field_size_limit(limit)


def delimiter_of(text: str) -> str:
    r"""
    Return the delimiter by which most of the first lines have equally many cells.

    >>> delimiter_of("name;t\nMill;1,5\nPort;2,5"), delimiter_of("a\tb\n1\t2")
    (';', '\t')
    """
    head = "\n".join(text.split("\n", LINES_LOOKED_AT)[:LINES_LOOKED_AT])

    def score(delimiter: str) -> tuple[float, int]:
        rows = [r for r in csv.reader(io.StringIO(head), delimiter=delimiter) if any(r)]
        counts = Counter(len(row) for row in rows if len(row) > 1)
        if not counts:
            return 0.0, 0
        wide, often = counts.most_common(1)[0]
        return round(often / len(rows), 1), wide

    return max(DELIMITERS, key=score)


def encoding_of(data: bytes) -> str:
    """
    Name the encoding of a text; with a `?` behind it where that is open.

    Examples
    --------
    >>> encoding_of("Café".encode()), encoding_of("Café".encode("cp1252"))
    ('utf-8', 'cp1252')
    >>> encoding_of("Café Peñón".encode("cp850")), encoding_of("قشر".encode("cp1256"))
    ('cp850', 'cp1256?')
    """
    for mark, encoding in MARKS:
        if data.startswith(mark):
            return encoding
    start = data[:4000]
    if start[1::2].count(0) > len(start) / 5:
        return "utf-16-le"
    if start[::2].count(0) > len(start) / 5:
        return "utf-16-be"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        pass
    else:
        return "utf-8"
    lines = b"\n".join(line for line in data.splitlines() if not line.isascii())
    scores = {name: _likely(lines[:200_000], name) for name in GUESSES}
    best = max(GUESSES, key=lambda name: scores[name])
    near = [name for name in GUESSES if scores[name] >= scores[best] - 0.1]
    ways = {lines.decode(name, errors="replace") for name in near}
    return f"{best}?" if scores[best] < 0.9 or len(ways) > 1 else best


def _likely(data: bytes, encoding: str) -> float:
    """Share of words with other than plain letters that look like words."""
    text = data.decode(encoding, errors="replace")
    words = [w for w in re.split(r"[\s,;|\"'()\d/.:-]+", text) if not w.isascii()]
    return sum(_is_word(word) for word in words) / max(len(words), 1)


def _is_word(word: str) -> bool:
    """Whether letters are of one script, and capitals stand first or throughout."""
    if not word.isalpha():
        return False
    for low, high in SCRIPTS:
        inside = sum(low <= letter <= high for letter in word)
        if inside:
            return inside == len(word)
    if not (word[1:].islower() or word.isupper() or len(word) == 1):
        return False
    return not re.search(r"[^\x00-\x7f]{3}", word)


def _sample(text: str) -> str:
    """Return the first cell with other than plain letters, to be looked at."""
    return next(_foreign(text), "")


def _foreign(text: str) -> Iterator[str]:
    for found in re.finditer(r"[^\x00-\x7f]", text[:400_000]):
        start, end = found.start(), found.end()
        before = re.search(r"[^,;\t|\n\"]{0,25}$", text[max(start - 25, 0) : start])
        after = re.match(r"[^,;\t|\n\"]{0,25}", text[end : end + 25])
        yield f"{before[0] if before else ''}{found[0]}{after[0] if after else ''}"
