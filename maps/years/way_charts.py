"""Pictures of a way: yards by year, money against its limit, tonnes by year."""

from __future__ import annotations

from itertools import takewhile
from typing import TYPE_CHECKING

from markupsafe import Markup

from maps.report import INK, LINE, PAPER, SOFT, Chart, Series, bars, plain, shorten
from maps.report import key as chart_key
from maps.shared import count

if TYPE_CHECKING:
    from maps.years.way_facts import Stand, WayFacts

WIDTH, TYPE, ROW, TOP, LABELS, LONGEST = 640, 12, 30, 30, 150, 22
WORKS, BARE = "#cfdcc6", "#f2efe3"
SPENT, LIMIT = "#b5690b", "#2a211a"
YARDS = ("#2f5d3a", "#b5690b", "#3e6c8f", "#8a4a6b", "#6b6b2f", "#7a5a3a")
MOST_YARDS = 8
"""Yards told apart in the chart of tonnes."""
SIGN = {"opens": "▲", "enlarged": "+", "closes": "×"}


def timeline(facts: WayFacts) -> Chart:
    """Draw each yard that ever stands as a bar over the years, its steps as signs."""
    years = facts.way.years
    slot = (WIDTH - LABELS - 6) / len(years)
    base = TOP + ROW * max(1, len(facts.stands))
    parts = [
        f'<path d="M{LABELS + slot * k:.1f},{TOP - 6} V{base}" stroke="{LINE}"/>'
        for k in range(len(years) + 1)
    ]
    step = -(-len(years) * 38 // (WIDTH - LABELS))
    parts += [
        f'<text x="{LABELS + slot * (k + 0.5):.1f}" y="{TOP - 12}" '
        f'text-anchor="middle">{year}</text>'
        for k, year in enumerate(years)
        if k % step == 0
    ]
    label = Markup('<text x="{}" y="{}" text-anchor="end">{}</text>')
    for row, (yard, stands) in enumerate(facts.stands.items()):
        y = TOP + ROW * row
        name = shorten(plain(facts.yard.get(yard, yard)), LONGEST)
        parts.append(label.format(LABELS - 8, y + 19, name))
        sizes = [stands[year].size if year in stands else "" for year in years]
        places = [LABELS + slot * k for k in range(len(years))]
        parts += [
            _box(stands[year], x, y, slot)
            for year, x in zip(years, places, strict=True)
            if year in stands
        ]
        for k, size in enumerate(sizes):
            if size and (not k or sizes[k - 1] != size):
                alike = len(list(takewhile(size.__eq__, sizes[k:])))
                said = facts.size.get(size, size)
                parts.append(_named(said, places[k], y, slot * alike))
    parts += _signs(facts, slot)
    open_last = sum(one.get(years[-1]) is not None for one in facts.stands.values())
    said = f"{count(len(facts.stands), 'yard')}, {open_last} standing in {years[-1]}"
    head = Markup(
        '<svg class="chart" role="img" aria-labelledby="way-t way-d" '
        'viewBox="0 0 {} {}" font-size="{}"><title id="way-t">Yards by year</title>'
        '<desc id="way-d">{}</desc>'
    ).format(WIDTH, base + 6, TYPE, said)
    drawing = head + Markup("".join(parts)) + Markup("</svg>")
    return Chart("Yards by year, and their sizes", drawing, _key(), rows_of=["yards"])


def _box(stand: Stand, x: float, y: float, slot: float) -> str:
    """One year of a yard: filled where it works, dashed where it stands idle."""
    dash = "" if stand.works else ' stroke-dasharray="4 3"'
    fill = WORKS if stand.works else BARE
    return (
        f'<rect x="{x:.1f}" y="{y + 4}" width="{slot:.1f}" height="{ROW - 8}" '
        f'fill="{fill}" stroke="{INK if stand.works else SOFT}" stroke-width="0.7"'
        f"{dash}/>"
    )


def _named(size: str, x: float, y: float, room: float) -> Markup:
    """Write the size where it begins, as far as there is room."""
    text = shorten(plain(size), max(3, int(room / 7) - 2))
    place = Markup('<text x="{}" y="{}">{}</text>')
    return place.format(f"{x + 17:.1f}", y + 19, text)


def _signs(facts: WayFacts, slot: float) -> list[str]:
    """Put a sign where a yard opens, grows or closes."""
    rows = {yard: row for row, yard in enumerate(facts.stands)}
    table, found = facts.way.steps, list[str]()
    for year, yard, step in table[["year", "yard", "step"]].itertuples(index=False):
        if step in SIGN and yard in rows:
            x = LABELS + slot * facts.way.years.index(int(year)) + 3
            y = TOP + ROW * rows[yard] + 19
            found.append(f'<text x="{x:.1f}" y="{y}">{SIGN[step]}</text>')
    return found


def _key() -> Markup:
    """Key to the signs of the timeline."""
    box = '<rect x="1" y="1" width="20" height="12" fill="{}" stroke="{}"{}/>'
    sign = '<text x="5" y="12" font-size="13">{}</text>'
    items = [
        (box.format(WORKS, INK, ""), "works"),
        (box.format(BARE, SOFT, ' stroke-dasharray="4 3"'), "stands idle"),
        *((sign.format(mark), step) for step, mark in SIGN.items()),
    ]
    entry = Markup(
        '<li><svg aria-hidden="true" viewBox="0 0 22 14" width="22" height="14">{}'
        "</svg> {}</li>"
    )
    rows = Markup("").join(entry.format(Markup(mark), said) for mark, said in items)
    return Markup('<ul class="keys">{}</ul>').format(rows)


def capital_chart(facts: WayFacts) -> Chart:
    """Draw what is spent on yards in each year under what there is for it."""
    cash, unit = facts.cash, facts.unit
    spent = Series("spent on yards", (cash["capital"] / unit.factor).tolist(), SPENT, 1)
    brought = cash["carried"].shift(fill_value=0.0)
    limit = (cash["capital_limit"] + brought) / unit.factor
    lines = []
    if limit.notna().all():
        name = "money there is, with what is carried over"
        lines = [Series(name, limit.tolist(), LIMIT)]
    drawing = bars(
        *("capital", "Money for yards by year"),
        f"{unit.text(cash['capital'].sum())} {unit.name} over "
        f"{count(len(cash), 'year')}",
        [str(year) for year in facts.way.years],
        [spent],
        unit.name,
        lines=lines,
    )
    caption = "Money for yards by year"
    return Chart(
        caption, drawing, chart_key("capital", [spent], lines), rows_of=["money"]
    )


def trucks_chart(facts: WayFacts) -> Chart:
    """Draw the trucks busy when most are, own and hired, under those owned."""
    table = facts.trucks
    busy = [
        Series("own trucks busy", table["own"].tolist(), YARDS[0], 0),
        Series("hired trucks busy", table["hired"].tolist(), YARDS[1], 1),
    ]
    lines = [Series("own trucks", table["owned"].astype(float).tolist(), INK)]
    caption = "Trucks by year, in the period that keeps most busy [trucks]"
    drawing = bars(
        *("trucks", "Trucks by year"),
        "Trucks busy in the busiest period of each year, and those owned",
        [str(year) for year in facts.way.years],
        busy,
        "",
        lines=lines,
    )
    key = chart_key("trucks", busy, lines)
    return Chart(caption, drawing, key, rows_of=["trucks"])


def tonnes_chart(facts: WayFacts) -> Chart:
    """Draw what the yards take in each year under all that arises."""
    table, years = facts.by_yard, facts.way.years
    order = table.sum().sort_values(ascending=False, kind="stable").index.tolist()
    own, rest = order[:MOST_YARDS], order[MOST_YARDS:]
    stacked = [
        Series(
            plain(facts.yard.get(yard, yard)),
            table[yard].tolist(),
            YARDS[place % len(YARDS)],
            place,
        )
        for place, yard in enumerate(own)
    ]
    if rest:
        name = count(len(rest), "other yard")
        stacked.append(Series(name, table[rest].sum(axis=1).tolist(), PAPER, -1))
    lines = [Series("all that arises", facts.tonnes["arises"].tolist(), INK)]
    drawing = bars(
        *("tonnes", "Tonnes collected by year"),
        "Feedstock that each yard takes in, and all that arises",
        [str(year) for year in years],
        stacked,
        "t/yr",
        lines=lines,
    )
    caption = "Feedstock collected by year, by yard"
    return Chart(
        caption, drawing, chart_key("tonnes", stacked, lines), rows_of=["tonnes"]
    )
