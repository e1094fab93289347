"""Charts of many futures: a tornado of swings, a histogram of what may come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from maps.report import INK, LINE, PAPER, SOFT, plain, shorten, steps
from maps.shared import amount

WORSE, BETTER, BARS = "#b23a2e", "#2f5d3a", "#b5690b"
WIDTH, TYPE, ROW, LABELS = 640, 12, 22, 236
LONGEST_LABEL = 32
DASHES = ("", "6 3", "2 2", "8 2 2 2")


@dataclass(frozen=True)
class Swing:
    """One bar of a tornado: its name, and the two ends of the difference."""

    name: str
    low: float
    high: float
    low_text: str = ""
    high_text: str = ""


@dataclass(frozen=True)
class Mark:
    """A line across a histogram: its name and where it stands."""

    name: str
    value: float


def tornado(
    code: str, title: str, describe: str, swings: Sequence[Swing], unit: str
) -> Markup:
    """
    Draw differences from the base as bars from a middle line, in the order given.

    What costs more goes to the right and is hatched, what costs less goes to the left
    and is plain, so that both can be told without colour. A bar is drawn from the
    middle to each of its ends; both ends may lie on one side.

    Parameters
    ----------
    code
        Letters and digits, no other chart's in the page.
    title, describe
        Name of the chart and what there is to see.
    swings, unit
        The bars, and the unit of their ends.
    """
    ends = [end for s in swings for end in (s.low, s.high)]
    ticks = _both_sides(min([0.0, *ends]), max([0.0, *ends]))
    digits = 0 if ticks[1] - ticks[0] >= 1 else 2
    left, right, top = LABELS, WIDTH - 64, 24
    base = top + ROW * len(swings)

    def x(value: float) -> float:
        return left + (right - left) * (value - ticks[0]) / (ticks[-1] - ticks[0])

    parts = [
        f'<defs><pattern id="{code}-w" width="6" height="6" '
        f'patternUnits="userSpaceOnUse"><rect width="6" height="6" fill="{WORSE}"/>'
        f'<path d="M0,6 L6,0" stroke="{PAPER}" stroke-width="1.1"/></pattern></defs>'
    ]
    for tick in ticks:
        parts.append(
            f'<path d="M{x(tick):.1f},{top} V{base}" stroke="{LINE}"/>'
            f'<text x="{x(tick):.1f}" y="{base + 16}" text-anchor="middle">'
            f"{amount(tick, digits)}</text>"
        )
    label = Markup('<text x="{}" y="{}" text-anchor="end">{}</text>')
    for row, each in enumerate(swings):
        y = top + ROW * row
        name = shorten(plain(each.name), LONGEST_LABEL)
        parts.append(label.format(left - 8, y + 15, name))
        for end, text in ((each.low, each.low_text), (each.high, each.high_text)):
            start, stop = sorted((x(0.0), x(end)))
            fill = f"url(#{code}-w)" if end > 0 else BETTER
            parts.append(
                f'<rect x="{start:.1f}" y="{y + 4}" width="{stop - start:.1f}" '
                f'height="{ROW - 8}" fill="{fill}" stroke="{INK}" stroke-width="0.6"/>'
            )
            if text and stop - start > 0.5:
                side, gap = ("start", 4) if end > 0 else ("end", -4)
                note = Markup(
                    '<text class="over" x="{}" y="{}" text-anchor="{}" '
                    'font-size="10">{}</text>'
                )
                parts.append(note.format(f"{x(end) + gap:.1f}", y + 15, side, text))
    parts.append(
        f'<path d="M{x(0.0):.1f},{top - 4} V{base}" stroke="{INK}" stroke-width="1.4"/>'
    )
    return _svg(code, title, describe, base + 24, parts, unit)


def _both_sides(low: float, high: float) -> list[float]:
    """Round values from below zero to above it."""
    rough = steps(max(high - low, 1e-9), 5)
    step = rough[1] - rough[0]
    first, last = np.floor(low / step + 1e-9), np.ceil(high / step - 1e-9)
    return [
        float(step * k) for k in range(int(first), max(int(last), int(first) + 1) + 1)
    ]


def histogram(
    code: str,
    title: str,
    describe: str,
    values: Sequence[float],
    marks: Sequence[Mark],
    unit: str,
) -> Markup:
    """
    Draw how often values fall where, with named lines across.

    Parameters
    ----------
    code, title, describe, unit
        As in `tornado`; the unit is that of the values.
    values
        Cases, all equally likely; at least one.
    marks
        Lines across, at most four.
    """
    every = [*values, *(m.value for m in marks)]
    ticks = _axis(min(every), max(every))
    width = (ticks[1] - ticks[0]) / 2
    digits = 0 if width >= 0.5 else 1
    edges = np.arange(ticks[0], ticks[-1] + width / 2, width)
    counts, _ = np.histogram(values, edges)
    levels = steps(float(counts.max()), 4)
    left, right, top, base = 44, WIDTH - 24, 34 + 14 * ((len(marks) + 1) // 2), 250

    def x(value: float) -> float:
        return left + (right - left) * (value - ticks[0]) / (ticks[-1] - ticks[0])

    def y(value: float) -> float:
        return base - (base - top) * value / levels[-1]

    parts = []
    for level in levels:
        if level == int(level):
            parts.append(
                f'<path d="M{left},{y(level):.1f} H{right}" stroke="{LINE}"/>'
                f'<text x="{left - 6}" y="{y(level) + 4:.1f}" text-anchor="end">'
                f"{amount(level)}</text>"
            )
    for start, stop, count in zip(edges[:-1], edges[1:], counts.tolist(), strict=True):
        if count:
            parts.append(
                f'<rect x="{x(start) + 1:.1f}" y="{y(count):.1f}" '
                f'width="{x(stop) - x(start) - 2:.1f}" '
                f'height="{base - y(count):.1f}" fill="{BARS}" stroke="{INK}" '
                'stroke-width="0.6"/>'
            )
    for tick in ticks:
        parts.append(
            f'<text x="{x(tick):.1f}" y="{base + 16}" text-anchor="middle">'
            f"{amount(tick, digits)}</text>"
        )
    parts.append(f'<path d="M{left},{base} H{right}" stroke="{INK}"/>')
    for place, mark in enumerate(marks):
        dash = DASHES[place % len(DASHES)]
        style = f' stroke-dasharray="{dash}"' if dash else ""
        at, line = left + (place % 2) * 300, 24 + 14 * (place // 2)
        parts.append(
            f'<path d="M{x(mark.value):.1f},{top - 6} V{base}" stroke="{PAPER}" '
            f'stroke-width="4"/><path d="M{x(mark.value):.1f},{top - 6} V{base}" '
            f'stroke="{INK}" stroke-width="1.8"{style}/>'
            f'<path d="M{at},{line} h26" stroke="{INK}" stroke-width="1.8"{style}/>'
        )
        key = Markup('<text x="{}" y="{}">{}: {}</text>')
        parts.append(key.format(at + 32, line + 4, mark.name, amount(mark.value)))
    return _svg(code, title, describe, base + 24, parts, f"draws by {unit}")


def _axis(low: float, high: float) -> list[float]:
    """Round values that hold a range, whether zero is in it or not."""
    span = max(high - low, abs(high) * 1e-6, 1e-6)
    rough = steps(span, 6)
    step = rough[1] - rough[0]
    first, last = int(np.floor(low / step)), int(np.ceil(high / step))
    return [step * k for k in range(first, max(last, first + 1) + 1)]


def _svg(
    code: str, title: str, describe: str, height: int, parts: Sequence[str], unit: str
) -> Markup:
    """Put the parts of a drawing together."""
    head = Markup(
        '<svg class="chart" role="img" aria-labelledby="{c}-t {c}-d" '
        'viewBox="0 0 {w} {h}" font-size="{size}">'
        '<title id="{c}-t">{t}</title><desc id="{c}-d">{d}</desc>'
        '<text x="{w}" y="13" text-anchor="end" fill="{soft}">{u}</text>'
    ).format(
        c=code, w=WIDTH, h=height, size=TYPE, t=title, d=describe, u=unit, soft=SOFT
    )
    return head + Markup("".join(parts)) + Markup("</svg>")
