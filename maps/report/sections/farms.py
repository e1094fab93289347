"""Report, farms: what the compost does for each market, and what it does not."""

from __future__ import annotations

import pandas as pd

from logistics.accounts import nutrient_coverage
from logistics.scenario import in_list, records, totals
from maps.report.origins import stated, traced
from maps.report.pieces import Piece, Section, Table, Words, bdi, plain
from maps.report.plan_facts import Facts
from maps.shared import amount, apportion, names


def section(facts: Facts) -> Section:
    """Write what the compost replaces at each market."""
    table = nutrient_coverage(facts.result)
    if table.empty:
        text = (
            "We cannot say how much fertiliser is replaced: no market gives both "
            "hectares and a crop listed in the table crops."
        )
        return Section("farms", "What farms gain", [Words([text])])
    pieces: list[Piece] = [
        Words([_in_short(facts, table)]),
        _markets(facts, table),
        _notes(facts),
    ]
    return Section("farms", "What farms gain", pieces)


def _in_short(facts: Facts, table: pd.DataFrame) -> str:
    """Say what fertiliser is replaced, its value, and what the compost is sold for."""
    parts = [
        f"{traced(facts, f'replaced/{code}', amount(kg / 1000))} t of {plain(name)}"
        for code, name, kg in totals(table, ["nutrient", "fertiliser"], "saved_kg")
    ]
    first, later = table["value"].sum(), table["value_later"].sum()
    lines = facts.result.ledger
    paid = -float(lines.loc[lines["line"] == "sale", "amount"].sum())
    sales = traced(facts, "sales", facts.unit.text(paid))
    saved = traced(facts, "saved_later", facts.unit.text(later))
    price = (
        f" Markets pay {sales} for the compost: more than it saves in the first year. "
        "Other benefits to soil and yields are not counted here."
        if paid > first
        else ""
    )
    return (
        f"In its first year the compost replaces {in_list(parts)}, worth "
        f"{traced(facts, 'saved_first', facts.unit.said(first))}; applied every year, "
        f"it saves {saved} a year.{price}"
    )


def _markets(facts: Facts, table: pd.DataFrame) -> Table:
    """List the markets: dressing, need covered, fertiliser not bought, value."""
    label = names(facts.result, "market")
    value = table.groupby("market", sort=False)["value"].sum()
    whole = apportion(value, min(0, facts.money_digits))
    of = {key: table[table["nutrient"] == key].reset_index(drop=True) for key in KEYS}
    kg = [apportion(of[key]["saved_kg"], 0) for key in KEYS]
    first = list(value.sort_values(ascending=False, kind="stable").index[:MOST_MARKETS])
    rows = [
        (
            bdi(label[str(row["market"])]),
            plain(row["crop"]),
            amount(row["ha"]),
            amount(row["rate_t_ha"], 1),
            *(amount(of[key]["share"][at] * 100) for key in KEYS),
            *(amount(column[at]) for column in kg),
            facts.unit.text(whole[at]),
        )
        for at, row in enumerate(records(of["n"]))
        if row["market"] in first
    ]
    rest = [at for at, row in enumerate(records(of["n"])) if row["market"] not in first]
    if rest:
        rows.append(
            (
                f"{len(rest):,} other markets",
                "",
                amount(of["n"]["ha"].iloc[rest].sum()),
                *[""] * 4,
                *(amount(column[rest].sum()) for column in kg),
                facts.unit.text(whole[rest].sum()),
            )
        )
    sold = table.drop_duplicates("nutrient").set_index("nutrient")["fertiliser"]
    return Table(
        "Need covered and fertiliser not bought, first year, by market",
        [
            "Market",
            "Crop",
            "Area [ha]",
            "Compost [t/ha]",
            *(f"{KEYS[key]} covered [%]" for key in KEYS),
            *(f"For {KEYS[key]} [kg]" for key in KEYS),
            f"Value [{facts.unit.name}]",
        ],
        rows,
        (
            "Total",
            *[""] * 6,
            *(amount(column.sum()) for column in kg),
            facts.unit.text(whole.sum()),
        ),
        words=2,
        kind="wide",
        note="Not bought: "
        + in_list(f"{plain(sold[key])} for {KEYS[key]}" for key in KEYS)
        + ". Every market is in plan.xlsx, sheet coverage.",
        rows_of=["coverage"],
    )


MOST_MARKETS = 12
KEYS = {"n": "N", "p2o5": "P₂O₅", "k2o": "K₂O"}


def _notes(facts: Facts) -> Words:
    """Say what the compost does not do, and where the figures come from."""
    moisture = facts.result.scenario.settings.process.product_moisture
    wet = stated(facts, "process.product_moisture_pct", moisture * 100)
    return Words(
        [
            "Most of the nitrogen stays in the soil: farms must still buy nitrogen. "
            "The compost does not act as fast as mineral fertiliser, and its content "
            "should be measured before a farm buys less.",
            "Needs come from the table crops, prices from the table fertilisers; "
            f"defaults are not local. Compost is counted at {wet} % moisture and its "
            "yard's mean content.",
        ]
    )
