"""Where the headings of a sheet stand, in one row or two, and which table it is."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from logistics.bringing.figures import is_weighed, only_figures, speaks_of_amount
from logistics.bringing.sheets import ReadSheet
from logistics.bringing.survey_columns import tail_of
from logistics.bringing.units import split_heading
from logistics.bringing.words import (
    LIKELY,
    SURE,
    UNSURE,
    Match,
    matched,
    our_word,
    plain,
    speaks_for,
)
from logistics.scenario import columns_of, plain_name, tables

ROWS_LOOKED_AT = 30
PLACED = ("sources", "yards", "markets")
BROUGHT = (*PLACED, "trucks", "materials", "yard_sizes", "calendar", "districts")
"""Tables that foreign headings are held against; others have to have ours."""
KINDS_OF_AMOUNT = {
    "sources": ("processed_amount", "cropped_amount", "animals_amount"),
    "markets": ("area_amount",),
}
TICKED_MONTHS = "ticked_months"
"""Column with the codes of the months in which there is feedstock, or demand."""
MONTHS = tuple(f"month_{month}" for month in range(1, 13))
PLAIN_NUMBER = re.compile(r"[-+−]?[\d.,\s]+%?")
WORDS = {"material", "crop"}
"""Columns of ours that no figures stand in."""
LEAST = 0.55
"""Least score at which a heading is taken for one of our columns."""


@dataclass(frozen=True)
class Headings:
    """
    Headings of a sheet.

    Attributes
    ----------
    rows
        Positions of the heading rows.
    texts
        Heading of each place, both rows joined by ` | `.
    """

    rows: tuple[int, ...]
    texts: tuple[str, ...]


@dataclass(frozen=True)
class Reading:
    """One way to read a sheet: as a table, with headings, and columns that fit."""

    table: str
    headings: Headings
    columns: Mapping[str, tuple[int, Match]]
    rivals: Mapping[str, tuple[int, ...]]
    score: float
    named: bool


def best_readings(sheet: ReadSheet) -> list[Reading]:
    """Return the best way to read a sheet as each table, the likeliest first."""
    found = []
    choices = _choices(sheet)
    for table in tables():
        readings = [_reading(sheet, table, headings) for headings in choices]
        best = max(
            readings, key=lambda r: (r.score, -len(r.headings.rows)), default=None
        )
        if best is not None and best.columns:
            found.append(best)
    return sorted(found, key=lambda reading: -reading.score)


def headings_at(sheet: ReadSheet, rows: Sequence[int]) -> Headings | None:
    """Return the headings that stand in given rows; None if they are not there."""
    places = [sheet.numbers.index(row) for row in rows if row in sheet.numbers]
    return joined(sheet, tuple(places)) if places else None


def _choices(sheet: ReadSheet) -> list[Headings]:
    """Rows, and pairs of rows, that may be the headings."""
    if sheet.layer:
        return [joined(sheet, (0,))]
    top = [p for p in range(min(len(sheet.rows), ROWS_LOOKED_AT)) if _wordy(sheet, p)]
    single = [joined(sheet, (p,)) for p in top if sum(map(bool, sheet.rows[p])) > 1]
    double = [joined(sheet, (p, p + 1)) for p in top if p + 1 in top]
    return single + double


def _wordy(sheet: ReadSheet, position: int) -> bool:
    """Whether the cells of a row are words and not figures, years aside."""
    cells = [c for c in sheet.rows[position] if c]
    figures = [c for c in cells if PLAIN_NUMBER.fullmatch(c)
               and not re.fullmatch(r"(19|20)\d\d", c)]  # fmt: skip
    return bool(cells) and not figures


def joined(sheet: ReadSheet, rows: tuple[int, ...]) -> Headings:
    """Join the texts of heading rows; a heading over several columns goes to each."""
    width = max(len(sheet.rows[row]) for row in rows)
    lines = []
    for order, row in enumerate(rows):
        texts = [sheet.cell(row, place) for place in range(width)]
        for place in range(width):
            origin = sheet.spans.get((row, place))
            if origin is not None and not texts[place]:
                texts[place] = sheet.cell(*origin)
        if order < len(rows) - 1 and not any(r == row for r, _ in sheet.spans):
            texts = _spread(texts, [sheet.cell(rows[-1], p) for p in range(width)])
        lines.append(texts)
    heads = []
    for parts in zip(*lines, strict=True):
        kept = [part for part in dict.fromkeys(parts) if part]
        heads.append(" | ".join(" ".join(part.split()) for part in kept))
    seen: Counter[str] = Counter()
    for place, head in enumerate(heads):
        seen[head] += 1
        if head and seen[head] > 1:
            heads[place] = f"{head} ({seen[head]})"
    return Headings(rows, tuple(heads))


def _spread(texts: Sequence[str], below: Sequence[str]) -> list[str]:
    """Carry a heading on to the blank cells right of it that have one below."""
    found, last = [], ""
    for text, under in zip(texts, below, strict=True):
        last = text or (last if under else "")
        found.append(last)
    return found


@cache
def wanted_columns(table: str) -> tuple[str, ...]:
    """Return what headings of a table may mean: our columns and their stand-ins."""
    ours = [c.name for c in columns_of(table)]
    if table in PLACED:
        ours += ["place", "accuracy", "photo"]
    if table in ("sources", "markets"):
        ours += [TICKED_MONTHS]
    return (*ours, *KINDS_OF_AMOUNT.get(table, ()))


@cache
def _own_names(table: str) -> frozenset[str]:
    return frozenset(c.name for c in columns_of(table))


@cache
def heading_match(text: str, table: str, ours: str) -> Match:
    """
    Tell how well a heading of one row or two fits a column.

    >>> heading_match("Location | Latitude", "sources", "lat").score
    0.95
    """
    own = plain_name(text)
    if own != ours and own in _own_names(table):
        return Match(0.0, "", "")
    words, _ = split_heading(text)
    best = max(matched(words, table, ours), matched(text, table, ours))
    parts = text.split(" | ")
    if len(parts) > 1:
        lower = max(matched(split_heading(parts[-1])[0], table, ours),
                    matched(parts[-1], table, ours))  # fmt: skip
        upper = matched(split_heading(parts[0])[0], table, ours)
        best = max(best, lower._replace(score=0.95 * lower.score),
                   upper._replace(score=0.9 * upper.score))  # fmt: skip
    survey = _survey_part(text)
    if survey == ours:
        best = max(best, Match(0.97, "a column of a survey form", "form"))
    elif survey:
        best = Match(0.0, "", "")
    return best


def _survey_part(text: str) -> str:
    """
    Return what a column of a survey export is, by its ending.

    >>> _survey_part("gate-Latitude"), _survey_part("_gps_precision"), _survey_part("a")
    ('lat', 'accuracy', '')
    """
    found = re.fullmatch(
        r"_?.*\w[-_.:/](latitude|longitude|altitude|accuracy|precision)",
        text.casefold(),
    )
    parts = {"latitude": "lat", "longitude": "lon", "altitude": "altitude",
             "accuracy": "accuracy", "precision": "accuracy"}  # fmt: skip
    return parts[found[1]] if found else ""


def month_of(text: str) -> int:
    """
    Return the month that a heading names; 0 if none.

    >>> month_of("Enero (t)"), month_of("Jan-26"), month_of("Amount | Mar")
    (1, 1, 3)
    """
    words = plain(split_heading(text.split(" | ")[-1])[0])
    words = re.sub(r"\b(?:20)?\d\d\b", "", words).strip()
    numbers = tuple(str(month) for month in range(1, 13))
    found = our_word("month", numbers, words) if words else ""
    dated = re.fullmatch(r"20\d\d-(\d\d)(-01)?", text.split(" | ")[-1])
    return int(dated[1]) if dated and 1 <= int(dated[1]) <= 12 else int(found or 0)


def _reading(sheet: ReadSheet, table: str, headings: Headings) -> Reading:
    """Give each of our columns the place whose heading fits it best."""
    strict = table not in BROUGHT
    pairs = []
    first = max(headings.rows) + 1
    for place, heading in enumerate(headings.texts):
        text = tail_of(heading) if sheet.survey else heading
        if not text or plain(text).startswith("note"):
            continue
        figures = only_figures(sheet, place, first)
        pairs += [
            (match.score, place, ours, match)
            for ours, match in _fits(table, text, figures=figures).items()
            if not strict or match.language == "ours"
        ]
    pairs.sort(key=lambda pair: -pair[0])
    columns: dict[str, tuple[int, Match]] = {}
    rivals: dict[str, tuple[int, ...]] = {}
    taken: set[int] = set()
    for score, place, ours, match in pairs:
        if place in taken:
            continue
        if ours not in columns:
            columns[ours] = (place, match)
            taken.add(place)
        elif score >= columns[ours][1].score - 0.02 and ours not in {"name"}:
            rivals[ours] = (*rivals.get(ours, (columns[ours][0],)), place)
    months = _months(headings) if table in ("sources", "markets") else {}
    columns |= {ours: pair for ours, pair in months.items() if pair[0] not in taken}
    named = table in tables_named(sheet)
    required = [c.name for c in columns_of(table) if c.required]
    score = sum(match.score for _, match in columns.values())
    score += 0.5 * sum(name in columns for name in required) + (2.5 if named else 0.0)
    score += _two_rows(sheet, table, headings)
    return Reading(table, headings, columns, rivals, score, named)


def _fits(table: str, text: str, *, figures: bool) -> dict[str, Match]:
    """Tell which of our columns one may be: by its heading, its unit and its cells."""
    weighed = figures and is_weighed(text)
    shares = {c.name for c in columns_of(table) if c.kind == "percent"}
    fits = {
        ours: match
        for ours in wanted_columns(table)
        if (match := heading_match(text, table, ours)).score >= LEAST
        and not (figures and ours in WORDS)
        and not (weighed and ours in shares)
    }
    if weighed and not fits and speaks_of_amount(text, table):
        fits = {"amount": Match(0.7, f"{split_heading(text)[0]}, a weight", "")}
    return fits


def tables_named(sheet: ReadSheet) -> list[str]:
    """Return the tables that the name of a sheet speaks for, else that of the file."""
    for name in (sheet.name, sheet.file.rpartition(".")[0]):
        named = [table for table in BROUGHT if speaks_for(name, table)]
        if named:
            return named
    return []


def _two_rows(sheet: ReadSheet, table: str, headings: Headings) -> float:
    """
    Return what speaks for two rows of headings: the lower one has headings of its own.

    Else the lower one may be a first row of words, which must not be lost.
    """
    if len(headings.rows) == 1:
        return 0.0
    upper, lower = (joined(sheet, (row,)).texts for row in headings.rows)
    own = sum(
        any(
            heading_match(text, table, ours).score > 0.7
            for ours in wanted_columns(table)
        )
        or split_heading(text)[1] != ""
        for text in lower
        if text
    )
    return 0.4 if own > 1 and sum(map(bool, upper)) > 1 else -2.0


def _months(headings: Headings) -> dict[str, tuple[int, Match]]:
    """Find columns of months; fewer than four are no year."""
    found: dict[str, tuple[int, Match]] = {}
    for place, text in enumerate(headings.texts):
        month = month_of(text) if text else 0
        if month:
            found.setdefault(f"month_{month}", (place, Match(0.9, "month", "")))
    return found if len(found) > 3 else {}


def confidence(score: float) -> str:
    """Say a score in words."""
    if score >= 0.94:
        return SURE
    return LIKELY if score >= 0.7 else UNSURE
