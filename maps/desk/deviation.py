"""A month against its plan: tonnes delivered beside those planned, and one picture."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from maps.desk.figures import written
from maps.desk.log_book import Delivery

WIDE, TALL = 1120, 340
MOST_BARS = 12
"""Places in the picture, the furthest from their plan; the table has all."""
Row = tuple[str, str, str, str]


@dataclass(frozen=True)
class AgainstPlan:
    """
    One place and yard against its plan, up to the last day of the log.

    Attributes
    ----------
    kind, place, material, yard
        As of a `Delivery`.
    planned, delivered
        Tonnes. [t]
    """

    kind: str
    place: str
    material: str
    yard: str
    planned: float
    delivered: float

    @property
    def apart(self) -> float:
        """Tonnes more than planned, below zero less. [t]"""
        return self.delivered - self.planned


@dataclass(frozen=True)
class Deviation:
    """
    A month against its plan.

    Attributes
    ----------
    last
        Last day of the log; 0 where it has none.
    days
        Day, tonnes fetched as planned and as logged, added up to that day. [t]
    rows
        Every place, the furthest from its plan first.
    """

    last: int
    days: tuple[tuple[int, float, float], ...]
    rows: tuple[AgainstPlan, ...]


def deviation(
    planned: Mapping[str, Sequence[Any]], log: Iterable[Delivery]
) -> Deviation:
    """
    Set the log of a month against the rounds of the month.

    Parameters
    ----------
    planned
        day, kind, place, material, yard, tonnes [t] as lists, see `month_facts`.
    log
        Lines of that period.
    """
    lines = list(log)
    last = max((one.day for one in lines), default=0)
    plan: dict[Row, float] = defaultdict(float)
    real: dict[Row, float] = defaultdict(float)
    by_day: dict[int, list[float]] = defaultdict(lambda: [0.0, 0.0])
    columns = ("day", "kind", "place", "material", "yard", "tonnes")
    for day, kind, place, material, yard, t in zip(
        *(planned[c] for c in columns), strict=True
    ):
        by_day[day][0] += t if kind == "in" else 0.0
        if day <= last:
            plan[kind, place, material, yard] += t
    for one in lines:
        by_day[one.day][1] += one.tonnes if one.kind == "in" else 0.0
        real[one.kind, one.place, one.material, one.yard] += one.tonnes
    days, planned_t, logged_t = [], 0.0, 0.0
    for day, (a, b) in sorted(by_day.items()):
        planned_t, logged_t = planned_t + a, logged_t + b
        days.append((day, planned_t, logged_t))
    rows = [AgainstPlan(*key, plan[key], real[key]) for key in {*plan, *real}]
    rows.sort(key=lambda r: (-abs(r.apart), r.kind, r.place, r.material, r.yard))
    return Deviation(last, tuple(days), tuple(rows))


def picture(found: Deviation, names: Mapping[str, Mapping[str, str]]) -> Markup:
    """Draw a month against its plan: the sums by day, and the places furthest apart."""
    parts = [*_lines(found), *_bars(found, names)]
    words = "Tonnes fetched, planned and delivered, and the places furthest from plan"
    tag = '<svg class="deviation" viewBox="0 0 {} {}" role="img" aria-label="{}">'
    head = Markup(tag)
    body = Markup("").join(parts)
    return head.format(WIDE, TALL, words) + body + Markup("</svg>")


def _text(x: float, y: float, words: str, kind: str = "", end: str = "start") -> Markup:
    tag = '<text x="{:.1f}" y="{:.1f}" class="{}" text-anchor="{}">{}</text>'
    return Markup(tag).format(x, y, kind, end, words)


def _lines(found: Deviation) -> list[Markup]:
    """Draw the sums over the days in the left half."""
    left, right, top, foot = 62.0, 560.0, 40.0, 300.0
    most = max((max(a, b) for _, a, b in found.days), default=0.0) or 1.0
    last_day = max((day for day, _, _ in found.days), default=1)

    def at(day: float, tonnes: float) -> str:
        x = left + (right - left) * day / last_day
        return f"{x:.1f},{foot - (foot - top) * tonnes / most:.1f}"

    plan = [at(0, 0), *(at(d, a) for d, a, _ in found.days)]
    real = [at(0, 0), *(at(d, b) for d, _, b in found.days if d <= found.last)]
    parts = [_text(left, 22, "Fetched so far, tonnes", "head")]
    for share in (0.0, 0.5, 1.0):
        y = foot - (foot - top) * share
        line = '<line class="grid" x1="{}" x2="{}" y1="{:.1f}" y2="{:.1f}"/>'
        parts.append(Markup(line).format(left, right, y, y))
        parts.append(_text(left - 8, y + 4, written(most * share), "", "end"))
    poly = Markup('<polyline class="{}" points="{}"/>')
    parts.append(poly.format("plan", " ".join(plan)))
    if found.last:
        parts.append(poly.format("real", " ".join(real)))
        x, _ = real[-1].split(",")
        mark = '<line class="now" x1="{}" x2="{}" y1="{}" y2="{}"/>'
        parts.append(Markup(mark).format(x, x, top, foot))
    parts.append(_text(left, foot + 18, "day 0"))
    parts.append(_text(right, foot + 18, f"working day {last_day}", "", "end"))
    keys = (("plan", "planned", 300.0), ("real", "delivered", 400.0))
    for kind, words, key in keys:
        parts.append(poly.format(kind, f"{key},18 {key + 26},18"))
        parts.append(_text(key + 32, 22, words))
    return parts


def _bars(found: Deviation, names: Mapping[str, Mapping[str, str]]) -> list[Markup]:
    """Draw the places furthest from their plan in the right half."""
    rows = [row for row in found.rows if abs(row.apart) >= 0.05][:MOST_BARS]
    left, right = 840.0, 1060.0
    parts = [_text(620, 22, "Furthest from plan, tonnes more or less", "head")]
    if not rows:
        words = "All as planned" if found.last else "Nothing in the log yet"
        return [*parts, _text(620, 52, words)]
    most = max(abs(row.apart) for row in rows)
    middle = (left + right) / 2
    for n, row in enumerate(rows):
        y = 40 + n * 22.0
        name = names["place"].get(row.place, row.place)
        freight = names["material"].get(row.material, row.material)
        label = f"{name}, {freight}" if row.kind == "in" else f"{name}, compost"
        shown = label if len(label) <= 36 else label[:35] + "…"
        long = abs(row.apart) / most * (right - left) / 2
        x = middle if row.apart > 0 else middle - long
        kind = "more" if row.apart > 0 else "less"
        bar = '<rect class="{}" x="{:.1f}" y="{:.1f}" width="{:.1f}" height="15"/>'
        parts.append(_text(left - 64, y + 12, shown, "", "end"))
        parts.append(Markup(bar).format(kind, x, y, max(long, 1.0)))
        sign = "+" if row.apart > 0 else ""
        end, where = ("start", middle + 6) if row.apart < 0 else ("end", middle - 6)
        parts.append(_text(where, y + 12, f"{sign}{written(row.apart, 1)}", "", end))
    line = '<line class="zero" x1="{0}" x2="{0}" y1="34" y2="{1}"/>'
    parts.append(Markup(line).format(middle, 40 + len(rows) * 22))
    return parts
