"""The frontier on one page: chart, table, words; also for a terminal and a workbook."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from markupsafe import Markup
from rich.console import Console
from rich.table import Table as Grid

from logistics.studies import knee
from maps.report import INK, LINE, SOFT, bdi, plain
from maps.shared import (
    ALL_ESTIMATED,
    MoneyUnit,
    amount,
    cell_text,
    clean,
    head_text,
    money_unit,
    net_said,
    net_text,
    policy,
    print_table,
    style_of_report,
    text_console,
    write_csv,
)
from maps.studies.tables import frontier_rows
from maps.tables import write_tables

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    import pandas as pd

    from logistics.studies import Against, Point

WORDS = {
    "collected": ("tonnes collected", "collected [t/yr]", "more collected"),
    "co2e": ("emissions", "emitted [t CO2e/yr]", "less emitted"),
    "yards": ("the number of yards", "yards open", "fewer yards"),
    "people": ("people near yards", "people near open yards", "fewer near"),
    "fairness": (
        "the distance of the worst tenth of farms",
        "mean distance of the worst tenth of farms [km]",
        "nearer",
    ),
}
UNITS = {
    "collected": "t a year",
    "co2e": "kg CO2e a year",
    "yards": "yards",
    "people": "people near yards",
    "fairness": "km for the worst tenth of farms",
}
CAUTIONS = {
    "people": "People are counted by distance from open yards: a planning measure, not "
    "an odour study. Local codes and a licensed assessor decide.",
    "fairness": "Distance is that by road to the nearest open yard, whoever sends the "
    "compost; a tenth is a tenth of the compost asked for.",
}
WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 640, 320, 76, 20, 26, 46
MOSS, STRAW = "#2f5d3a", "#e8b65a"

EXPLAIN = (
    "Each point is a separate plan: the cheapest found within a limit on {other}. The "
    "line below a point reaches down to its proven bound: no plan within that limit "
    "can cost less. Points beaten on both goals are left out. The knee is the point "
    "farthest below the straight line between the two ends, with both goals on the "
    "same scale: beyond it, a little more costs a lot. It is a hint, not an optimum."
)
CAUTION = (
    "Planning figures are not permits. Collecting more fish waste means handling more "
    "material that spoils within hours: cover it on arrival, clean the trucks, drain "
    "the pads. Local codes and licensed practice decide."
)


def round_ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round values between two ends."""
    span = (high - low) or max(1.0, abs(high))
    power = 10.0 ** np.floor(np.log10(span / most))
    step = next(k * power for k in (1, 2, 2.5, 5, 10) if k * power * most >= span)
    first = np.ceil(low / step) * step
    return [float(x) for x in np.arange(first, high + step * 1e-9, step)]


def frontier_chart(points: Sequence[Point], against: Against, currency: str) -> Markup:
    """Draw cost over the other goal, bounds below, the knee ringed."""
    _, axis, _ = WORDS[against]
    scale = 1e-3 if against == "co2e" else 1.0
    xs = [scale * abs(p.other(against)) for p in points]
    costs, bounds = [p.cost for p in points], [p.bound for p in points]
    unit = _unit(points, plain(currency))
    x0, x1 = min(xs), max(xs)
    y0, y1 = min(bounds), max(costs)
    pad_x, pad_y = 0.04 * ((x1 - x0) or 1.0), 0.06 * ((y1 - y0) or abs(y1) or 1.0)
    x0, x1, y0, y1 = x0 - pad_x, x1 + pad_x, y0 - pad_y, y1 + pad_y
    base = HEIGHT - BOTTOM

    def x(value: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (value - x0) / (x1 - x0)

    def y(value: float) -> float:
        return base - (base - TOP) * (value - y0) / (y1 - y0)

    parts = []
    for tick in round_ticks(y0, y1):
        parts.append(
            f'<path d="M{LEFT},{y(tick):.1f} H{WIDTH - RIGHT}" stroke="{LINE}"/>'
            f'<text x="{LEFT - 6}" y="{y(tick) + 4:.1f}" text-anchor="end">'
            f"{unit.text(tick)}</text>"
        )
    marks = sorted(set(xs)) if against == "yards" else round_ticks(x0, x1)
    for tick in marks:
        parts.append(
            f'<path d="M{x(tick):.1f},{base} v5" stroke="{INK}"/>'
            f'<text x="{x(tick):.1f}" y="{base + 18}" text-anchor="middle">'
            f"{amount(tick)}</text>"
        )
    line = " L".join(f"{x(a):.1f},{y(c):.1f}" for a, c in zip(xs, costs, strict=True))
    parts.append(f'<path d="M{LEFT},{base} H{WIDTH - RIGHT}" stroke="{INK}"/>')
    parts.append(
        f'<path d="M{line}" fill="none" stroke="{MOSS}" stroke-width="1.6" '
        'stroke-dasharray="4 3"/>'
    )
    best = knee(points, against)
    for n, (a, c, b) in enumerate(zip(xs, costs, bounds, strict=True)):
        parts.append(
            f'<path d="M{x(a):.1f},{y(c):.1f} V{y(b):.1f} m-4,0 h8" stroke="{SOFT}"/>'
        )
        if n == best:
            parts.append(
                f'<circle cx="{x(a):.1f}" cy="{y(c):.1f}" r="9" fill="{STRAW}" '
                f'stroke="{INK}"/><text x="{x(a) + 13:.1f}" y="{y(c) + 15:.1f}" '
                'font-weight="650">knee</text>'
            )
        parts.append(
            f'<circle cx="{x(a):.1f}" cy="{y(c):.1f}" r="4" fill="{MOSS}">'
            f"<title>{net_text(c, unit)}</title></circle>"
        )
    below = "; below zero a surplus"
    head = Markup(
        '<svg class="chart" role="img" aria-labelledby="f-t f-d" '
        'viewBox="0 0 {w} {h}" font-size="12"><title id="f-t">Cost against {o}</title>'
        '<desc id="f-d">{d}</desc><text x="4" y="14">{c}</text>'
        '<text x="{r}" y="{b}" text-anchor="end">{a}</text>'
    ).format(
        w=WIDTH,
        h=HEIGHT,
        o=WORDS[against][0],
        d=f"{len(points)} plans, from {net_text(costs[0], unit)} to "
        f"{net_text(costs[-1], unit)}",
        c=f"net cost [{unit.name}/yr]" + below * any(b < 0 for b in bounds),
        r=WIDTH - RIGHT,
        b=HEIGHT - 8,
        a=axis,
    )
    return head + Markup("".join(parts)) + Markup("</svg>")


def _unit(points: Sequence[Point], currency: str) -> MoneyUnit:
    """Choose what the page counts money in."""
    return money_unit(currency, (v for p in points for v in (p.cost, p.bound)))


def knee_words(points: Sequence[Point], against: Against, currency: str) -> str:
    """Say in a sentence where the frontier runs and where its knee is."""
    first, last = points[0], points[-1]
    money = _unit(points, currency)
    unit = UNITS[against]
    digits = 1 if against == "fairness" else 0
    if len(points) == 1:
        return (
            f"The cheapest plan, {net_said(first.cost, money)} a year, is also the "
            f"best for {WORDS[against][0]}: there is nothing to trade off."
        )
    ends = [amount(abs(p.other(against)), digits) for p in (first, last)]
    text = (
        f"From {net_said(first.cost, money)} a year with {ends[0]} {unit} to "
        f"{net_text(last.cost, money)} with {ends[1]}: {len(points)} plans, the widest "
        f"proven gap {amount(100 * max(p.gap for p in points), 2)} %."
    )
    at = knee(points, against)
    if at is None:
        return text + " There is no knee."
    bend = points[at]
    here = amount(abs(bend.other(against)), digits)
    return text + f" The knee is at {net_text(bend.cost, money)} with {here} {unit}."


def frontier_html(
    points: Sequence[Point],
    against: Against,
    name: str,
    currency: str,
    table: pd.DataFrame,
) -> str:
    """Write the page: one file, no scripts, nothing loaded."""
    style = style_of_report()
    unit = _unit(points, currency)
    heads = Markup("").join(
        Markup('<th scope="col"{}>{}</th>').format(
            Markup("") if head == "which yards" else Markup(' class="n"'),
            head_text(str(head), unit),
        )
        for head in table.columns
    )
    rows = Markup("").join(
        Markup("<tr>{}</tr>").format(
            Markup("").join(_cell(str(h), v, unit) for h, v in row.items())
        )
        for row in table.to_dict("records")
    )
    other = WORDS[against][0]
    return (
        Markup(
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
            '<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
            "<title>{title}: cost against {other}</title>\n<style>{style}</style>\n"
            '</head>\n<body>\n<header class="head">\n<h1>{name}</h1>\n'
            "<p>Cost against {other}</p>\n</header>\n<main>\n<section>\n"
            '<h2>The frontier</h2>\n<p class="answer">{words}</p>\n<figure>\n'
            "<figcaption>Least cost found, by {axis}</figcaption>\n{chart}\n"
            '</figure>\n<p class="note">{explain}</p>\n'
            '<div class="scroll" role="group" tabindex="0" aria-label="Plans">'
            '<table class="wide"><caption>The plans, cheapest first</caption>'
            "<thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table></div>\n"
            "</section>\n</main>\n<footer><p>{caution}</p></footer>\n</body>\n</html>\n"
        )
        .format(
            policy=policy([style]),
            title=plain(name),
            name=bdi(name),
            style=Markup(style),
            words=knee_words(points, against, plain(currency)),
            axis=WORDS[against][1],
            chart=frontier_chart(points, against, currency),
            explain=EXPLAIN.format(other=other),
            heads=heads,
            rows=rows,
            caution=" ".join(
                text
                for text in (ALL_ESTIMATED, CAUTIONS.get(against, ""), CAUTION)
                if text
            ),
            other=other,
        )
        .__str__()
    )


def _cell(head: str, value: object, unit: MoneyUnit) -> Markup:
    if isinstance(value, bool | np.bool_):
        return Markup('<td class="n">{}</td>').format("knee" if value else "")
    if isinstance(value, str):
        return Markup("<td>{}</td>").format(bdi(value) if len(value) < 60 else value)
    digits = 2 if "%" in head or "one more" in head else 0
    return Markup('<td class="n">{}</td>').format(cell_text(head, value, unit, digits))


def write_frontier(
    points: Sequence[Point],
    against: Against,
    name: str,
    currency: str,
    names: dict[str, str],
    out: Path,
) -> None:
    """Write frontier.html, frontier.xlsx and frontier.csv into a folder."""
    out.mkdir(parents=True, exist_ok=True)
    table = frontier_rows(points, against, currency, names)
    page = frontier_html(points, against, name, currency, table)
    (out / "frontier.html").write_text(page, encoding="utf-8", newline="\n")
    write_csv(table, out / "frontier.csv")
    write_tables(
        {"frontier": table},
        out / "frontier.xlsx",
        name,
        "Cost against another goal: plans that no other beats on both",
        {"frontier": "What one more unit of the other goal costs, plan by plan"},
    )


def show_frontier(
    points: Sequence[Point],
    against: Against,
    currency: str,
    names: dict[str, str],
    console: Console | None = None,
) -> None:
    """Print the frontier."""
    console = text_console(console, wider=40)
    table = frontier_rows(points, against, clean(currency), names)
    unit = _unit(points, clean(currency))
    table = table.drop(columns="which yards")  # too wide for a terminal
    grid = Grid(box=None, pad_edge=False)
    for head in table.columns:
        grid.add_column(head_text(clean(head), unit), justify="right")
    for row in table.to_dict("records"):
        grid.add_row(*(_plain(clean(h), v, unit) for h, v in row.items()))
    print_table(console, grid)
    console.print(knee_words(points, against, clean(currency)), highlight=False)
    console.print(ALL_ESTIMATED)


def _plain(head: str, value: object, unit: MoneyUnit) -> str:
    if isinstance(value, bool | np.bool_):
        return "knee" if value else ""
    if isinstance(value, str):
        return clean(value)
    digits = 2 if "%" in head or "one more" in head else 0
    return cell_text(head, value, unit, digits)
