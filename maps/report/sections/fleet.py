"""Report, the trucks: how many of each type when, own or hired, and where."""

from __future__ import annotations

import pandas as pd

from logistics.rounds import fleet_by_period, fleet_by_yard, haulage_by_period
from logistics.scenario import records
from maps.report.pieces import Cell, Piece, Section, Table, Words, plain, shorten
from maps.report.plan_facts import LONGEST_HEAD, Facts
from maps.shared import DASH, amount, names, signed
from maps.tables import saved_by_period

HOURS = (
    "Trucks busy are truck hours divided by the hours one truck works in the {word}, "
    "own trucks at their own yard. In practice it takes more, because days are not all "
    "alike and a last load may need one more truck. The command rounds counts the "
    "trucks of a {word} one by one."
)

DRIVEN = (
    "The estimate chose yards and loads; the rounds of the year were then made, and "
    "every sum of money in this report takes what they cost."
)


def section(facts: Facts) -> Section:
    """Write the section on trucks."""
    table = fleet_by_period(facts.result)
    used = table.groupby("truck")["hours"].transform("sum") > 0
    if not used.any():
        pieces: list[Piece] = [Words(["No trucks are used."])]
    else:
        pieces = [_periods(facts, table[used]), _bases(facts), *_haulage(facts)]
        if len(facts.result.paired_trips):
            pieces.append(_pairs(facts))
    return Section("trucks", "Trucks", pieces)


def _periods(facts: Facts, table: pd.DataFrame) -> Table:
    """Trucks busy in every period, own and hired, by type."""
    label = names(facts.result, "truck")
    types = list(dict.fromkeys(table["truck"]))
    rows: list[list[Cell]] = []
    for period in facts.periods:
        here = {r["truck"]: r for r in records(table[table["period"] == period])}
        cells: list[Cell] = [plain(facts.period_name[period])]
        for code in types:
            row = here[code]
            cells += [amount(row["own_used"], 1), amount(row["hired_used"], 1)]
            cells.append(amount(row["use"] * 100))
        rows.append(cells)
    heads = [
        f"{shorten(plain(label[code]), LONGEST_HEAD)}: {what}"
        for code in types
        for what in ("own busy", "hired busy", "own in use [%]")
    ]
    last: list[Cell] = ["Most"]
    for code in types:
        some = table[table["truck"] == code]
        last += [amount(some["own_used"].max(), 1), amount(some["hired_used"].max(), 1)]
        last.append(amount(some["use"].max() * 100))
    return Table(
        f"Trucks busy by {facts.word} [trucks]",
        [facts.word.capitalize(), *heads],
        [*rows, last],
        kind="wide",
        note=HOURS.format(word=facts.word),
        rows_of=["fleet"],
    )


def _haulage(facts: Facts) -> list[Piece]:
    """Set what each period's rounds cost against the estimate, if they are driven."""
    table = haulage_by_period(facts.result)
    if table.empty:
        return []
    whole = table[["estimate", "driven"]].sum()
    lines = [
        (plain(facts.period_name[row["period"]]), row) for row in records(table)
    ] + [("Year", whole.to_dict())]
    rows: list[list[Cell]] = []
    for name, row in lines:
        off = row["driven"] / row["estimate"] - 1 if row["estimate"] else 0.0
        money = [facts.unit.text(row[side]) for side in ("estimate", "driven")]
        rows.append([name, *money, signed(100 * off)])
    heads = ["Estimate", "As driven", "Rounds above estimate"]
    return [
        Table(
            f"Haulage by {facts.word}: fuel, repair, crew, fares and hire "
            f"[{facts.unit.currency}]",
            [facts.word.capitalize(), *heads],
            rows[:-1],
            foot=rows[-1],
            note=DRIVEN,
            rows_of=["ledger"],
        )
    ]


def _bases(facts: Facts) -> Table:
    """Yards by truck type: mean and most trucks busy, own ones based there."""
    table = fleet_by_yard(facts.result)
    truck, yard = names(facts.result, "truck"), names(facts.result, "yard")
    types = list(dict.fromkeys(table["truck"]))
    rows: list[list[Cell]] = []
    for place in dict.fromkeys(sorted(table["yard"], key=lambda y: yard[y])):
        here = {r["truck"]: r for r in records(table[table["yard"] == place])}
        cells: list[Cell] = [plain(yard[place])]
        for code in types:
            row = here.get(code)
            cells += (
                [DASH, DASH, DASH]
                if row is None
                else [amount(row["busy"], 1), amount(row["most"], 1), str(row["based"])]
            )
        rows.append(cells)
    heads = [
        f"{shorten(plain(truck[code]), LONGEST_HEAD)}: {what}"
        for code in types
        for what in ("mean", "most", "own based")
    ]
    return Table(
        "Trucks busy by yard, and where the own ones are based [trucks]",
        ["Yard", *heads],
        rows,
        kind="wide",
        note="Each own truck is at home at one yard and works for that yard; what it "
        "cannot do there is hired.",
        rows_of=["fleet_bases"],
    )


PAIRS = (
    "On a paired trip a truck brings feedstock to a yard, carries compost on to a "
    "market and drives empty from there to its next load. Both loads must be ready on "
    "the same day: a plan by {word}s cannot promise that, but the rounds of a {word} "
    "can. Savings are against the same trips unpaired, before hire."
)


def _pairs(facts: Facts) -> Table:
    """Paired trips in every period, and what they save."""
    table = saved_by_period(facts.result)
    rows: list[list[Cell]] = [
        [
            plain(facts.period_name[row["period"]]),
            amount(row["trips"]),
            amount(row["km"]),
            amount(row["share"] * 100),
            amount(row["hours"]),
            facts.unit.text(row["money"]),
        ]
        for row in records(table)
    ]
    km, empty = float(table["km"].sum()), float(table["empty_km"].sum())
    year = [amount(table["trips"].sum()), amount(km), amount(km / (km + empty) * 100)]
    total = [amount(table["hours"].sum()), facts.unit.text(table["money"].sum())]
    return Table(
        "Paired trips: feedstock in, compost out",
        [
            facts.word.capitalize(),
            "Paired trips",
            "Empty driving saved [km]",
            "Share of all empty driving [%]",
            "Truck hours saved [h]",
            f"Saved [{facts.unit.name}]",
        ],
        [*rows, ["Year", *year, *total]],
        note=PAIRS.format(word=facts.word),
        rows_of=["paired_by_period"],
    )
