"""Forms made from the library's changes and their arguments."""

from __future__ import annotations

import inspect
import re
import typing
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from maps.desk.changes.named import named
from maps.desk.changes.tray import LONGEST_VALUE, Wish
from maps.desk.shelf import NameFault, NotThere

if TYPE_CHECKING:
    from logistics.scenario import Column, Scenario

Choices = tuple[tuple[str, str], ...]

GROUPS: dict[str, tuple[str, ...]] = {
    "Sources": (
        *("scale_source", "set_source", "close_source", "open_source", "add_source"),
        *("shift_season", "price_source", "set_fee", "set_disposal", "must_collect"),
        *("lab_values", "count_available"),
    ),
    "Markets": (
        *("scale_price", "scale_demand", "set_market", "close_market", "add_market"),
    ),
    "Yards": (
        *("close_yard", "force_yard", "build_yard", "move_yard", "add_yard"),
        *("set_yard", "set_area", "set_size", "scale_works"),
        *("set_packing", "set_shrinking"),
    ),
    "Roads and what the board asks": (
        *("close_road", "open_road", "limit_road", "set_fare"),
        *("least_share", "drop_shares"),
    ),
    "Money and trucks": (
        *("scale_fuel", "set_fuel", "scale_wages", "scale_hire", "set_fleet"),
        *("set_discount", "pair_trips", "setting"),
    ),
}
"""Changes in the order in which they are offered; one that is not here comes last."""
OTHERS = "Others"
TABLES_OF = {
    "Sources": ("sources", "materials"),
    "Markets": ("markets",),
    "Yards": ("yards", "yard_sizes"),
    "Roads and what the board asks": ("roads", "policy"),
    "Money and trucks": ("trucks",),
}
"""Tables in which the arguments of a group's changes are columns."""
COLUMN_OF = {
    "tonnes": "amount",
    "cost_per_t": "disposal_cost_per_t",
    "fee_per_t": "tipping_fee_per_t",
    "fare": "fare_per_trip",
}
"""Arguments that have another name than their column."""
SETTING_OF = {
    "price_per_l": "finance.fuel_price_per_l",
    "set_discount.percent": "finance.discount_pct",
    "set_packing.percent": "windrow.packing_pct",
    "set_shrinking.percent": "windrow.end_volume_pct",
    "how": "fleet.pairing",
}
"""Arguments that are a setting."""
UNITS = {"tonnes": "t/yr", "periods": "periods", "percent": "%", "max_gross_t": "t"}
WORDS = {
    "lon": "Longitude",
    "lat": "Latitude",
    "percent": "By how much",
    "count_available.percent": "Share of its carbon that counts",
    "set_discount.percent": "Discount rate",
    "set_packing.percent": "Share of its parts' volume",
    "set_shrinking.percent": "Share of its fresh volume",
    "from": "From",
    "until": "Until the end of",
    "name": "Setting",
    "source": "Source",
    "material": "Feedstock",
    "how": "Paired trips",
    "owned": "Owned",
    "hire_limit": "Hired at most",
}
"""Arguments whose name says too little."""

BLANK = {
    "from": "the year's beginning",
    "until": "the year's end",
    "existing_size": "as it is",
    "season": "as it is",
}
"""What a choice left blank means; every place or kind, where it is not here."""


@dataclass(frozen=True)
class Field:
    """
    A field of a form.

    Attributes
    ----------
    name, label
        Argument, and what it is called.
    needed
        Whether it has to be filled in.
    unit, low, high
        Unit, and the least and greatest value, as text; empty where there is none.
    note
        What it means.
    choices
        Values to choose from, with their words; none for a field to type in.
    blank
        What is said of a choice left blank.
    number
        Whether a number is wanted.
    """

    name: str
    label: str
    needed: bool
    unit: str
    low: str
    high: str
    note: str
    choices: Choices
    blank: str
    number: bool


def groups() -> dict[str, list[tuple[str, str]]]:
    """Return every change of the library with its sentence, in groups."""
    from logistics.changes import CHANGES

    left = set(CHANGES) - {name for names in GROUPS.values() for name in names}
    every = {**GROUPS, OTHERS: tuple(sorted(left))}
    return {
        group: [(name, sentence(name)) for name in names if name in CHANGES]
        for group, names in every.items()
        if names
    }


def sentence(name: str) -> str:
    """
    Say what a change does.

    >>> sentence("scale_fuel")
    'Raise or (with a minus sign) lower the price of diesel.'
    """
    from logistics.changes import CHANGES

    if name not in CHANGES:
        raise NotThere(name)
    return re.sub(r"\s*\[[^]]*\]$", "", (CHANGES[name].__doc__ or "").strip())


def fields(name: str, scenario: Scenario) -> list[Field]:
    """
    Make the fields of a change's form.

    Raises
    ------
    NotThere
        If there is no such change.
    """
    from logistics.changes import CHANGES, arguments_of, shown

    if name not in CHANGES:
        raise NotThere(name)
    return [
        _field(name, shown(argument), parameter, scenario)
        for argument, parameter in arguments_of(name).items()
    ]


def _field(
    change: str, name: str, parameter: inspect.Parameter, scenario: Scenario
) -> Field:
    """Make a field of an argument."""
    column = _column(change, name, scenario)
    kinds = typing.get_args(parameter.annotation) or (parameter.annotation,)
    number = str not in kinds
    low, high = (column.low, column.high) if column and number else (None, None)
    unit = UNITS.get(name, "")
    if column and number and column.unit:
        unit = column.unit.replace("money", scenario.settings.currency)
    if name == "percent" and column is None:
        low = -100.0
    return Field(
        name=name,
        label=WORDS.get(f"{change}.{name}") or WORDS.get(name) or _words(name),
        needed=parameter.default is parameter.empty,
        unit=unit,
        low=_limit(low),
        high=_limit(high),
        note=column.meaning if column and number else "",
        choices=_choices(change, name, scenario),
        blank=BLANK.get(name, "all"),
        number=number,
    )


def _words(name: str) -> str:
    """
    Write an argument's name as words.

    >>> _words("land_rent_per_m2_year"), _words("moisture_pct")
    ('Land rent per m2 year', 'Moisture')
    """
    text = name.removesuffix("_pct").replace("_", " ")
    return text[:1].upper() + text[1:]


def _limit(value: float | None) -> str:
    return "" if value is None else f"{value:,.12g}".replace("-", "−")


def _column(change: str, name: str, scenario: Scenario) -> Column | None:
    """Find the column or setting that an argument goes into."""
    from logistics.scenario import columns_of, scaled, settings_columns

    scale = scenario.settings.finance.money_scale
    setting = SETTING_OF.get(f"{change}.{name}") or SETTING_OF.get(name)
    if setting:
        return scaled(settings_columns()[setting], scale)
    group = next((g for g, names in GROUPS.items() if change in names), "")
    wanted = COLUMN_OF.get(name, name)
    for table in TABLES_OF.get(group, ()):
        for column in columns_of(table):
            if column.name == wanted:
                return scaled(column, scale)
    return None


def _choices(change: str, name: str, scenario: Scenario) -> Choices:
    """Values that an argument may have, where they are known."""
    from logistics.changes import TABLES
    from logistics.scenario import settings_columns

    if change == f"add_{name}":  # a new code
        return ()
    if name in ("from", "until"):
        return tuple(named(scenario, "period").items())
    if name in ("existing_size", "size"):
        return tuple(named(scenario, "size").items())
    if name == "season":
        return tuple((s, s) for s in dict.fromkeys(scenario.calendar["season"]))
    if name == "how":
        return tuple(
            (word, word) for word in settings_columns()[SETTING_OF[name]].choices
        )
    if change == "setting" and name == "name":
        return tuple((s, s) for s in settings_columns())
    if name in TABLES:
        return tuple(named(scenario, name).items())
    return ()


def wish_of(name: str, form: Mapping[str, str], scenario: Scenario) -> Wish:
    """
    Read a change from a form; what is left blank is left out.

    Raises
    ------
    NameFault
        If a field that is needed is blank, or one is too long.
    """
    wish: Wish = {"do": name}
    for field in fields(name, scenario):
        text = form.get(f"a.{field.name}", "").strip()
        if not text:
            if field.needed:
                message = f"{field.label} is missing. Fill it in"
                raise NameFault(message)
            continue
        if len(text) > LONGEST_VALUE:
            message = f"{field.label} is too long. Use {LONGEST_VALUE} letters at most"
            raise NameFault(message)
        wish[field.name] = text.replace("−", "-") if field.number else text
    return wish
