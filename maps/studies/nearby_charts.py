"""What a board gets for what it gives up: small pictures of the trade."""

from __future__ import annotations

from typing import TYPE_CHECKING

from markupsafe import Markup

from maps.report import INK, LINE
from maps.shared import amount, head_text
from maps.studies.frontier_page import round_ticks
from maps.studies.nearby_words import WANTED, column_of, shown_value

if TYPE_CHECKING:
    from logistics.studies import Nearby, Pushed
    from maps.shared import MoneyUnit

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 330, 220, 64, 24, 14, 40
MOSS, PALE = "#2f5d3a", "#9fb3a0"
STEPS = 5
"""Marks on each axis at most, about."""


def unbeaten(above: list[float], values: list[float], *, more: bool) -> list[int]:
    """
    Places of plans, cheapest first, of which none cheaper has as much of the thing.

    >>> unbeaten([0.0, 0.01, 0.02], [7.0, 7.0, 6.0], more=False)
    [0, 2]
    """
    kept: list[int] = []
    for n in sorted(range(len(above)), key=lambda n: above[n]):
        value = values[n] if more else -values[n]
        last = None if not kept else values[kept[-1]] if more else -values[kept[-1]]
        if last is None or value > last + 1e-9 * max(1.0, abs(last)):
            kept.append(n)
    return kept


def decimals(marks: list[float]) -> int:
    """
    Tell how many decimals keep marks apart, two at most.

    >>> decimals([0.0, 0.5, 1.0]), decimals([55.0, 60.0])
    (1, 0)
    """
    known = (d for d in (0, 1) if all(abs(round(m, d) - m) < 1e-9 for m in marks))
    return next(known, 2)


def trade_chart(nearby: Nearby, one: Pushed, unit: MoneyUnit) -> Markup:
    """Draw what plans have of a thing over what they cost more than the best. [%]"""
    code = one.push.code
    above = [100 * plan.above for plan in nearby.found.plans]
    values = [shown_value(code, value) for value in one.values]
    right = 100 * nearby.found.share
    low, high = min(values), max(values)
    low, high = low - 0.08 * (high - low), high + 0.08 * (high - low)
    base = HEIGHT - BOTTOM

    def x(value: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * value / right

    def y(value: float) -> float:
        return base - (base - TOP) * (value - low) / (high - low)

    money = unit.name in head_text(column_of(code, unit.currency), unit)
    marks = sorted(set(values)) if code == "yards" else round_ticks(low, high, STEPS)
    digits, parts = decimals(marks), []
    for at in marks:
        said = unit.text(at) if money else amount(at, digits)
        parts.append(
            f'<path d="M{LEFT},{y(at):.1f} H{WIDTH - RIGHT}" stroke="{LINE}"/>'
            f'<text x="{LEFT - 6}" y="{y(at) + 4:.1f}" text-anchor="end">{said}</text>'
        )
    shares = round_ticks(0.0, right, STEPS)
    parts += [
        f'<text x="{x(share):.1f}" y="{base + 17}" text-anchor="middle">'
        f"{amount(share, decimals(shares))}</text>"
        for share in shares
    ]
    line = unbeaten(above, values, more=one.push.more)
    way = " L".join(f"{x(above[n]):.1f},{y(values[n]):.1f}" for n in line)
    parts.append(f'<path d="M{LEFT},{base} H{WIDTH - RIGHT}" stroke="{INK}"/>')
    parts.append(f'<path d="M{way}" fill="none" stroke="{MOSS}" stroke-width="1.4"/>')
    for n, (a, v) in enumerate(zip(above, values, strict=True)):
        parts.append(
            f'<circle cx="{x(a):.1f}" cy="{y(v):.1f}" r="4.5" stroke="{INK}" '
            f'fill="{MOSS if n in line else PALE}"><title>Plan {n + 1}</title></circle>'
        )
        if n in line or n == one.best:
            end = a > 0.85 * right
            parts.append(
                f'<text x="{x(a) + (-7 if end else 7):.1f}" y="{y(v) - 7:.1f}" '
                f'text-anchor="{"end" if end else "start"}">plan {n + 1}</text>'
            )
    name = f"trade-{code}"
    said = (
        f"Of {len(values)} plans, plan {one.best + 1} has the {WANTED[code][0]}, for "
        f"{amount(above[one.best], 2)} % more than the best costs."
    )
    return Markup(
        f'<svg class="chart" role="img" aria-labelledby="{name}-t {name}-d" '
        f'viewBox="0 0 {WIDTH} {HEIGHT}" font-size="11"><title id="{name}-t">'
        f'Cost given up for the {WANTED[code][0]}</title><desc id="{name}-d">{said}'
        f'</desc>{"".join(parts)}<text x="{WIDTH - RIGHT}" y="{HEIGHT - 6}" '
        'text-anchor="end">costs more than the best by [%]</text></svg>'
    )
