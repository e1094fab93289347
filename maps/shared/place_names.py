"""Names and states that every output shares, so that one place has one name."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import pandas as pd

from logistics.land import no_screening, refused

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario

IN_USE = ("new", "enlarged", "existing")
"""Status of the yards that the plan uses; every output says these words."""

_KINDS = {"source": "sources", "yard": "yards", "market": "markets"}


def names(result: Result, kind: str) -> dict[str, str]:
    """
    Name of every source, yard, market, material, period, truck, size or district.

    Parameters
    ----------
    result
        A planned scenario.
    kind
        One of ``source yard market material period truck size district``.

    Returns
    -------
    dict
        Code -> name; the code itself where no name is given. Two of a kind with the
        same name get their code behind it, so that no table takes them for one.
    """
    return names_of(result.scenario, kind)


def names_of(scenario: Scenario, kind: str) -> dict[str, str]:
    """Name every source, yard, … of a scenario, as `names` does of a plan."""
    tables = {
        **_KINDS,
        "material": "materials",
        "period": "periods",
        "truck": "trucks",
        "size": "yard_sizes",
        "district": "districts",
    }
    table = scenario.tables[tables[kind]]
    found = {"compost": "Compost"} if kind == "material" else {}
    if kind == "district":  # most have a code alone, and no row of their own
        found = {code: code for code in _districts_used(scenario)}
    for code, name in zip(table[kind], table["name"], strict=True):
        found[str(code)] = str(name) or str(code)
    return told_apart(found)


def _districts_used(scenario: Scenario) -> list[str]:
    """Codes of the districts in which a source, yard or market lies."""
    tables = (scenario.tables[name]["district"] for name in _KINDS.values())
    codes = pd.concat(list(tables)).astype(str)
    return [code for code in codes.unique() if code]


def told_apart(lookup: dict[str, str]) -> dict[str, str]:
    """
    Put the code behind every name that more than one code bears.

    >>> told_apart({"a": "Mill", "b": "Mill", "c": "Port"})
    {'a': 'Mill (a)', 'b': 'Mill (b)', 'c': 'Port'}
    """
    often = Counter(lookup.values())
    return {
        code: f"{name} ({code})" if often[name] > 1 else name
        for code, name in lookup.items()
    }


def named(codes: pd.Series, lookup: dict[str, str]) -> pd.Series:
    """Replace codes by names; an unknown code stays as it is."""
    return codes.map(lambda code: lookup.get(str(code), str(code)))


def feedstock_name(result: Result, codes: pd.Series) -> pd.Series:
    """Name feedstocks; one with laboratory values says whose they are."""
    material, source = names(result, "material"), names(result, "source")

    def name(code: str) -> str:
        base, _, own = str(code).partition("__")
        label = material.get(base, base)
        return f"{label} (laboratory, {source.get(own, own)})" if own else label

    return codes.map(name)


def period_order(result: Result) -> list[str]:
    """Codes of the periods in the order of the year."""
    return [str(code) for code in result.scenario.tables["periods"]["period"]]


def screening(result: Result) -> pd.DataFrame:
    """Rows of the land screening; none where the result has no screening."""
    found: pd.DataFrame = getattr(result, "screening", no_screening())
    return found


def given_up(result: Result) -> list[str]:
    """Codes of the existing yards that the plan, not the scenario, closes."""
    table, status = result.scenario.tables["yards"], yard_status(result)
    return [
        str(code)
        for code, built, decision in zip(
            table["yard"], table["existing_size"], table["decision"], strict=True
        )
        if str(built) and str(decision) != "closed" and status[str(code)] == "closed"
    ]


def yard_status(result: Result) -> dict[str, str]:
    """
    Status of every yard in the plan.

    Returns
    -------
    dict
        Yard -> ``new`` (to be built), ``enlarged`` (built already, in use in a
        larger size), ``existing`` (built already, in use as it stands), ``closed``
        (forbidden by the scenario, or built and given up), ``refused`` (by the land
        screening) or ``unused`` (a candidate the plan does not need).
    """
    out = refused(screening(result))
    table = result.scenario.tables["yards"]
    size = dict(result.plan.yard_sizes)
    found = {}
    for code, built, decision in zip(
        table["yard"], table["existing_size"], table["decision"], strict=True
    ):
        if str(code) in size:
            kept = "existing" if size[str(code)] == str(built) else "enlarged"
            found[str(code)] = kept if str(built) else "new"
        elif str(decision) == "closed" or str(built):
            found[str(code)] = "closed"
        elif str(code) in out:
            found[str(code)] = "refused"
        else:
            found[str(code)] = "unused"
    return found
