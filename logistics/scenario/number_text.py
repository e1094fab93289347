"""Read a number as people type it, and say what is wrong where it is none."""

import math
import re
import unicodedata

from logistics.scenario.currency import STATE_SCALE, is_money
from logistics.scenario.schema import Column, number_text
from logistics.scenario.separators import PLAIN, choice, options, separated, with_point

FIGURES = r"\d+(?:[.,]\d+|[' \xa0\u202f]\d{3}(?!\d))*"
MONTHS = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
SPREADSHEET_ERROR = re.compile(r"#[A-Z0-9/]+[!?]?|Err:\d+|#+", re.IGNORECASE)
DATE = re.compile(
    r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}([ T].*)?"
    r"|\d{1,2}[-/.]\d{1,2}[-/.]\d{2,4}"
    r"|\d{1,2}/\d{1,2}"
    rf"|\d{{1,4}}[-/. ]*({MONTHS})[a-z]*\.?([-/ ]*\d{{2,4}})?"
    rf"|({MONTHS})[a-z]*\.?[-/ ]*\d{{1,4}}(,? *\d{{4}})?",
    re.IGNORECASE,
)
CLOCK = re.compile(r"\d{1,2}:\d{2}(:\d{2})?( *[ap]m)?", re.IGNORECASE)
NO_VALUE = {"-", "--", "—", "n/a", "na", "none", "null", "nil", "?", "tbd", "x"}
NOT_FINITE = {"nan", "inf", "infinity"}
UNDERSCORED = re.compile(r"[+-]?[0-9]{1,3}(?:_[0-9]{3})+(?:\.[0-9]+)?")
INDIAN = re.compile(r"[+-]?[0-9]{1,2}(?:,[0-9]{2})+,[0-9]{3}(?:\.[0-9]+)?")
HEXADECIMAL = re.compile(r"0[xX][0-9A-Fa-f]+")
OTHER_SIGNS = {"\u066b": ".", "\u066c": "", "\u2212": "-", "\uff0e": ".", "\uff0c": ","}
"""Arabic decimal and thousands signs, the minus of typesetters, full-width signs."""
POWERS = {
    "k": 1e3, "thousand": 1e3, "mille": 1e3, "mil": 1e3, "tsd": 1e3, "thsd": 1e3,
    "M": 1e6, "mn": 1e6, "mio": 1e6, "million": 1e6, "millions": 1e6,
    "lakh": 1e5, "lakhs": 1e5, "lac": 1e5, "crore": 1e7, "crores": 1e7,
}  # fmt: skip
"""Words behind a number that multiply it."""
WITH_UNIT = re.compile(rf"([+-]?{FIGURES})\s*([^\W\d].*|[%°$€£].*)")
MINUTES = re.compile(r"['’′\"”″NSEWnsew]|°\s*\d")
UNIT_FIRST = re.compile(rf"(?:[$€£]|[A-Za-z]{{1,4}}\.?)\s*({FIGURES})")
RANGE = re.compile(r"\d+(?:\.\d+)?\s*(?:-|–|to|\.\.)\s*\d+(?:\.\d+)?")

# Least percentage that makes sense; less above 0 is a fraction (our judgement).
LEAST_SENSIBLE = {
    "moisture_pct": 1.0,
    "carbon_pct": 1.0,
    "available_carbon_pct": 1.0,
    "dry_matter_loss_pct": 1.0,
    "waste_pct": 1.0,
    "recoverable_pct": 1.0,
    "lab_moisture_pct": 1.0,
    "lab_carbon_pct": 1.0,
    "lab_available_carbon_pct": 1.0,
    "mix.moisture_low_pct": 1.0,
    "mix.moisture_high_pct": 1.0,
    "mix.structure_low_pct": 1.0,
    "process.nitrogen_loss_pct": 1.0,
    "windrow.reserve_pct": 1.0,
    "finance.discount_pct": 0.3,
}


class CellFault(ValueError):
    """
    A cell cannot be used.

    Parameters
    ----------
    why, remedy
        What is wrong and what to write instead.
    instead
        Value to go on with, so that one fault is not reported twice.
    """

    def __init__(self, why: str, remedy: str, instead: object = None) -> None:
        super().__init__(why)
        self.why, self.remedy, self.instead = why, remedy, instead


def read_number(text: str, column: Column, sign: str = "") -> float:
    """
    Read the number in a cell.

    Parameters
    ----------
    text
        Cell text, trimmed, not blank. A percent column may carry the percent sign.
    column
        Column of the cell; its low and high are checked too.
    sign
        Decimal sign of the file's other numbers; empty if they do not show one. Beside
        decimal commas 3,5 is read as 3.5, and 4.200 may be 4200, so it is asked about.

    Returns
    -------
    float
        The value in the unit of the column.

    Raises
    ------
    CellFault
        If it is not a number or lies outside the limits.
    """
    plain = text.replace("\u2212", "-")
    if column.kind == "percent":
        plain = plain.removesuffix("%").rstrip()
    meant = options(plain, column, sign)
    if sign == "," and len(meant) < 2:
        plain = with_point(plain, meant)
    if not PLAIN.fullmatch(plain):
        raise not_a_number(plain, column, sign)
    if sign == "," and len(meant) > 1:
        why, remedy = _may_be(meant), choice(meant, sign)
        raise CellFault(why, remedy)
    value = float(plain)
    if math.isinf(value):
        why, remedy = "is too large to be a number", f"Write {_wanted(column)}"
        raise CellFault(why, remedy)
    if len(meant) == 1 and float(meant[0]) != value:
        why, remedy = "has a thousands separator", choice(meant, sign)
        raise CellFault(why, remedy)
    check_range(value, column)
    return value


def _wanted(column: Column) -> str:
    """Return what belongs in the cell, as words."""
    word = "a whole number" if column.kind == "integer" else "a number"
    if column.low is not None and column.high is not None:
        word += f" from {number_text(column.low)} to {number_text(column.high)}"
    return f"{word} [{column.unit}]" if column.unit else word


def wanted(column: Column) -> str:
    """
    Return the remedy for a blank or useless number cell.

    Examples
    --------
    >>> from logistics.scenario.schema import column
    >>> wanted(column("trucks", "payload_t"))
    'Write a number from 0.05 to 60 [t]: Largest load by mass'
    """
    return f"Write {_wanted(column)}: {column.meaning}"


def check_range(value: float, column: Column) -> None:
    """Raise a CellFault if the value is outside the column's limits or a fraction."""
    low, high = column.low, column.high
    below = low is not None and value < low
    if column.kind == "percent" and 0 < value < 1:
        in_percent = round(value * 100, 10)
        fits = (low or 0) <= in_percent <= (high or 100)
        if fits and (below or value < LEAST_SENSIBLE.get(column.name, 0)):
            why = "looks like a fraction, not a percentage"
            raise CellFault(why, f"Write {number_text(in_percent)} for {value:.12g}")
    if low is not None and value < low:
        why = "is negative" if low == 0 else f"is below {number_text(low)}"
        raise CellFault(why, f"Write {_wanted(column)}")
    if high is not None and value > high:
        why = f"is above {number_text(high)}"
        if is_money(column):
            why += f", the most at the money scale 1:{column.scale:,.15g}"
            remedy = f"Write {_wanted(column)}; if it is right, {STATE_SCALE}"
            raise CellFault(why, remedy)
        raise CellFault(why, f"Write {_wanted(column)}")
    if column.kind == "integer" and not float(value).is_integer():
        near = f"{math.floor(value)} or {math.ceil(value)}"
        raise CellFault(why="is not a whole number", remedy=f"Write {near}")


def bare_number(text: str) -> str:
    """
    Return the number in a cell without its unit.

    Examples
    --------
    >>> bare_number("4.200 t"), bare_number("$ 40"), bare_number("12")
    ('4.200', '40', '12')
    """
    unit = WITH_UNIT.fullmatch(text) or UNIT_FIRST.fullmatch(text)
    return unit[1] if unit else text


def not_a_number(text: str, column: Column, sign: str = "") -> CellFault:
    """
    Return the fault of a text that should be a number, with the likely remedy.

    Parameters
    ----------
    text, column, sign
        See `read_number`.

    Examples
    --------
    >>> from logistics.scenario.schema import column
    >>> fault = not_a_number("12 t", column("trucks", "payload_t"))
    >>> fault.why, fault.remedy
    ('has a unit in the cell', 'Write 12 without the unit if it is in t')
    """
    text = text[:200]
    blank = (
        "leave the cell blank" if not column.required else f"write {_wanted(column)}"
    )
    plain = f"Write {_wanted(column)}"
    if text.casefold() in NO_VALUE:
        return CellFault("is not a number", blank[0].upper() + blank[1:])
    if other := _other_figures(text):
        return other
    if text.casefold().lstrip("+-") in NOT_FINITE:
        return CellFault("is not a finite number", plain)
    if SPREADSHEET_ERROR.fullmatch(text):
        remedy = f"Correct the formula in the spreadsheet, or {blank}"
        return CellFault("is a spreadsheet error", remedy)
    meant = options(text, column, sign)
    if len(meant) > 1:
        return CellFault(_may_be(meant), choice(meant, sign))
    number, has = separated(text)
    if meant:
        has = "a decimal comma" if "." in meant[0] else "a thousands separator"
        number = meant[0]
    if number:
        return CellFault(f"has {has}", f"Write {number}")
    if DATE.fullmatch(text) or CLOCK.fullmatch(text):
        remedy = (
            "Format the cell as a number in the spreadsheet and type the value again"
        )
        return CellFault("is a date or a time, not a number", remedy)
    if RANGE.fullmatch(text):
        return CellFault("is a range, not a single number", "Write one number")
    unit = WITH_UNIT.fullmatch(text) or UNIT_FIRST.fullmatch(text)
    if unit and (many := _many(unit[1], text, column, sign)):
        return many
    if unit and column.kind in ("lon", "lat") and MINUTES.search(text):
        remedy = "Write decimal degrees, minus for west and south, as in -30.25"
        return CellFault("is not in decimal degrees", remedy)
    if unit:
        return _with_unit(unit[1], column, sign)
    return CellFault("is not a number", plain)


def _other_figures(text: str) -> CellFault | None:
    """Return the fault of figures that are written in another way, if they are."""
    if not text.isascii():
        plain = "".join(OTHER_SIGNS.get(x, _figure(x)) for x in text)
        if plain != text and (PLAIN.fullmatch(plain) or separated(plain)[0]):
            number = separated(plain)[0] or plain
            return CellFault("has figures other than 0 to 9", f"Write {number}")
    if UNDERSCORED.fullmatch(text):
        return CellFault("has _ between its figures", f"Write {text.replace('_', '')}")
    if INDIAN.fullmatch(text):
        number = text.replace(",", "")
        return CellFault("has thousands and lakhs separated", f"Write {number}")
    if HEXADECIMAL.fullmatch(text):
        why = "is a hexadecimal number, as computers write it"
        return CellFault(why, "Write it in figures from 0 to 9")
    return None


def _figure(sign: str) -> str:
    return str(unicodedata.decimal(sign)) if sign.isdecimal() else sign


def _many(number: str, text: str, column: Column, sign: str) -> CellFault | None:
    """Return the fault of a number in thousands or millions, as 7.5k."""
    word = text.removeprefix(number).strip().rstrip(".")
    power = POWERS.get(word if word == "M" else word.casefold())
    if power is None or len(options(number, column, sign)) > 1:
        return None
    plain = separated(number)[0] or number
    whole = float(f"{float(plain) * power:.12g}")
    plain = number_text(whole)
    return CellFault(f"is short for {plain}", f"Write {plain}")


def _may_be(meant: list[str]) -> str:
    """Say both readings, the thousands first."""
    most, least = sorted(meant, key=lambda text: -abs(float(text)))
    return f"could be {float(most):,.0f} or {least}"


def _with_unit(number: str, column: Column, sign: str) -> CellFault:
    """Return the fault of a number with a unit, whatever separates its figures."""
    alone = " without the unit"
    alone += f" if it is in {column.unit}" if column.unit else ""
    meant = options(number, column, sign)
    why = "has a unit in the cell"
    if len(meant) > 1:
        why += f", and {_may_be(meant)}"
    meant = meant or [separated(number)[0] or number]
    return CellFault(why, choice(meant, sign, alone))
