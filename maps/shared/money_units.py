"""
Money as people read it: in thousands or more where it is large, a surplus as such.

One unit is chosen once for a page or table, from its largest amount. Workbooks and CSV
files hold the amounts themselves.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import pandas as pd

from maps.shared.figures import amount, bare
from maps.shared.headlines import NET, Figure, number

LARGE = (
    (1e13, 1e9, "billion", 0),
    (1e10, 1e6, "million", 0),
    (1e9, 1e6, "million", 1),
    (1e8, 1e3, "thousand", 0),
)
"""Largest amount, from which on: what one unit is, its word, decimals kept."""
DEAR = 1e5
"""Amounts a unit (a tonne, a trip) from here on are told without decimals. [money]"""


@dataclass(frozen=True)
class MoneyUnit:
    """
    What one page or table counts money in: the currency, or thousands or more of it.

    Attributes
    ----------
    currency
        Name of the currency.
    factor, word
        How many of it one unit is, and the word for that; 1 and blank for the currency.
    digits
        Decimals kept in print.
    """

    currency: str
    factor: float = 1.0
    word: str = ""
    digits: int = 0

    @property
    def name(self) -> str:
        """
        Name the unit.

        >>> money_unit("francs", [2.1e9]).name, money_unit("francs", [99_999]).name
        ('million francs', 'francs')
        """
        return f"{self.word} {self.currency}".lstrip()

    @property
    def rounding(self) -> int:
        """Decimals of the amount itself that print keeps; below zero for thousands."""
        return self.digits - round(math.log10(self.factor))

    def text(self, value: object) -> str:
        """
        Write an amount without its unit.

        >>> money_unit("francs", [2.1e9]).text(-1_350_400_000)
        '−1,350.4'
        """
        return amount(number(bare(value)) / self.factor, self.digits)

    def said(self, value: object) -> str:
        """
        Write an amount with its unit.

        >>> money_unit("francs", [2.1e9]).said(1_350_400_000)
        '1,350.4 million francs'
        """
        return f"{self.text(value)} {self.name}"

    def each(self, value: object, digits: int = 2) -> str:
        """
        Write what one of something costs, in the currency itself, without its name.

        >>> money_unit("francs", [2.1e9]).each(123_456.7), MoneyUnit("$").each(4.5)
        ('123,457', '4.50')
        """
        known = number(bare(value))
        return amount(known, 0 if abs(known) >= DEAR else digits)


def money_unit(currency: str, amounts: Iterable[float], digits: int = 0) -> MoneyUnit:
    """
    Choose what a page or table counts money in, from its largest amount.

    Parameters
    ----------
    currency
        Name of the currency.
    amounts
        What the page or table shows; what is not finite is left out. [money]
    digits
        Decimals kept where no thousands are taken.

    Examples
    --------
    >>> money_unit("francs", [-441_087_160]).said(-441_087_160)
    '−441,087 thousand francs'
    """
    known = (abs(float(value)) for value in amounts)
    largest = max((value for value in known if math.isfinite(value)), default=0.0)
    for least, factor, word, kept in LARGE:
        if largest >= least:
            return MoneyUnit(currency, factor, word, kept)
    return MoneyUnit(currency, digits=digits)


def surplus(value: object) -> bool:
    """Whether a net cost is told as a surplus: it is below zero."""
    known = number(bare(value))
    return math.isfinite(known) and known < 0


def net_label(value: object, word: str = "Net cost") -> str:
    """
    Name a net cost by what it is.

    >>> net_label(12.0), net_label(-12.0), net_label(-1, "net cost")
    ('Net cost', 'Surplus', 'surplus')
    """
    if not surplus(value):
        return word
    return "Surplus" if word[0].isupper() else "surplus"


def net_text(value: object, unit: MoneyUnit) -> str:
    """
    Write a net cost in a column of net costs; the word surplus stands for the minus.

    >>> net_text(-108_153, MoneyUnit("francs")), net_text(5, MoneyUnit("francs"))
    ('surplus 108,153', '5')
    """
    if not surplus(value):
        return unit.text(value)
    text = unit.text(-number(bare(value)))
    return text if not text.strip("0.,") else f"surplus {text}"


def net_said(value: object, unit: MoneyUnit) -> str:
    """
    Write a net cost with its unit in a sentence.

    >>> net_said(-108_153, MoneyUnit("francs")), net_said(5, MoneyUnit("francs"))
    ('a surplus of 108,153 francs', '5 francs')
    """
    text = net_text(value, unit).replace("surplus", "a surplus of")
    return f"{text} {unit.name}"


def in_print(figures: Iterable[Figure], currency: str) -> list[Figure]:
    """
    Write the key figures that are money for people: in large units, a surplus as such.

    >>> in_print([Figure("Net cost", -2.1e9, "francs/yr")], "francs")
    [Figure(label='Surplus', value='2,100.0', unit='million francs/yr', code='')]
    """
    known = list(figures)
    yearly = [each for each in known if each.unit == f"{currency}/yr"]
    unit = money_unit(currency, [number(each.value) for each in yearly])
    return [_printed(each, unit, each in yearly) for each in known]


def _printed(figure: Figure, unit: MoneyUnit, yearly: bool) -> Figure:
    value = figure.value
    if not yearly and figure.unit != f"{unit.currency}/t":
        return figure
    label = figure.label
    if label.startswith(NET) and surplus(value):
        label, value = label.replace(NET, "Surplus"), -number(value)
    if not yearly or unit.factor == 1:
        return replace(figure, label=label, value=value)
    value, named = unit.text(value), f"{unit.name}/yr"
    return replace(figure, label=label, value=value, unit=named)


def table_unit(table: pd.DataFrame, currency: str) -> MoneyUnit:
    """Choose what a table counts money in: all its columns in [money] or [money/yr]."""
    shown = [c for c in table.columns if _counts(str(c), currency)]
    return money_unit(currency, (v for c in shown for v in table[c].map(number)))


def _counts(head: str, currency: str) -> bool:
    return f"[{currency}]" in head or f"[{currency}/yr]" in head


def head_text(head: str, unit: MoneyUnit) -> str:
    """
    Write a heading with the unit of its table.

    >>> head_text("net cost [francs/yr]", MoneyUnit("francs", 1e6, "million", 1))
    'net cost [million francs/yr]'
    """
    if not _counts(head, unit.currency):
        return head
    return head.replace(f"[{unit.currency}", f"[{unit.name}")


def cell_text(head: str, value: object, unit: MoneyUnit, digits: int = 0) -> str:
    """
    Write a number of a table under its heading; net costs below zero are a surplus.

    >>> francs = MoneyUnit("francs")
    >>> cell_text("net cost [francs/yr]", -5, francs), cell_text("driven", -5, francs)
    ('surplus 5', '−5')
    """
    if not _counts(head, unit.currency):
        return amount(value, digits)
    if unit.factor == 1:
        unit = replace(unit, digits=digits)
    return net_text(value, unit) if "cost" in head else unit.text(value)
