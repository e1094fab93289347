"""Units as people write them, and what one is in the unit of our column."""

from __future__ import annotations

import csv
import re
import unicodedata
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

UNITS = Path(__file__).with_name("units.csv")
"""
Factors to kg, m2, m3, m and days.

Pound and acre are the international ones (exact since 1959), a rai is 1,600 m2, a dunam
1,000 m2, a feddan 4,200.833 m2 (from memory). Quintals, bags, truckloads, gallons and
units of land that differ from place to place have none: how much one holds is asked.
"""
BRACKETS = re.compile(r"[(\[{]\s*([^()\[\]{}]+?)\s*[)\]}]")
PER = re.compile(
    r"\s*/\s*|\s+per\s+|\s+por\s+|\s+par\s+|\s+a\s+|\s+each\s+|\s*\bp\.\s?"
)
STATED = re.compile(r"(?:of|x|de|à|@|isi)?\s*(\d+(?:[.,]\d+)?)\s*[- ]?\s*([a-z]+)")


NO_HEADING_UNITS = frozenset(
    (
        *("mu", "d", "y", "a", "j", "an", "l", "h", "g", "q", "hd", "x"),
        *("truck", "trucks", "trip", "trips", "load", "share", "fraction"),
        *("camion", "truk", "rit"),
    )
)
"""Words that are units in a cell, and in a heading more often something else."""


class UnitFault(ValueError):
    """A unit that is not understood, or does not measure what the column holds."""


@dataclass(frozen=True)
class Unit:
    """
    A unit.

    Attributes
    ----------
    factor
        What one is in kg, m2, m3, m, animals and days.
    powers
        Power of each of its dimensions that is not 0.
    asks
        What has to be known first, such as the load of a truck; empty for none.
    """

    factor: float
    powers: tuple[tuple[str, int], ...]
    asks: str = ""

    def measures(self, *dimensions: str) -> bool:
        """Whether it measures one of these, a time aside."""
        return any(name in dimensions for name, power in self.powers if power == 1)


@cache
def _known() -> dict[str, tuple[str, float | None, str]]:
    with UNITS.open(encoding="utf-8", newline="") as lines:
        return {
            _bare(word): (
                row["dimension"],
                float(row["factor"]) if row["factor"] else None,
                row["asks"],
            )
            for row in csv.DictReader(lines)
            for word in row["words"].split("|")
        }


ASKED_FACTOR = {"quintal_kg": 1.0, "bag_kg": 1.0, "load_t": 1000.0,
                "area_m2": 1.0, "gallon_l": 0.001}  # fmt: skip


def _bare(text: str) -> str:
    text = unicodedata.normalize("NFKC", text).casefold().replace("^", "").strip(" .:")
    return re.sub(r"\s+", " ", text)


def unit_of(text: str, told: Mapping[str, float] | None = None) -> Unit | None:
    """
    Read a unit; None if it is none.

    Parameters
    ----------
    text
        As in `kg/day`, `toneladas por año`, `bags of 50 kg per week`.
    told
        What was asked and answered: `load_t`, `bag_kg`, `quintal_kg`.

    Examples
    --------
    >>> unit_of("t/yr").factor, unit_of("trucks per week").asks
    (2.73972602739726, 'load_t')
    >>> unit_of("bags of 50 kg").factor, unit_of("Mill") is None
    (50.0, True)
    """
    first, *others = PER.split(_bare(text))
    top = _one(first, told or {})
    if top is None:
        return None
    powers = Counter({top[0]: 1}) if top[0] else Counter()
    factor, asks = top[1], top[2]
    for other in others:
        below = _one(other, told or {})
        if below is None or below[2]:
            return None
        factor /= below[1]
        powers[below[0]] -= 1
    kept = tuple(sorted((name, power) for name, power in powers.items() if power))
    return Unit(factor, kept, asks)


def _one(text: str, told: Mapping[str, float]) -> tuple[str, float, str] | None:
    """Dimension, factor and what is asked of one unit without a `per`."""
    found = _known().get(text)
    if found is None:
        return _stated(text)
    dimension, factor, asks = found
    if factor is not None:
        return dimension, factor, ""
    if asks in told:
        return dimension, told[asks] * ASKED_FACTOR[asks], ""
    return dimension, 1.0, asks


def _stated(text: str) -> tuple[str, float, str] | None:
    """Read bags that say what they hold: `bags of 50 kg`, `50 kg bags`."""
    words = re.sub(r"[()]", " ", text).strip()
    after = re.fullmatch(rf"([^\W\d]+)\s+{STATED.pattern}", words)
    before = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*-?([a-z]+)[ -]+([^\W\d]+)", words)
    name, size, unit = ("", "", "")
    if after:
        name, size, unit = after[1], after[2], after[3]
    elif before:
        name, size, unit = before[3], before[1], before[2]
    holder, inner = _known().get(name), _known().get(unit)
    if not holder or not inner or inner[1] is None or not holder[2]:
        return None
    if holder[0] != inner[0]:
        return None
    return holder[0], float(size.replace(",", ".")) * inner[1], ""


def factor_to(unit: Unit, target: str, text: str) -> float:
    """
    Return what one of a unit is in the unit of a column.

    A yearly column may be given without a time: it is then that of the year.

    Parameters
    ----------
    unit, text
        The unit, and as it was written.
    target
        Unit of the column, as in `columns.csv`.

    Raises
    ------
    UnitFault
        If it measures something else.

    Examples
    --------
    >>> factor_to(unit_of("kg/day"), "t/yr", ""), factor_to(unit_of("acres"), "ha", "")
    (0.365, 0.40468564224)
    """
    ours = target_unit(target)
    if ours is None:
        message = f"{text!r} is not what a column in {target or 'plain numbers'} holds"
        raise UnitFault(message)
    factor, powers = unit.factor, dict(unit.powers)
    wanted = dict(ours.powers)
    if wanted.get("time") == -1 and "time" not in powers:
        days = _known()[_bare(PER.split(target.strip())[-1])][1]
        factor, powers = factor / (days or 1.0), {**powers, "time": -1}
    if powers != wanted:
        message = f"{text!r} does not measure what is asked for ({target})"
        raise UnitFault(message)
    return float(f"{factor / ours.factor:.12g}")


def heading_time(heading: str) -> str:
    """
    Return the time that a heading puts its numbers over, the year aside; else nothing.

    Examples
    --------
    >>> heading_time("Husk (t) per week"), heading_time("Weekly loads")
    ('week', 'week')
    >>> heading_time("Amount per year"), heading_time("Cantidad mensual")
    ('', 'month')
    """
    words = _bare(re.sub(r"[()\[\]|,;]", " ", heading))
    found = set()
    for time, forms in _times().items():
        joined = "|".join(re.escape(form) for form in forms if len(form) > 1)
        adverbs = "|".join(re.escape(form) for form in forms if form in ADVERBS)
        per = (
            rf"(?:/|\b(?:per|por|par|each|every|cada|chaque|tiap|a)\s)\s*(?:{joined})\b"
        )
        if re.search(per, words) or (
            adverbs and re.search(rf"\b(?:{adverbs})\b", words)
        ):
            found.add(time)
    return found.pop() if len(found) == 1 else ""


ODD_TIME = re.compile(
    r"\b(?:harvests?|seasons?|quarter|quarterly|half|fortnight|twice|thrice|semester|term"
    r"|cosecha|temporada|trimestre|semestre|quincena|recolte|campagne|panen|musim"
    r"|jan|feb|mar|apr|jun|jul|aug|sep|sept|oct|nov|dec|january|february|march|april"
    r"|june|july|august|september|october|november|december|enero|febrero|marzo|abril"
    r"|junio|julio|agosto|septiembre|octubre|noviembre|diciembre)\b"
    r"|\b(?:\d+|two|three|four|six|half)\s*-?\s*(?:months?|weeks?|days?|meses|semanas"
    r"|mois|semaines|bulan|minggu)\b|موسم|حصاد"
)


def has_odd_time(heading: str) -> bool:
    """
    Whether a heading speaks of a time that is no year, month, week or day.

    >>> has_odd_time("Husk (t) per harvest"), has_odd_time("Husk (t), 3 months")
    (True, True)
    >>> has_odd_time("Husk (t) per month"), has_odd_time("Husk (t) 2026")
    (False, False)
    """
    plain = unicodedata.normalize("NFKD", _bare(heading))
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    return ODD_TIME.search(plain.replace("_", " ")) is not None


ADVERBS = {"weekly", "monthly", "daily", "semanal", "mensual", "mensuel", "diario"}


@cache
def _times() -> dict[str, list[str]]:
    """Day, week and month in all their words."""
    found: dict[str, list[str]] = {"day": [], "week": [], "month": []}
    days = {1.0: "day", 7.0: "week"}
    for word, (dimension, factor, _) in _known().items():
        if dimension == "time" and factor and 1 <= factor < 32:
            found[days.get(factor, "month")].append(word)
    return found


@cache
def target_unit(text: str) -> Unit | None:
    """Return the unit of one of our columns; None if it has none of these."""
    return unit_of(text.removesuffix(" "))


def split_heading(text: str) -> tuple[str, str]:
    """
    Part a heading into its words and its unit.

    Examples
    --------
    >>> split_heading("Husk (t/yr)"), split_heading("Area ha")
    (('Husk', 't/yr'), ('Area', 'ha'))
    >>> split_heading("Tonnes per year"), split_heading("Name of mill")
    (('Tonnes per year', 'Tonnes per year'), ('Name of mill', ''))
    """
    for found in BRACKETS.finditer(text):
        if _says_unit(found[1]):
            rest = f"{text[: found.start()]} {text[found.end() :]}"
            return " ".join(rest.split()), found[1]
    bare = " ".join(BRACKETS.sub(" ", text).replace("_", " ").split())
    if _says_unit(bare):
        return " ".join(bare.split()), " ".join(bare.split())
    words = re.split(r"\s*[,;:|]\s*|\s+in\s+|\s+en\s+|\s+dalam\s+", bare.strip())
    if len(words) > 1 and _says_unit(words[-1]):
        return " ".join(bare.strip()[: -len(words[-1])].strip(" ,;:|").split()), words[
            -1
        ]
    parts = bare.split()
    for size in range(1, min(len(parts), 6)):
        tail = " ".join(parts[-size:])
        if _says_unit(tail) and not _says_unit(" ".join(parts[-size - 1 :])):
            return " ".join(parts[:-size]), tail
    return " ".join(bare.split()), ""


def _says_unit(text: str) -> bool:
    """Whether a text is a unit and not just a letter or a word that may be a name."""
    bare = _bare(text)
    if bare in NO_HEADING_UNITS:
        return False
    unit = unit_of(bare)
    return unit is not None and any(name != "time" for name, _ in unit.powers)
