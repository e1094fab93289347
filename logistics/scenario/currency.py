"""How much money of the scenario's currency the built-in money figures stand for.

Limits and defaults of money columns are written in a currency in which diesel costs
about 1 a litre. The scale says how many units of the scenario's currency one such unit
is; both are multiplied by it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from statistics import median

from logistics.scenario.faults import Problem
from logistics.scenario.schema import Column, number_text
from logistics.scenario.separators import clear_number

SETTING, FUEL, PAY = "finance.money_scale", "finance.fuel_price_per_l", "pay"
USUAL = {FUEL: 1.0, PAY: 2.5}
"""Diesel a litre and a truck crew an hour in that currency (from memory)."""
LEAST = {FUEL: 5.0, PAY: 100.0}
"""From here on the price is no price of that currency (judgement: pay spreads more)."""
WORDS = {FUEL: "the diesel price", PAY: "the pay of truck crews"}
AGREE = 100.0
"""Two prices that stand for scales further apart cannot both be right (judgement)."""
FIGURES_KEPT = 3
STATE_SCALE = f"set {SETTING}, what 1 US dollar is in your currency"


@dataclass(frozen=True)
class MoneyScale:
    """
    Units of the scenario's currency for one unit of the built-in money figures.

    Attributes
    ----------
    value
        The scale, 1 or more.
    basis
        What it was found from; empty if it is stated, or 1.
    """

    value: float = 1.0
    basis: str = ""

    @property
    def words(self) -> str:
        """
        Say the scale and its basis.

        Examples
        --------
        >>> MoneyScale(21500, "the diesel price").words
        'at the money scale 1:21,500 found from the diesel price'
        """
        found = f" found from {self.basis}" if self.basis else ""
        return f"at the money scale 1:{self.value:,.15g}{found}"


def is_money(column: Column) -> bool:
    """
    Whether a column holds money, or money a unit.

    Examples
    --------
    >>> from logistics.scenario.schema import column
    >>> is_money(column("trucks", "crew_cost_per_hour"))
    True
    """
    return column.unit.partition("/")[0] == "money"


@cache
def scaled(column: Column, scale: float) -> Column:
    """
    Return a column with its money limits and default in the scenario's currency.

    Examples
    --------
    >>> from logistics.scenario.schema import settings_columns
    >>> fuel = scaled(settings_columns()["finance.fuel_price_per_l"], 21500)
    >>> fuel.high, fuel.default
    (21500000.0, '21500')
    """
    if scale == 1 or not is_money(column):
        return column
    default = column.default and number_text(float(column.default) * scale)
    high = None if column.high is None else column.high * scale
    return replace(column, high=high, default=default, scale=scale)


def crew_pay(texts: Sequence[str]) -> float:
    """
    Middle pay of truck crews that can be read; not a number without any. [money/h]

    Examples
    --------
    >>> crew_pay(["", "9000", "twelve", "12000", "0"]), crew_pay(["2900,5", "2.900"])
    (10500.0, 2900.5)
    """
    paid = [value for value in map(clear_number, texts) if value > 0]
    return median(paid) if paid else math.nan


def money_scale(settings: Mapping[str, object], pay: float = math.nan) -> MoneyScale:
    """
    Return the scale that is stated, or that the diesel price or else the pay shows.

    Parameters
    ----------
    settings
        Settings as given, by dotted name.
    pay
        See `crew_pay`. [money/h]

    Examples
    --------
    >>> money_scale({"finance.fuel_price_per_l": 21500}).value
    21500.0
    >>> money_scale({"finance.fuel_price_per_l": 1.9}, pay=30).value
    1.0
    """
    stated = _positive(settings.get(SETTING))
    if stated:
        return MoneyScale(max(1.0, stated))
    for name, price in ((FUEL, _positive(settings.get(FUEL))), (PAY, _positive(pay))):
        if price:
            if price < LEAST[name]:
                return MoneyScale()
            value = float(f"{price / USUAL[name]:.{FIGURES_KEPT}g}")
            return MoneyScale(value, WORDS[name])
    return MoneyScale()


def _positive(value: object) -> float:
    """Return a finite number above 0, or 0."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return 0.0
    return float(value) if math.isfinite(value) and value > 0 else 0.0


def disagreement(
    settings: Mapping[str, object], pay: float, line: Callable[[str], int | None]
) -> list[Problem]:
    """
    Find a diesel price and pay that cannot be of one currency, unless a scale is said.

    Parameters
    ----------
    settings, pay
        See `money_scale`.
    line
        Line of a setting in its file.
    """
    fuel = _positive(settings.get(FUEL))
    if settings.get(SETTING) is not None or not fuel or not _positive(pay):
        return []
    ratio = (pay / USUAL[PAY]) / (fuel / USUAL[FUEL])
    if 1 / AGREE <= ratio <= AGREE:
        return []
    far = "high" if ratio < 1 else "low"
    why = (
        f"is too {far} for the pay of truck crews, {pay:,.15g} an hour: "
        f"one of them may be a thousand times off"
    )
    remedy = (
        "Write both in one currency (trucks, crew_cost_per_hour); if both are right, "
        f"{STATE_SCALE}"
    )
    return [Problem("scenario.toml", line(FUEL), FUEL, fuel, why, remedy)]
