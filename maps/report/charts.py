"""
Small charts as SVG text: stacked bars by period, with lines over them.

Every series has a colour and a texture, so that charts can be read in black and white;
every chart has a title and a description for those who cannot see it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from maps.report.axes import CHAR, every, steps
from maps.shared import TEXTURES, amount, first_words, short_names

INK, SOFT, LINE, PAPER = "#2a211a", "#655a4f", "#ddd4c4", "#fffdf8"
DASHES = ("", "5 3", "1.5 3")


@dataclass(frozen=True)
class Series:
    """
    Values by period.

    Attributes
    ----------
    name, values
        Name for the key; one value a period.
    colour
        Written ``#rrggbb``.
    texture
        Number of the texture; -1 draws an empty bar with a hatch (what is missing).
    """

    name: str
    values: Sequence[float]
    colour: str
    texture: int = 0


@dataclass(frozen=True)
class Frame:
    """Size of a chart and of its type."""

    width: int = 640
    height: int = 190
    type_size: float = 12
    left: int = 54
    bottom: int = 24
    top: int = 22


WIDE = Frame()
SMALL = Frame(300, 172, 11, 42, 20, 20)
LOW = Frame(640, 150, 12)


def bars(
    code: str,
    title: str,
    describe: str,
    periods: Sequence[str],
    series: Sequence[Series],
    unit: str,
    *,
    lines: Sequence[Series] = (),
    frame: Frame = WIDE,
) -> Markup:
    """
    Draw stacked bars by period, and lines over them.

    Parameters
    ----------
    code
        Letters and digits, no other chart's in the page.
    title, describe
        Name of the chart and what there is to see.
    periods
        Their names in order.
    series, lines
        What is stacked from below; what is drawn over it.
    unit
        Stands at the top of the axis.
    frame
        Sizes.

    Returns
    -------
    Markup
        An ``<svg>``.
    """
    stacked = [sum(values) for values in zip(*(s.values for s in series), strict=True)]
    top = max([*stacked, *(v for s in lines for v in s.values), 0.0])
    ticks = steps(top, 5 if frame.height > 180 else 3)
    digits = 0 if ticks[1] >= 1 else 1 if ticks[1] >= 0.1 else 2
    widest = max(len(amount(tick, digits)) for tick in ticks)
    frame = replace(frame, left=round(widest * CHAR * frame.type_size) + 12)
    wide = frame.width - frame.left - 6
    high = frame.height - frame.bottom - frame.top
    base = frame.top + high

    def y(value: float) -> float:
        return base - high * value / ticks[-1]

    parts = [_textures(code, series)]
    for tick in ticks:
        parts.append(
            f'<path d="M{frame.left},{y(tick):.1f} h{wide}" stroke="{LINE}"/>'
            f'<text x="{frame.left - 5}" y="{y(tick) + 4:.1f}" text-anchor="end">'
            f"{amount(tick, digits)}</text>"
        )
    unit_mark = Markup('<text x="{}" y="{}" text-anchor="end">{}</text>')
    parts.append(unit_mark.format(frame.left - 5, frame.type_size + 1, unit))
    slot = wide / max(1, len(periods))
    for place in range(len(periods)):
        level, x = 0.0, frame.left + slot * (place + 0.14)
        for number, each in enumerate(series):
            value = float(each.values[place])
            if value <= 0:
                continue
            box = (
                f'x="{x:.1f}" y="{y(level + value):.1f}" width="{slot * 0.72:.1f}" '
                f'height="{y(level) - y(level + value):.1f}"'
            )
            parts.append(_box(code, number, each, box))
            level += value
    parts += [_line(each, k, frame.left, slot, y) for k, each in enumerate(lines)]
    parts.append(
        f'<path d="M{frame.left},{base} h{wide}" stroke="{INK}" stroke-width="1.2"/>'
    )
    parts += _labels(periods, frame, slot)
    head = Markup(
        '<svg class="chart" role="img" aria-labelledby="{c}-t {c}-d" '
        'viewBox="0 0 {w} {h}" font-size="{size}">'
        '<title id="{c}-t">{t}</title><desc id="{c}-d">{d}</desc>'
    ).format(
        c=code,
        w=frame.width,
        h=frame.height,
        size=frame.type_size,
        t=title,
        d=describe,
    )
    return head + Markup("".join(parts)) + Markup("</svg>")


def _textures(code: str, series: Sequence[Series]) -> str:
    """Patterns of the series that need one."""
    found = []
    for number, each in enumerate(series):
        if each.texture == 0:
            continue
        empty = each.texture < 0
        back = PAPER if empty else each.colour
        stroke = SOFT if empty else PAPER
        path = TEXTURES[1 if empty else each.texture % len(TEXTURES)]
        found.append(
            f'<pattern id="{code}-{number}" width="6" height="6" '
            f'patternUnits="userSpaceOnUse"><rect width="6" height="6" fill="{back}"/>'
            f'<path d="{path}" stroke="{stroke}" stroke-width="1.1" fill="none"/>'
            "</pattern>"
        )
    return f"<defs>{''.join(found)}</defs>" if found else ""


def _box(code: str, number: int, each: Series, box: str) -> str:
    """Rectangle in the look of its series."""
    fill = f"url(#{code}-{number})" if each.texture else each.colour
    edge = SOFT if each.texture < 0 else INK
    return f'<rect {box} fill="{fill}" stroke="{edge}" stroke-width="0.6"/>'


def _line(each: Series, number: int, left: float, slot: float, y: object) -> str:
    """Line with a mark at every period."""
    if not callable(y):
        message = "y must turn a value into a place"
        raise TypeError(message)
    spots = [(left + slot * (k + 0.5), y(float(v))) for k, v in enumerate(each.values)]
    path = "M" + " L".join(f"{a:.1f},{b:.1f}" for a, b in spots)
    dash = DASHES[number % len(DASHES)]
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    marks = "".join(_mark(number, a, b, each.colour) for a, b in spots)
    return (
        f'<path d="{path}" fill="none" stroke="{PAPER}" stroke-width="4.5"/>'
        f'<path d="{path}" fill="none" stroke="{each.colour}" stroke-width="2"'
        f"{dashed}/>"
        f"{marks}"
    )


def _mark(number: int, x: float, y: float, colour: str) -> str:
    """Sign of a line: disc, square or ring."""
    kind = number % 3
    if kind == 1:
        return (
            f'<rect x="{x - 3:.1f}" y="{y - 3:.1f}" width="6" height="6" '
            f'fill="{PAPER}" stroke="{colour}" stroke-width="1.6"/>'
        )
    fill = colour if kind == 0 else PAPER
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{fill}" stroke="{colour}"/>'


def _labels(periods: Sequence[str], frame: Frame, slot: float) -> list[str]:
    """Names of the periods below the bars: in full where there is room, else short."""
    long = [names for names in (periods, first_words(periods)) if names]
    fits = [names for names in long if every(names, slot, frame.type_size) == 1]
    labels = fits[0] if fits else short_names(periods)
    step = every(labels, slot, frame.type_size)
    return [
        str(
            Markup('<text x="{}" y="{}" text-anchor="middle">{}</text>').format(
                f"{frame.left + slot * (k + 0.5):.1f}", frame.height - 6, label
            )
        )
        for k, label in enumerate(labels)
        if k % step == 0
    ]


def key(code: str, series: Sequence[Series], lines: Sequence[Series] = ()) -> Markup:
    """Key to the signs of a chart, in words, as a list."""
    items = []
    for number, each in enumerate(series):
        box = 'x="1" y="1" width="20" height="12"'
        sign = _textures(f"{code}-k", [*[_PLAIN] * number, each]) + _box(
            f"{code}-k", number, each, box
        )
        items.append((sign, each.name))
    for number, each in enumerate(lines):
        dash = DASHES[number % len(DASHES)]
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        sign = (
            f'<path d="M0,7 h22" stroke="{each.colour}" stroke-width="2"{dashed}/>'
            + _mark(number, 11, 7, each.colour)
        )
        items.append((sign, each.name))
    entry = Markup(
        '<li><svg aria-hidden="true" viewBox="0 0 22 14" width="22" height="14">{}'
        "</svg> <bdi>{}</bdi></li>"
    )
    rows = Markup("").join(entry.format(Markup(sign), name) for sign, name in items)
    return Markup('<ul class="keys">{}</ul>').format(rows)


_PLAIN = Series("", (), INK)
