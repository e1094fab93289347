"""The money of a plan as a record of JSON: its parts, its ledger, what they mean."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from logistics.accounts import book
from maps.shared import names, period_order

if TYPE_CHECKING:
    import pandas as pd

    from logistics.results import Result

FORMAT = 1
LEDGER = [
    "account",
    "line",
    "place",
    "period",
    "quantity",
    "unit",
    "rate",
    "amount",
]


def money_record(result: Result) -> dict[str, Any]:
    """
    Write the book of a plan down.

    Returns
    -------
    dict
        format, title, currency; parts, capital, prices and ledger as lists by column;
        finance, work, today, pays_disposal as in `accounts.Book`; periods in order;
        names of yards, districts, periods and all places.
    """
    money, settings = book(result), result.scenario.settings
    places = {
        code: name
        for kind in ("source", "market", "yard", "truck")
        for code, name in names(result, kind).items()
    }
    return {
        "format": FORMAT,
        "title": settings.name,
        "currency": settings.currency,
        "fuel_price": float(settings.finance.fuel_price_per_l),
        "finance": money.finance.model_dump(mode="json"),
        "parts": columns(money.parts),
        "capital": columns(money.capital),
        "prices": columns(money.prices.reset_index()),
        "ledger": columns(result.ledger[LEDGER]),
        "work": {name: float(value) for name, value in money.work.items()},
        "today": float(money.today),
        "pays_disposal": bool(money.pays_disposal),
        "periods": list(period_order(result)),
        "names": {
            "yard": names(result, "yard"),
            "district": names(result, "district"),
            "period": names(result, "period"),
            "place": places,
        },
    }


def columns(table: pd.DataFrame) -> dict[str, list[Any]]:
    """Write a table as lists by column; what is no finite number is null."""
    found = {}
    for name in table.columns:
        values = table[name].tolist()
        found[str(name)] = [
            None if isinstance(v, float) and not np.isfinite(v) else v for v in values
        ]
    return found
