"""What a tonne and a tonne-kilometre cost: one definition for every page."""

from __future__ import annotations

import pandas as pd

from logistics.accounts.budget import Book
from logistics.accounts.chart import cut

UNITS = (
    ("a tonne collected", "running", "running", "collected", "t"),
    ("a tonne collected", "full", "full", "collected", "t"),
    ("a tonne collected", "net", "net", "collected", "t"),
    ("a tonne of compost", "running", "running", "compost", "t"),
    ("a tonne of compost", "full", "full", "compost", "t"),
    ("a tonne of compost", "net", "net", "compost", "t"),
    ("haulage, a tonne collected", "full", "haulage", "collected", "t"),
    ("haulage, a tonne-kilometre", "running", "trips", "tonne_km", "t·km"),
    ("haulage, a tonne-kilometre", "full", "haulage", "tonne_km", "t·km"),
    ("trips to the yards, a tonne-kilometre", "running", "in", "tonne_km_in", "t·km"),
    (
        "trips to the markets, a tonne-kilometre",
        "running",
        "out",
        "tonne_km_out",
        "t·km",
    ),
)
"""What a unit cost is of, its basis, which money, which quantity of the year, unit."""


def unit_costs(book: Book) -> pd.DataFrame:
    """
    Reckon the cost of a tonne and a tonne-kilometre: the one definition of each.

    Returns
    -------
    DataFrame
        what, basis, money [money/yr], quantity, unit, cost [money/unit], rows of the
        ledger. The money is the programme's; what sources pay is in none. Basis
        "running": recurrent spending; "full": with capital as annuities; "net": the
        same less income. Haulage is trips less what pairing saves, hire, rounds above
        plan where they were driven and, where full, own trucks.
    """
    table = book.parts
    kind, entry = table["kind"], table["entry"]
    own = entry == "fleet_owned_trucks"
    haul = entry.str.startswith(("haulage", "pairing", "fleet", "rounds"))
    masks = {
        "running": kind == "recurrent",
        "full": kind.isin(["recurrent", "capital_charge"]),
        "net": kind != "outside",
        "haulage": haul,
        "trips": haul & ~own,
        "in": entry.str.startswith("haulage_in"),
        "out": entry.str.startswith("haulage_out"),
    }
    rows = []
    for what, basis, part, name, unit in UNITS:
        mask = masks[part]
        money, quantity = float(table.loc[mask, "amount"].sum()), book.work[name]
        each = money / quantity if quantity else float("nan")
        behind = cut(table[mask].assign(all=""), "all")["rows"]
        lines = behind.iloc[0] if len(behind) else ""
        rows.append((what, basis, money, quantity, unit, each, lines))
    columns = ["what", "basis", "money", "quantity", "unit", "cost", "rows"]
    return pd.DataFrame(rows, columns=columns)
