"""Report, feedstock through the year: what is collected, left and stored."""

from __future__ import annotations

import pandas as pd

from maps.report.axes import extremes
from maps.report.charts import PAPER, Series, bars, key
from maps.report.grids import fill_grid
from maps.report.origins import quoted
from maps.report.pieces import Chart, Piece, Section, Table, Words, plain, sum_table
from maps.report.plan_facts import Facts, base_material, by_period, collected_by_period
from maps.report.sections.yards import catchment_words
from maps.shared import DISPOSAL, amount, apportion, names, small_load_words, spread
from maps.tables import store_fill


def section(facts: Facts) -> Section:
    """Write the section on what is collected, left and stored."""
    small = [quoted("assumptions", plain(x)) for x in small_load_words(facts.result)]
    pieces: list[Piece] = [
        Words([catchment_words(facts), *small]),
        _year(facts),
        *_left(facts),
        *_collected(facts),
        *_stock(facts),
    ]
    return Section("collection", "Collection and stock", pieces)


def _year(facts: Facts) -> Table:
    """Show what becomes of each feedstock over the year."""
    year, digits = facts.year, facts.digits
    lost = bool(year["lost"].any())
    columns = ["collected", "left", *(["lost"] if lost else [])]
    heads = {
        "collected": "Collected",
        "left": "Left uncollected",
        "lost": "Lost while waiting at the source",
    }
    rows = []
    for code, row in year.iterrows():
        arises = row[columns].sum()
        part = row["collected"] / arises * 100 if arises else float("nan")
        rows.append(
            (
                plain(facts.material_name[str(code)]),
                amount(part),
                *(amount(row[name], digits) for name in columns),
                amount(arises, digits),
            )
        )
    sums = year[columns].sum()
    part = sums["collected"] / sums.sum() * 100 if sums.sum() else float("nan")
    return Table(
        "What becomes of each feedstock [t/yr]",
        [
            "Feedstock",
            "Share collected [%]",
            *(heads[name] for name in columns),
            "Supply",
        ],
        rows,
        (
            "Total",
            amount(part),
            *(amount(value, digits) for value in sums),
            amount(sums.sum(), digits),
        ),
        words=1,
        rows_of=["supply"],
    )


def _left(facts: Facts) -> list[Piece]:
    """Show what happens, as today, to what is not collected."""
    if not facts.year["left"].any():
        return [Words(["Nothing is left uncollected."])]
    sources = facts.result.scenario.tables["sources"].set_index("source")
    left = facts.result.plan.uncollected
    left = left.assign(
        material=left["source"].map(sources["material"]),
        disposal=left["source"].map(sources["disposal"]),
    )
    exact = left.pivot_table(
        index="disposal", columns="material", values="tonnes", aggfunc="sum"
    )
    exact = exact.reindex(columns=facts.materials).fillna(0.0)
    rounded = spread(exact, facts.digits, facts.year["left"])
    rounded = rounded.loc[:, rounded.sum() > 0]
    rounded.columns = pd.Index([facts.head(str(c)) for c in rounded.columns])
    labels = [DISPOSAL.get(str(code), str(code)) for code in rounded.index]
    return [
        sum_table(
            "What happens to uncollected feedstock, as today [t/yr]",
            "It is",
            labels,
            rounded,
            facts.digits,
            total="All",
            rows_of=["uncollected"],
        )
    ]


def _series(facts: Facts, exact: pd.DataFrame) -> list[Series]:
    """One series a feedstock, in its colour and texture."""
    return [
        Series(
            plain(facts.material_name[str(code)]),
            exact[code].tolist(),
            facts.colour[str(code)],
            facts.look[str(code)],
        )
        for code in exact.columns
    ]


def _collected(facts: Facts) -> list[Piece]:
    """Chart and table of what is collected and left in every period."""
    exact = collected_by_period(facts)
    left = facts.result.plan.uncollected.groupby("period")["tonnes"].sum()
    left = left.reindex(facts.periods).fillna(0.0)
    rounded = spread(exact, facts.digits, facts.year["collected"])
    missing = apportion(left, facts.digits, facts.year["left"].sum())
    series = [
        *_series(facts, exact.loc[:, exact.sum() > 0]),
        Series("Left uncollected", left.tolist(), PAPER, -1),
    ]
    title = f"Feedstock collected and left by {facts.word}"
    taken = exact.sum(axis=1).tolist()
    drawing = bars(
        "collected",
        title,
        f"Collected: {extremes(taken, facts.months, 't')}. "
        f"Left uncollected: {extremes(left.tolist(), facts.months, 't')}.",
        facts.months,
        series,
        "t",
    )
    rows = []
    for number, period in enumerate(facts.periods):
        parts = rounded.loc[period]
        rows.append(
            (
                plain(facts.period_name[period]),
                *(amount(value, facts.digits) for value in parts),
                amount(parts.sum(), facts.digits),
                amount(missing[number], facts.digits),
            )
        )
    sums = rounded.sum()
    heads = [facts.head(str(c)) for c in rounded.columns]
    used = ["hauls", "uncollected"]
    table = Table(
        f"{title} [t]",
        [facts.word.capitalize(), *heads, "All collected", "Left uncollected"],
        rows,
        (
            "Year",
            *(amount(value, facts.digits) for value in sums),
            amount(sums.sum(), facts.digits),
            amount(missing.sum(), facts.digits),
        ),
        rows_of=used,
    )
    shares = key("collected", series)
    return [Chart(f"{title} [t]", drawing, shares, rows_of=used), table]


def _stock(facts: Facts) -> list[Piece]:
    """Chart and table of feedstock that waits, at sources and in yards."""
    result = facts.result
    sources = result.scenario.tables["sources"].set_index("source")["material"]
    held = result.plan.held.assign(
        material=result.plan.held["source"].map(sources), where="sources"
    )
    stock = result.plan.stock.assign(
        material=base_material(result.plan.stock["feedstock"])
    )
    exact = by_period(facts, stock, "material", "tonnes")
    exact = exact.reindex(columns=facts.materials).fillna(0.0)
    exact = exact.loc[:, exact.sum() > 1e-6]
    waiting = held.groupby("period")["tonnes"].sum().reindex(facts.periods).fillna(0.0)
    if exact.empty and not waiting.sum() > 1e-6:
        return [
            Words([f"No feedstock is carried over from one {facts.word} to the next."])
        ]
    title = f"Feedstock in store at the end of every {facts.word}"
    series = _series(facts, exact)
    if waiting.sum() > 1e-6:
        series.append(Series("Held at the sources", waiting.tolist(), PAPER, -1))
    whole = (exact.sum(axis=1) + waiting).tolist()
    drawing = bars(
        "stock",
        title,
        f"In total: {extremes(whole, facts.months, 't')}.",
        facts.months,
        series,
        "t",
    )
    chart = Chart(
        f"{title} [t]",
        drawing,
        key("stock", series),
        rows_of=["stock"],
    )
    return [chart, *_stores(facts)]


def _stores(facts: Facts) -> list[Piece]:
    """Draw how full the stores of feedstock are; nothing where none is used."""
    fill = store_fill(facts.result)
    if not fill.to_numpy().any():
        return []
    label = names(facts.result, "yard")
    rows = [(plain(label[str(c)]), fill[c].tolist()) for c in fill.columns]
    title = f"How full the stores of feedstock are when a {facts.word} ends"
    said = "Share of each store; the figures are in the cells."
    drawing = fill_grid("stores", title, said, facts.months, rows)
    circle = (
        "The year repeats: what is in store at its end is there at its start. Tonnes "
        "by yard and feedstock are in plan.xlsx, sheet stock."
    )
    chart = Chart(f"{title} [% of the room]", drawing, rows_of=["stock"])
    return [chart, Words([circle])]
