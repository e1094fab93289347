"""Other prices than planned: as read from a form, and as a change of the tables."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields

LEAST, MOST = -90.0, 300.0
"""Other prices may be so much more than planned. [%]"""
MOST_RATE = 30.0
"""Highest discount rate. [%]"""


@dataclass(frozen=True)
class Prices:
    """
    Other prices than planned. [% more, below zero less]

    Attributes
    ----------
    fuel, wages, hire, capital, compost, fees, bought
        Diesel, pay, hire of trucks, works and machines, compost sold, tipping fees,
        feedstock bought.
    discount
        The discount rate itself; None as planned. [% a year]
    """

    fuel: float = 0.0
    wages: float = 0.0
    hire: float = 0.0
    capital: float = 0.0
    compost: float = 0.0
    fees: float = 0.0
    bought: float = 0.0
    discount: float | None = None


WORDS = {
    "fuel": "Diesel",
    "wages": "Pay",
    "hire": "Hire of trucks",
    "capital": "Works and machines",
    "compost": "Compost price",
    "fees": "Tipping fees",
    "bought": "Feedstock bought",
    "discount": "Discount rate",
}
"""What each of `Prices` is called."""


class PriceFault(ValueError):
    """A price that nobody can mean."""


def prices_asked(given: Mapping[str, str]) -> Prices:
    """
    Read other prices from a form or an address; what is not given stays.

    Raises
    ------
    PriceFault
        If one is no number, or far out.

    Examples
    --------
    >>> prices_asked({"fuel": "20", "by": "yard"}).fuel
    20.0
    >>> prices_asked({"fuel": "999"})
    Traceback (most recent call last):
    maps.desk.prices.PriceFault: Diesel: '999' is not from -90 to 300. Move the bar
    """
    found: dict[str, float] = {}
    for one in fields(Prices):
        text = given.get(one.name, "").strip()
        if not text:
            continue
        rate = one.name == "discount"
        least, most = (0.0, MOST_RATE) if rate else (LEAST, MOST)
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not least <= value <= most:
            message = f"{WORDS[one.name]}: {text[:20]!r} is not from {least:g} to "
            message += f"{most:g}. Move the bar"
            raise PriceFault(message)
        found[one.name] = value
    return Prices(**found)


STEPS = {
    "fuel": "scale_fuel",
    "wages": "scale_wages",
    "hire": "scale_hire",
    "capital": "scale_works",
    "compost": "scale_price",
    "discount": "set_discount",
}
"""Prices that a plan can be made anew with, and the change that sets them."""


def change_of(prices: Prices) -> tuple[str, str]:
    """
    Write other prices as a change of the tables.

    Returns
    -------
    str, str
        Title, and the text of a file of changes; both empty if there is nothing that a
        new plan would see.

    Examples
    --------
    >>> change_of(Prices(fuel=20.0, fees=5.0))[0]
    'Diesel +20 %'
    """
    from logistics.changes import ChangeSet, Step, change_text
    from logistics.scenario import in_list

    steps, words = [], []
    for name, change in STEPS.items():
        value = getattr(prices, name)
        if value is None or (name != "discount" and not value):
            continue
        steps.append(Step(change, {"percent": float(value)}, "prices"))
        sign = "" if name == "discount" else "+" if value > 0 else "−"
        words.append(f"{WORDS[name]} {sign}{abs(value):g} %")
    if not steps:
        return "", ""
    title = in_list(words)
    story = "Other prices, set on the page of the money."
    return title, change_text(ChangeSet("prices", title, story, tuple(steps)))
