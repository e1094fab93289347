"""What each site adds, as bars: an SVG that can be read in grey."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap

from markupsafe import Markup

from maps.report import INK, LINE, PAPER, SOFT, shorten, steps
from maps.shared import amount

WIDTH, NAME, VALUE = 640, 292, 104
"""Of the drawing, of the names on its left, and of the figures on its right."""
ROW, TOP, BAR, TYPE, SMALL_TYPE = 26, 22, 11, 11, 9
LONGEST = 44
"""Letters on a line of a name, which takes two lines at most."""
FILL = "#4a3a2c"


@dataclass(frozen=True)
class Bar:
    """
    What one site adds.

    Attributes
    ----------
    name
        Of the site.
    value
        What it adds, in the unit of the axis; below zero drawn to the left.
    proven
        Least and most that is proven of it; None where nothing is.
    mark
        Said below the figure of a site that is not proven to add anything; its bar is
        hatched. Blank for the others.
    """

    name: str
    value: float
    proven: tuple[float, float] | None
    mark: str = ""


def site_bars(
    title: str, describe: str, bars: Sequence[Bar], digits: int = 0
) -> Markup:
    """
    Draw bars below each other: full where something is added, hatched where it is open.

    The line below a bar spans what is proven.

    Parameters
    ----------
    title, describe
        Name of the drawing and what there is to see.
    bars
        In their order.
    digits
        Decimals of the figures.
    """
    ends = [v for b in bars for v in (b.value, *(b.proven or ()))]
    top, low = max([*ends, 0.0]), min([*ends, 0.0])
    reach = max(top, -low)
    step = steps(reach, 3)[1]
    left, right = NAME + 8, WIDTH - VALUE
    first, last = _whole(low / step), -_whole(-top / step)
    last = max(last, first + 1)

    def x(value: float) -> float:
        return left + (right - left) * (value / step - first) / (last - first)

    high = TOP + ROW * len(bars)
    text = Markup('<text x="{:.1f}" y="{:.1f}" text-anchor="{}"{}>{}</text>')
    small = Markup(' font-size="{}"').format(SMALL_TYPE)
    places = max(digits, 0 if step >= 1 else 1)
    parts = []
    for number in range(first, last + 1):
        at = x(number * step)
        colour, wide = (INK, 1.2) if number == 0 else (LINE, 0.8)
        parts.append(
            Markup('<path d="M{:.1f},{} V{}" stroke="{}" stroke-width="{}"/>').format(
                at, TOP - 4, high, colour, wide
            )
        )
        parts.append(
            text.format(at, TOP - 8, "middle", small, amount(number * step, places))
        )
    for number, bar in enumerate(bars):
        y = TOP + ROW * number
        lines = wrap(shorten(bar.name, 2 * LONGEST), LONGEST)[:2]
        first_line = y + (13 if len(lines) == 1 else 9)
        parts += [
            text.format(NAME, first_line + 11 * k, "end", "", line)
            for k, line in enumerate(lines)
        ]
        start, end = sorted((x(0), x(bar.value)))
        fill = "url(#sites-equal)" if bar.mark else FILL
        parts.append(
            Markup(
                '<rect x="{:.1f}" y="{}" width="{:.1f}" height="{}" fill="{}" '
                'stroke="{}" stroke-width="0.8"/>'
            ).format(start, y + 3, end - start, BAR, fill, INK)
        )
        if bar.proven:
            least, most = map(x, bar.proven)
            parts.append(
                Markup(
                    '<path d="M{a:.1f},{t} v5 m0,-2.5 H{b:.1f} m0,-2.5 v5" fill="none" '
                    'stroke="{ink}" stroke-width="1.1"/>'
                ).format(a=least, b=most, t=y + 16, ink=INK)
            )
        parts.append(
            text.format(
                WIDTH, y + 12, "end", Markup(' font-weight="650"'),
                amount(bar.value, digits),
            )
        )  # fmt: skip
        if bar.mark:
            parts.append(text.format(WIDTH, y + 22, "end", small, bar.mark))
    head = Markup(
        '<svg class="chart" role="img" aria-labelledby="sites-t sites-d" '
        'viewBox="0 0 {w} {h}" font-size="{size}">'
        '<title id="sites-t">{t}</title><desc id="sites-d">{d}</desc>{hatch}'
    ).format(w=WIDTH, h=high + 4, size=TYPE, t=title, d=describe, hatch=_hatch())
    return head + Markup("").join(parts) + Markup("</svg>")


def bar_key() -> Markup:
    """Key to the signs, as a list."""
    entry = Markup(
        '<li><svg aria-hidden="true" viewBox="0 0 22 14" width="22" height="14">{}'
        "</svg> {}</li>"
    )
    box = '<rect x="1" y="1" width="20" height="11" fill="{}" stroke="{}"/>'
    signs = (
        (box.format(FILL, INK), "proven to cost more than the base"),
        (
            box.format("url(#sites-equal)", INK),
            "not proven to cost more: may add nothing",
        ),
        (
            f'<path d="M1,4.5 v5 m0,-2.5 H21 m0,-2.5 v5" fill="none" stroke="{INK}"/>',
            "proven range",
        ),
    )
    items = Markup("").join(entry.format(Markup(s), words) for s, words in signs)
    return Markup('<ul class="keys">{}</ul>').format(items)


def _hatch() -> Markup:
    """Pattern of a bar that may be nothing."""
    return Markup(
        '<defs><pattern id="sites-equal" width="6" height="6" '
        'patternUnits="userSpaceOnUse"><rect width="6" height="6" fill="{}"/>'
        '<path d="M0,6 L6,0" stroke="{}" stroke-width="1.1"/></pattern></defs>'
    ).format(PAPER, SOFT)


def _whole(value: float) -> int:
    """Round down to a whole step."""
    return int(value // 1)
