"""A grid of yards and periods as SVG: how full each place is, in figures and bars."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from maps.report.axes import CHAR, every
from maps.report.charts import INK, LINE, PAPER
from maps.report.pieces import shorten
from maps.shared import amount, short_names

WIDTH, NAME, MOST = 640, 206, 36
"""Of the drawing, its names, and the column of the fullest."""
ROW, TOP, TYPE = 21, 20, 11
FILL = "#d9c7a3"
"""Light enough to read figures on, dark enough to see in grey."""
LEAST_SLOT = 20
FULL = 99.5
"""From here on a place counts as full. [%]"""
LONGEST = 34


def fill_grid(
    code: str,
    title: str,
    describe: str,
    periods: Sequence[str],
    rows: Sequence[tuple[str, Sequence[float]]],
) -> Markup:
    """
    Draw how full places are, a row each, a cell a period.

    A cell is filled from below by its share and holds the figure where there is room;
    full ones have a thick edge, so that nothing hangs on colour.

    Parameters
    ----------
    code
        Letters and digits, no other drawing's in the page.
    title, describe
        Name of the drawing and what there is to see.
    periods
        Their names in order.
    rows
        Name and values of every place. [%]
    """
    slot = (WIDTH - NAME - MOST) / max(1, len(periods))
    high = TOP + ROW * len(rows) + 4
    whole = every(periods, slot, TYPE) == 1
    labels = list(periods) if whole else short_names(periods)
    step = every(labels, slot, TYPE)
    text = Markup('<text x="{}" y="{}" text-anchor="{}"{}>{}</text>')
    parts = [
        text.format(f"{NAME + slot * (k + 0.5):.1f}", TOP - 6, "middle", "", label)
        for k, label in enumerate(labels)
        if k % step == 0
    ]
    parts.append(text.format(WIDTH, TOP - 6, "end", "", "most"))
    for number, (name, values) in enumerate(rows):
        y = TOP + ROW * number
        short = shorten(name, LONGEST)
        parts.append(text.format(NAME - 6, y + ROW - 7, "end", "", short))
        for place, value in enumerate(values):
            parts.append(_cell(NAME + slot * place, y, slot, float(value)))
        bold = Markup(' font-weight="650"')
        most = amount(max(values, default=0.0))
        parts.append(text.format(WIDTH, y + ROW - 7, "end", bold, most))
    head = Markup(
        '<svg class="chart" role="img" aria-labelledby="{c}-t {c}-d" '
        'viewBox="0 0 {w} {h}" font-size="{size}">'
        '<title id="{c}-t">{t}</title><desc id="{c}-d">{d}</desc>'
    ).format(c=code, w=WIDTH, h=high, size=TYPE, t=title, d=describe)
    return head + Markup("").join(parts) + Markup("</svg>")


def _cell(x: float, y: float, slot: float, value: float) -> Markup:
    """One period of one place."""
    tall = ROW - 3
    part = tall * min(max(value, 0.0), 100.0) / 100
    full = value >= FULL
    box = (
        f'<rect x="{x + 1:.1f}" y="{y}" width="{slot - 2:.1f}" height="{tall}" '
        f'fill="{PAPER}" stroke="{LINE}"/>'
        f'<rect x="{x + 1:.1f}" y="{y + tall - part:.1f}" width="{slot - 2:.1f}" '
        f'height="{part:.1f}" fill="{FILL}"/>'
    )
    if full:
        box += (
            f'<rect x="{x + 1:.1f}" y="{y}" width="{slot - 2:.1f}" height="{tall}" '
            f'fill="none" stroke="{INK}" stroke-width="1.4"/>'
        )
    figure = amount(value)
    if slot >= LEAST_SLOT and len(figure) * CHAR * TYPE < slot:
        weight = "650" if full else "400"
        box += (
            f'<text x="{x + slot / 2:.1f}" y="{y + tall - 5}" text-anchor="middle" '
            f'font-weight="{weight}">{figure}</text>'
        )
    return Markup(box)
