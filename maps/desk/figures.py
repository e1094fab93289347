"""Key figures of a plan from its summary, in the words of map and report."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from maps.desk.events import number_in

NET = "Net cost"
TO_PROGRAMME = f"{NET} to the programme"
BY_SOURCES = "Paid by the sources"
A_TONNE = f"{TO_PROGRAMME} per tonne collected"
"""What map and report call these figures; their room would load pandas."""
UNKNOWN = "–"
MINUS = "−"
STATUS = {
    "optimal": "Proven within the gap asked for",
    "time_limit": "Best found in the time allowed",
    "stopped": "Best found before it was stopped",
    "shortage": "Demands cannot all be met; see shortages",
}
"""Status of a plan in words; the report has the same."""


@dataclass(frozen=True)
class PlanFigure:
    """
    A figure of a plan: what it is, its number as read and as written, its unit.

    `number` is None where the summary does not hold one.
    """

    label: str
    number: float | None
    text: str
    unit: str


def figures(summary: Mapping[str, Any]) -> list[PlanFigure]:
    """Return the figures that a board asks for first."""
    currency = str(summary.get("currency", ""))[:20]
    collected, share = _all(summary, "collected_t"), _all(summary, "collected_share")
    net, each = f"{currency}/yr", f"{currency}/t"
    rows = (
        ("Yards in use", number_in(summary, "yards_open"), 0, ""),
        ("Collected", collected, 0, "t/yr"),
        ("Share of the supply", _times(share, 100), 1, "%"),
        ("Compost", number_in(summary, "compost_t"), 0, "t/yr"),
        (NET, number_in(summary, "total_cost"), 0, net),
        ("Haulage", number_in(summary, "haul_cost"), 0, net),
        (A_TONNE, number_in(summary, "cost_per_t_collected"), 2, each),
        ("Proven gap", _times(number_in(summary, "gap"), 100), 2, "%"),
    )
    return [
        PlanFigure(label, value, written(value, digits), unit)
        for label, value, digits, unit in rows
    ]


def _all(summary: Mapping[str, Any], name: str) -> float | None:
    """Figure of all feedstocks together."""
    record = summary.get(name)
    return number_in(record, "all") if isinstance(record, dict) else None


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def written(value: float | None, digits: int = 0) -> str:
    """
    Write a number with thousands apart and a real minus.

    >>> written(-12345.6), written(None), written(0.126, 2), written(-0.2)
    ('−12,346', '–', '0.13', '0')
    """
    if value is None:
        return UNKNOWN
    text = f"{abs(value):,.{digits}f}"
    zero = not text.strip("0.,")
    return text if value >= 0 or zero else MINUS + text


def differences(
    one: Mapping[str, Any], other: Mapping[str, Any]
) -> list[tuple[PlanFigure, PlanFigure, str]]:
    """Return each figure of two plans, and by how much the second is higher."""
    pairs = zip(figures(one), figures(other), strict=True)
    return [(a, b, _apart(a, b)) for a, b in pairs]


def _apart(one: PlanFigure, other: PlanFigure) -> str:
    """
    Write how much higher the second figure is; nothing where units differ.

    >>> a, b = PlanFigure("x", 2.0, "2", "t"), PlanFigure("x", 3.0, "3", "t")
    >>> _apart(a, b), _apart(b, a), _apart(a, a)
    ('+1', '−1', 'same')
    """
    if one.number is None or other.number is None or one.unit != other.unit:
        return UNKNOWN
    digits = len(one.text.partition(".")[2])
    text = written(other.number - one.number, digits)
    if text == written(0.0, digits):
        return "same"
    return text if text.startswith(MINUS) else f"+{text}"


def yard_changes(
    one: Mapping[str, str], other: Mapping[str, str]
) -> list[tuple[str, str]]:
    """
    Say what happens to each yard from one plan to another.

    >>> yard_changes({"a": "s", "b": "s", "c": "s"}, {"b": "l", "c": "s", "d": "s"})
    [('a', 'closed'), ('b', 'from s to l'), ('d', 'opened as s')]
    """
    found = []
    for yard in sorted({*one, *other}):
        if yard not in other:
            found.append((yard, "closed"))
        elif yard not in one:
            found.append((yard, f"opened as {other[yard]}"))
        elif one[yard] != other[yard]:
            found.append((yard, f"from {one[yard]} to {other[yard]}"))
    return found


def ago(seconds: float) -> str:
    """
    Say how long ago something was.

    >>> ago(20), ago(3_700), ago(86_400 * 1.5), ago(86_400 * 40)
    ('just now', '1 hour ago', '1 day ago', '40 days ago')
    """
    for size, word in ((86_400, "day"), (3_600, "hour"), (60, "minute")):
        if seconds >= size:
            number = int(seconds // size)
            return f"{number} {word}{'s' if number > 1 else ''} ago"
    return "just now"


def size_words(size: int) -> str:
    """
    Write the size of a file.

    >>> size_words(320), size_words(41_000), size_words(2_300_000)
    ('1 kB', '41 kB', '2.3 MB')
    """
    if size < 1e6:
        return f"{max(1, round(size / 1e3))} kB"
    return f"{size / 1e6:.1f} MB"
