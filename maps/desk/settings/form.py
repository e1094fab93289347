"""The settings as a form: groups, fields with unit, limits, default and choices."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logistics.scenario import Column, cell_text, is_money, scaled, settings_columns
from maps.desk.settings.words import BESIDE, GROUPS, group_title, label_of

if TYPE_CHECKING:
    from logistics.scenario import Scenario

NUMBERS = ("number", "integer", "percent", "lon", "lat")
LONG = ("story",)
"""Settings that need a wide field."""


@dataclass(frozen=True)
class SettingField:
    """
    One setting of the form.

    Attributes
    ----------
    name, label
        Dotted name, and what it is called.
    unit
        Of its value, money in the scenario's currency.
    note
        What it means, with its limits.
    number, long
        Whether a number belongs in it; whether it is a sentence.
    choices
        Words to choose from.
    picks
        Table whose codes it takes; empty if none.
    required
        Whether it may not be blank.
    """

    name: str
    label: str
    unit: str
    note: str
    number: bool
    long: bool
    choices: tuple[str, ...]
    picks: str
    required: bool


@dataclass(frozen=True)
class FieldGroup:
    """
    Settings that belong together.

    Attributes
    ----------
    code, title
        Their group in the file, and what it is called.
    fields
        In the order of `columns.csv`.
    beside
        Tables that say more, each with what.
    """

    code: str
    title: str
    fields: tuple[SettingField, ...]
    beside: tuple[tuple[str, str], ...]


def form_groups(currency: str, scale: float) -> list[FieldGroup]:
    """
    Lay the settings out.

    Parameters
    ----------
    currency
        What money is called; empty for "money".
    scale
        Units of it for one of the built-in money figures.
    """
    found: dict[str, list[SettingField]] = {group: [] for group in GROUPS}
    for name, column in settings_columns().items():
        group = name.rpartition(".")[0]
        found.setdefault(group, []).append(_field(scaled(column, scale), currency))
    return [
        FieldGroup(group, group_title(group), tuple(fields), BESIDE.get(group, ()))
        for group, fields in found.items()
        if fields
    ]


def _field(column: Column, currency: str) -> SettingField:
    unit = column.unit
    if is_money(column) and currency:
        unit = unit.replace("money", currency, 1)
    return SettingField(
        name=column.name,
        label=label_of(column.name),
        unit=unit,
        note=_note(column),
        number=column.kind in NUMBERS,
        long=column.name in LONG,
        choices=column.choices,
        picks=column.refers_to,
        required=column.required,
    )


def _note(column: Column) -> str:
    """Say what a setting means where its label does not, and its limits."""
    label = label_of(column.name)
    meaning = "" if column.meaning == label else f"{column.meaning}."
    return f"{meaning}{_limits(column)}".strip()


def _limits(column: Column) -> str:
    """Say between which values a setting must lie."""
    if column.low is None or column.high is None or column.kind in ("lon", "lat"):
        return ""
    return f" From {column.low:,.15g} to {column.high:,.15g}."


def defaults_of(scenario: Scenario | None) -> dict[str, str]:
    """
    Return the default of every setting as text; those without one are left out.

    Parameters
    ----------
    scenario
        Last state without faults: it knows money defaults in its currency.
    """
    columns = settings_columns()
    texts = {name: one.default for name, one in columns.items() if one.default}
    if scenario is None:
        return texts
    scale = scenario.settings.finance.money_scale
    scaled_texts = {name: scaled(columns[name], scale).default for name in texts}
    used = scenario.defaults_used
    rows = used[used["table"] == "settings"]
    found = {
        str(name): cell_text(value)
        for name, value in rows[["column", "value"]].itertuples(index=False, name=None)
    }
    return {**scaled_texts, **found}


def unknown(texts: Mapping[str, str]) -> list[str]:
    """Return the names in a file that are no settings; they stay in it."""
    return [name for name in texts if name not in settings_columns()]
