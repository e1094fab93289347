"""Titles in words for changes of the command line, with names in place of codes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from logistics.changes.files import ChangeSet, Step, arguments_of, read_arguments
from logistics.scenario import (
    ChangeFault,
    Scenario,
    ScenarioError,
    in_list,
    period_named,
)

TITLES = {
    "add_market": "New market {market} takes {tonnes} t a year",
    "add_source": "New source {source} yields {tonnes} t of {material} a year",
    "add_yard": "New candidate {yard}",
    "build_yard": "A yard at {yard}, size {size}",
    "close_market": "{market} closes",
    "close_road": "{road} is closed",
    "close_source": "{source} closes",
    "close_yard": "No yard at {yard}",
    "count_available": "Of the carbon of {material} {percent_plain} % counts",
    "drop_shares": "No least share to collect{of}",
    "force_yard": "A yard at {yard}",
    "lab_values": "Laboratory values{of}",
    "least_share": "Collect at least {share_pct} %{of}",
    "limit_road": "{road} carries at most {max_gross_t} t",
    "move_yard": "{yard} moves",
    "must_collect": "Collect every tonne{of}",
    "open_road": "{road} stays open",
    "open_source": "{source} yields",
    "pair_trips": "Paired trips: {how}",
    "price_source": "Pay {price_per_t} a tonne{of}",
    "scale_demand": "Demand for compost {percent}{of}",
    "scale_fuel": "Diesel price {percent}",
    "scale_hire": "Cost of hire {percent}{of}",
    "scale_price": "Price of compost {percent}{of}",
    "scale_source": "Supply {percent}{of}",
    "scale_wages": "Pay of crews {percent}",
    "scale_works": "Cost of works {percent}{of}",
    "set_area": "{yard} has {area_m2} m²",
    "set_discount": "Discount rate {percent_plain} %",
    "set_disposal": "Disposal today costs {cost_per_t} a tonne{of}",
    "set_fare": "Fare of {road} is {fare}",
    "set_fee": "A tipping fee of {fee_per_t} a tonne{of}",
    "set_fleet": "{truck}{figures}",
    "set_fuel": "Diesel at {price_per_l} a litre",
    "set_market": "{market}{figures}",
    "set_packing": "A fresh windrow takes {percent_plain} % of its parts' volume",
    "set_shrinking": "A windrow shrinks to {percent_plain} % of its fresh volume",
    "set_size": "Size {size}{figures}",
    "set_source": "{source} yields {amount}",
    "set_yard": "{yard}{figures}",
    "setting": "{name} is {value}",
    "shift_season": "Season {season} moves by {periods}",
}
"""One a change. `of` is what it is for, if it says so; `figures` all its numbers."""

TABLES = {
    "source": "sources",
    "material": "materials",
    "district": "districts",
    "market": "markets",
    "yard": "yards",
    "truck": "trucks",
    "road": "roads",
    "size": "yard_sizes",
}


def titled(wanted: Sequence[ChangeSet], scenario: Scenario) -> list[ChangeSet]:
    """Give changes of the command line titles in words; files keep their own."""
    return [
        replace(each, title=title_of(each.steps[0], scenario) or each.title)
        if each.title == each.code and len(each.steps) == 1
        else each
        for each in wanted
    ]


def title_of(step: Step, scenario: Scenario | None) -> str:
    """
    Say in words what a change is; empty if its arguments cannot be read.

    Examples
    --------
    >>> from logistics.changes.files import parse_change
    >>> title_of(parse_change("scale_fuel:percent=40").steps[0], None)
    'Diesel price +40 %'
    >>> title_of(parse_change("pair_trips").steps[0], None)
    'Paired trips: yes'
    """
    if step.name not in TITLES:
        return ""
    try:
        values = read_arguments(step)
    except ScenarioError:
        return ""
    words = {name: _word(name, value, scenario) for name, value in values.items()}
    special = ("from_", "until", "lon", "lat", *TABLES)
    figures = [
        f"{name.replace('_', ' ')} {word}"
        for name, word in words.items()
        if name not in special and values[name] not in (None, "")
    ]
    named = [words[name] for name in TABLES if values.get(name)]
    usual = {
        name: one.default
        for name, one in arguments_of(step.name).items()
        if one.default is not one.empty
    }
    title = TITLES[step.name].format(
        **(usual | words),
        of=f": {in_list(named)}" if named else "",
        figures=f": {in_list(figures)}" if figures else "",
        percent_plain=_number(values.get("percent", "")),
    )
    return title + _when(values, scenario)


def _word(name: str, value: Any, scenario: Scenario | None) -> str:
    """Write an argument as people read it: names, signed percentages, plain numbers."""
    if name == "percent":
        return f"{value:+g} %".replace("-", "\u2212")
    if name in TABLES and scenario is not None:
        table = scenario.tables.get(TABLES[name])
        if table is not None and "name" in table:
            known = dict(zip(table[name], table["name"], strict=True))
            return str(known.get(value) or value)
    return _number(value)


def _number(value: Any) -> str:
    return f"{value:,.12g}" if isinstance(value, int | float) else str(value)


def _when(values: Mapping[str, Any], scenario: Scenario | None) -> str:
    """Say from when until when it holds, periods by their names."""
    words = [
        f"{word} {_time(values[name], scenario)}"
        for word, name in (("from", "from_"), ("until", "until"))
        if values.get(name)
    ]
    return f", {' '.join(words)}" if words else ""


def _time(text: str, scenario: Scenario | None) -> str:
    """Name a period in place of its code or number; leave a date as it is."""
    if not text or scenario is None or "-" in str(text):
        return str(text)
    try:
        code = period_named(scenario, text)
    except ChangeFault:
        return str(text)
    periods = scenario.periods
    named = dict(zip(periods["period"], periods["name"], strict=True))
    return str(named.get(code) or code)
