"""Report, compost: made against demand, stored, delivered and sold."""

from __future__ import annotations

import numpy as np
import pandas as pd

from logistics.scenario import records, rows_by
from maps.report.axes import extremes
from maps.report.charts import INK, PAPER, Series, bars, key
from maps.report.grids import fill_grid
from maps.report.origins import stated
from maps.report.pieces import Chart, Piece, Section, Table, Words, plain
from maps.report.plan_facts import Facts
from maps.shared import COMPOST_COLOUR, DASH, amount, apportion, names
from maps.tables import compost_fill, demand_met

MOST_MARKETS = 14


def section(facts: Facts) -> Section:
    """Write the section on compost against demand, and on sales."""
    if not len(facts.result.plan.compost):
        return Section(
            "compost", "Compost and demand", [Words(["No compost is made."])]
        )
    pieces = [*_months(facts), _groups(facts), *_markets(facts)]
    return Section("compost", "Compost and demand", pieces)


def _months(facts: Facts) -> list[Piece]:
    """Chart and table of compost made, asked for, delivered and stored."""
    plan, digits = facts.result.plan, facts.digits
    year = plan.compost.groupby("period")[["made_t", "stock_t", "leftover_t"]].sum()
    year = year.reindex(facts.periods).fillna(0.0)
    asked = demand_met(facts.result).groupby("period")
    sent = asked["tonnes"].sum().reindex(facts.periods).fillna(0.0)
    wanted = asked["demand"].sum().reindex(facts.periods).fillna(0.0)
    unmet = (wanted - sent).clip(lower=0)
    unmet = unmet.where(unmet > 1e-6, 0.0)
    series = [
        Series("Delivered", sent.tolist(), COMPOST_COLOUR, 0),
        Series("Asked for, not delivered", unmet.tolist(), PAPER, -1),
    ]
    lines = [
        Series("Ready", year["made_t"].tolist(), "#B5690B"),
        Series("In store at the end", year["stock_t"].tolist(), INK),
    ]
    title = f"Compost ready, delivered and in store by {facts.word}"
    drawing = bars(
        "compost",
        title,
        f"Asked for: {extremes(wanted.tolist(), facts.months, 't')}. "
        f"Ready: {extremes(year['made_t'].tolist(), facts.months, 't')}.",
        facts.months,
        series,
        "t",
        lines=lines,
    )
    spare = bool((year["leftover_t"] > 1e-6).any())
    columns = {
        "Ready": apportion(year["made_t"], digits, facts.made),
        "In store at the end": apportion(year["stock_t"], digits),
        **({"Left over": apportion(year["leftover_t"], digits)} if spare else {}),
        "Delivered": apportion(sent, digits, facts.delivered),
        "Asked for, not delivered": apportion(unmet, digits, facts.unmet),
    }
    rows = []
    for number, name in enumerate(facts.months):
        values = [column[number] for column in columns.values()]
        rows.append(
            (
                plain(name),
                *(amount(value, digits) for value in values),
                amount(values[-1] + values[-2], digits),
            )
        )
    sums = {name: float(np.sum(column)) for name, column in columns.items()}
    used = ["compost", "deliveries"]
    table = Table(
        f"{title} [t]",
        [facts.word.capitalize(), *columns, "Asked for"],
        rows,
        (
            "Year",
            *(
                "" if name.startswith("In store") else amount(value, digits)
                for name, value in sums.items()
            ),
            amount(facts.delivered + facts.unmet, digits),
        ),
        note=_ready_note(facts),
        rows_of=used,
    )
    chart = Chart(f"{title} [t]", drawing, key("compost", series, lines), rows_of=used)
    return [chart, table, *_stores(facts)]


def _stores(facts: Facts) -> list[Piece]:
    """Draw how full the stores of compost are; nothing where none is used."""
    fill = compost_fill(facts.result)
    if not fill.to_numpy().any():
        return []
    label = names(facts.result, "yard")
    rows = [(plain(label[str(c)]), fill[c].tolist()) for c in fill.columns]
    title = f"How full the stores of compost are when a {facts.word} ends"
    said = "Share of each store; the figures are in the cells."
    drawing = fill_grid("composts", title, said, facts.months, rows)
    return [Chart(f"{title} [% of the room]", drawing, rows_of=["compost"])]


def _ready_note(facts: Facts) -> str:
    """Say when compost is ready."""
    process = facts.result.scenario.settings.process
    active, curing = process.active_days, process.curing_days
    return (
        f"Compost is ready {stated(facts, 'process.active_days', active)} active and "
        f"{stated(facts, 'process.curing_days', curing)} curing days after its windrow "
        "is built."
    )


def market_table(facts: Facts) -> pd.DataFrame:
    """Exact demand, delivery, income and hauls of every market."""
    result = facts.result
    groups = demand_met(result).groupby("market", sort=False)
    year = groups[["demand", "tonnes"]].sum().reset_index()
    rows = rows_by(result.scenario.tables["markets"], "market")
    lanes = result.lanes[result.lanes["kind"] == "out"]
    t_km = (lanes["tonnes"] * lanes["km"]).groupby(lanes["destination"]).sum()
    ledger = result.ledger
    sold = ledger[ledger["line"] == "sale"].groupby("place")["amount"].sum()
    return year.assign(
        crop=[plain(rows[str(code)]["crop"]) or "other" for code in year["market"]],
        income=-year["market"].map(sold).fillna(0.0),
        t_km=year["market"].map(t_km).fillna(0.0),
        unmet=(year["demand"] - year["tonnes"]).clip(lower=0),
    )


def _sales(facts: Facts, table: pd.DataFrame, labels: list[str], caption: str) -> Table:
    """List deliveries and income; the rows must be the whole of the sales."""
    sent = apportion(table["tonnes"], facts.digits, facts.delivered)
    unmet = table["unmet"].where(table["unmet"] > 1e-6, 0.0)
    missing = apportion(unmet, facts.digits, facts.unmet)
    lines = facts.incomes
    sale = -float(lines.loc[lines["line"] == "sale", "amount"].sum())
    income = apportion(table["income"], facts.money_digits, sale or None)
    rows = []
    for number, row in enumerate(records(table)):
        tonnes = row["tonnes"]
        rows.append(
            (
                labels[number],
                amount(sent[number], facts.digits),
                amount(missing[number], facts.digits),
                amount(sent[number] + missing[number], facts.digits),
                amount(row["t_km"] / tonnes, 1) if tonnes > 1e-6 else DASH,
                facts.unit.each(row["income"] / tonnes) if tonnes > 1e-6 else DASH,
                facts.unit.text(income[number]),
            )
        )
    return Table(
        caption,
        [
            "Group",
            "Delivered [t/yr]",
            "Not delivered [t/yr]",
            "Asked for [t/yr]",
            "Mean haul [km]",
            f"Price [{facts.currency}/t]",
            f"Sales [{facts.unit.name}/yr]",
        ],
        rows,
        (
            "Total",
            amount(sent.sum(), facts.digits),
            amount(missing.sum(), facts.digits),
            amount(sent.sum() + missing.sum(), facts.digits),
            "",
            "",
            facts.unit.text(income.sum()),
        ),
        rows_of=["deliveries", "hauls", "ledger"],
    )


def _groups(facts: Facts) -> Table:
    """List sales by crop."""
    table = market_table(facts)
    crops = table.groupby("crop", sort=False).sum(numeric_only=True).reset_index()
    count = table.groupby("crop", sort=False).size()
    labels = [f"{crop} ({count[crop]:,})" for crop in crops["crop"]]
    return _sales(facts, crops, labels, "Sales by crop (number of groups in brackets)")


def _markets(facts: Facts) -> list[Piece]:
    """List sales by market, the largest; the rest together in the last row."""
    label = names(facts.result, "market")
    table = market_table(facts).sort_values("tonnes", ascending=False, kind="stable")
    labels = [plain(label[str(code)]) for code in table["market"]]
    caption = "Sales by group, largest first"
    rest = len(table) - MOST_MARKETS + 1
    if rest > 1:
        sums = table.iloc[-rest:].sum(numeric_only=True).to_frame().T
        table = pd.concat([table.iloc[:-rest], sums], ignore_index=True)
        labels = [*labels[:-rest], f"{rest} smaller groups"]
    shown = _sales(facts, table, labels, caption)
    return [shown, Words(["Every group is in plan.xlsx, sheet deliveries."])]
