"""Report, the mix of every yard and period: a small chart and a table each."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from maps.report.charts import LOW, SMALL, Series, bars, key
from maps.report.grids import fill_grid
from maps.report.origins import quoted
from maps.report.pieces import Chart, Group, Table, bdi, plain
from maps.report.plan_facts import Facts, base_material, by_period
from maps.shared import amount, apportion, feedstock_name, spread, window_words
from maps.tables import pad_fill

MOST_BESIDE = 5
"""Feedstocks of a mix whose table has room beside its chart."""


def window(facts: Facts) -> str:
    """Say what every mix had to keep."""
    kept = window_words(facts.result)
    return (
        f"{quoted('assumptions', kept)} The charts show what goes into windrows, in "
        "tonnes as received; this is less than the intake where feedstock loses mass "
        "in store."
    )


def mixes(facts: Facts, used: list[str], places: list[str]) -> list[Group]:
    """Draw and list the mixes of every yard."""
    charges = facts.result.plan.charges
    charges = charges.assign(base=base_material(charges["feedstock"]))
    label = feedstock_name(facts.result, pd.Series(facts.materials))
    order = dict(zip(facts.materials, label, strict=True))
    found = []
    for number, (code, place) in enumerate(zip(used, places, strict=False)):
        own = charges[charges["yard"] == code]
        exact = by_period(facts, own, "base", "tonnes")
        exact = exact.reindex(columns=facts.materials).fillna(0.0)
        exact = exact.loc[:, exact.sum() > 0]
        series = [
            Series(
                plain(order[str(c)]),
                exact[c].tolist(),
                facts.colour[str(c)],
                facts.look[str(c)],
            )
            for c in exact.columns
        ]
        title = f"What goes into windrows at {place} by {facts.word}"
        drawing = bars(
            f"mix{number}",
            title,
            "Stacked by feedstock; the figures are in the table beside it.",
            facts.months,
            series,
            "t",
            frame=SMALL if len(series) <= MOST_BESIDE else LOW,
        )
        shares = key(f"mix{number}", series)
        chart = Chart("Into windrows", drawing, shares, rows_of=["mixes"])
        pieces: list[Chart | Table] = [chart, _mix_table(facts, code, place, exact)]
        beside = len(exact.columns) <= MOST_BESIDE
        found.append(Group(place, pieces, "pair" if beside else "stack"))
    return found


def pads(facts: Facts, used: list[str], places: list[str]) -> Chart:
    """Draw how full every pad is in every period."""
    fill = pad_fill(facts.result)[used]
    rows = [(p, fill[c].tolist()) for c, p in zip(used, places, strict=True)]
    title = f"How full the pads get, by {facts.word}"
    said = "Share of the room on each pad; the figures are in the cells."
    drawing = fill_grid("pads", title, said, facts.months, rows)
    caption = f"{title} [% of the room on the pad]"
    return Chart(caption, drawing, rows_of=["mixes"])


def _ratios(cn: object, available: object) -> str:
    """Total C:N with the available one in brackets; a dash without a mix."""
    both = amount(cn, 1), amount(available, 1)
    return both[0] if both[0] == both[1] else f"{both[0]} ({both[1]})"


def _mix_table(facts: Facts, code: str, place: str, exact: pd.DataFrame) -> Table:
    """List the mix of every period at one yard."""
    digits = facts.digits
    rounded = spread(exact, digits)
    mixes = facts.result.mixes
    own = mixes[mixes["yard"] == code].set_index("period").reindex(facts.periods)
    water = apportion(own["water_t"], digits)
    ratios = own[["cn", "cn_available"]].astype(float)
    rows = []
    for number, period in enumerate(facts.periods):
        row, parts = own.loc[period], rounded.loc[period]
        rows.append(
            (
                plain(facts.period_name[period]),
                *(amount(value, digits) for value in parts),
                amount(parts.sum(), digits),
                amount(water[number], digits),
                _ratios(ratios["cn"].iloc[number], ratios["cn_available"].iloc[number]),
                amount(row["moisture"] * 100),
            )
        )
    sums = rounded.sum()
    heads = [f"{facts.head(str(code))} [t]" for code in rounded.columns]
    return Table(
        Markup("Mixes at {}").format(bdi(place)),
        [
            facts.word.capitalize(),
            *heads,
            "All [t]",
            "Water at mixing [m³]",
            "C:N (avail\u00adable)",
            "Moisture [%]",
        ],
        rows,
        (
            "Year",
            *(amount(value, digits) for value in sums),
            amount(sums.sum(), digits),
            amount(water.sum(), digits),
            "",
            "",
        ),
        kind="wide",
        rows_of=["mixes"],
    )
