"""Words of headings and cells: brought to one form and held against our aliases."""

from __future__ import annotations

import csv
import difflib
import re
import unicodedata
from functools import cache
from pathlib import Path
from typing import NamedTuple

from logistics.scenario import tables

ALIASES = Path(__file__).with_name("aliases.csv")
CLOSE = 0.88
SURE, LIKELY, UNSURE = "sure", "likely", "unsure"
TOTALS = re.compile(
    r"(?:grand |sub)?totals?|sub total|sum|all together|suma|somme|total general|jumlah"
    r"|المجموع|مجموع|الاجمالي"
)


BREAKS = re.compile(r"[\W_]+")


class Match(NamedTuple):
    """How well a heading fits one of our columns."""

    score: float
    alias: str
    language: str


def plain(text: str) -> str:
    """
    Bring a text to letters, figures and single blanks, without accents or capitals.

    Examples
    --------
    >>> plain("  Nombre_del  Molino: "), plain("Quantité (t/an)"), plain("قِشر الأرز")
    ('nombre del molino', 'quantite t an', 'قشر الارز')
    """
    bare = text.casefold()
    if not bare.isascii():
        bare = unicodedata.normalize("NFKD", bare)
        bare = "".join(c for c in bare if not unicodedata.combining(c)).replace("ـ", "")
    return BREAKS.sub(" ", bare).strip()


@cache
def _rows() -> tuple[dict[str, str], ...]:
    with ALIASES.open(encoding="utf-8", newline="") as lines:
        return tuple(csv.DictReader(lines))


@cache
def aliases(table: str, column: str) -> dict[str, str]:
    """
    Return the words people use for a column, or for a value, with their language.

    Parameters
    ----------
    table
        Table, or `word` for words in cells.
    column
        Column; for words the column and our word, as in `disposal:burnt`.

    Examples
    --------
    >>> aliases("sources", "lat")["latitud"], aliases("word", "yes_no:yes")["oui"]
    ('es', 'fr')
    """
    found = {
        plain(word): row["language"]
        for row in _rows()
        if row["column"] == column and row["table"] in {table, "*"}
        for word in row["words"].split("|")
    }
    if table in tables():
        found[plain(column)] = "ours"
        found[plain(column.removesuffix("_pct"))] = "ours"
    return found


def matched(heading: str, table: str, column: str) -> Match:
    """
    Tell how well a heading, without its unit, fits a column.

    Examples
    --------
    >>> matched("Latitude", "sources", "lat").score
    1.0
    >>> matched("GPS latitude of gate", "sources", "lat").score < 0.8
    True
    >>> matched("Owner", "sources", "lat").score
    0.0
    """
    return _matched(plain(heading), table, column)


@cache
def _matched(bare: str, table: str, column: str) -> Match:
    known = aliases(table, column)
    if bare in known:
        return Match(1.0, bare, known[bare])
    best = Match(0.0, "", "")
    if not bare or len(bare) > 80:
        return best
    words = f" {bare} "
    for alias, language in known.items():
        score = 0.0
        if len(alias) > 2 and f" {alias} " in words:
            score = 0.5 + 0.4 * len(alias) / len(bare)
        elif len(alias) > 4 and len(bare) > 4:
            like = difflib.SequenceMatcher(None, bare, alias).ratio()
            score = 0.8 * like if like >= CLOSE else 0.0
        if score > best.score:
            best = Match(score, alias, language)
    return best


@cache
def values_named(column: str) -> frozenset[str]:
    """
    Return all words people use for the values of a column.

    >>> "cascarilla" in values_named("material")
    True
    """
    return frozenset(
        plain(word)
        for row in _rows()
        if row["table"] == "word" and row["column"].startswith(f"{column}:")
        for word in row["words"].split("|")
    )


@cache
def table_words(table: str) -> frozenset[str]:
    """Words in the names of sheets and files that speak for a table."""
    own = {plain(table), plain(table).removesuffix("s")}
    return frozenset(own | set(aliases("name", table)))


def speaks_for(name: str, table: str) -> bool:
    """
    Whether the name of a sheet or file has a word of a table.

    >>> speaks_for("Molinos 2026", "sources"), speaks_for("Sheet1", "sources")
    (True, False)
    """
    words = f" {plain(name)} "
    return any(f" {word} " in words for word in table_words(table))


@cache
def our_word(column: str, words: tuple[str, ...], text: str) -> str:
    """
    Return the one of our words that a cell means; empty if none.

    Examples
    --------
    >>> our_word("disposal", ("left", "burnt"), "Quemado"), our_word("x", ("a",), "b")
    ('burnt', '')
    """
    bare = plain(text)
    for word in words:
        known = {plain(word), *aliases("word", f"{column}:{word}")}
        if bare in known:
            return word
    return ""


def is_total(text: str) -> bool:
    """
    Whether the first text of a row says that it is a sum.

    >>> is_total("TOTAL:"), is_total("Total Foods mill")
    (True, False)
    """
    return TOTALS.fullmatch(plain(text)) is not None
