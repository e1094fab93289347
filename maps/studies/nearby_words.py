"""Plans nearly as good, in tables and sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.scenario import in_list
from logistics.studies import sites_table
from maps.shared import amount, count, net_said

if TYPE_CHECKING:
    from logistics.scenario import Scenario
    from logistics.studies import Nearby, OtherPlans
    from maps.shared import MoneyUnit

WANTED = {
    "yards": ("fewest yards", "yards"),
    "capital": ("least capital", "capital [{currency}]"),
    "haulage": ("least haulage", "haulage [{currency}/yr]"),
    "work": ("most work", "work by hand and on the road [h/yr]"),
    "people": ("fewest people near yards", "people near yards [heads]"),
    "uneven": ("evenest over districts", "taken in beyond a district's share [%]"),
}
"""Of each thing that a board may want: its words, the heading of its figures."""
PER_CENT = ("uneven",)
"""Figures that are shares, shown in per cent."""


def plan_rows(
    nearby: Nearby, scenario: Scenario, names: dict[str, str]
) -> pd.DataFrame:
    """One row a plan found, cheapest first, with units."""
    currency = scenario.settings.currency
    first, rows = nearby.found.plans[0].sites, []
    columns = {
        one.push.code: column_of(one.push.code, currency) for one in nearby.pushed
    }
    for place, (one, result) in enumerate(
        zip(nearby.found.plans, nearby.results, strict=True)
    ):
        known = result.summary
        row = {
            "plan": place + 1,
            "against the best": against(first, one.sites, names),
            f"net cost [{currency}/yr]": known["objective"],
            "more than the best [%]": 100 * one.above,
            "yards": known["yards_open"],
            "sites other than the best's": len(one.sites ^ first),
            f"capital [{currency}]": known["capital"],
            f"haulage [{currency}/yr]": known["haul_cost"],
            "collected [t/yr]": known["collected_t"]["all"],
            "driven [km/yr]": known["vehicle_km"],
        }
        for wanted in nearby.pushed:
            code = wanted.push.code
            row[columns[code]] = shown_value(code, wanted.values[place])
        rows.append(row)
    return pd.DataFrame(rows)


def against(best: frozenset[str], sites: frozenset[str], names: dict[str, str]) -> str:
    """
    Say which yards of the best plan another one lacks, and which it has instead.

    >>> against(frozenset("ab"), frozenset("bc"), {"a": "North", "c": "Port"})
    'without North; with Port'
    >>> against(frozenset("a"), frozenset("a"), {})
    'the best plan'
    """
    parts = []
    for word, codes in (("without", best - sites), ("with", sites - best)):
        if codes:
            listed = in_list(names.get(code, code) for code in sorted(codes))
            parts.append(f"{word} {listed}")
    return "; ".join(parts) or "the best plan"


def column_of(code: str, currency: str) -> str:
    """Head the figures of a thing that a board may want."""
    return WANTED[code][1].replace("{currency}", currency)


def shown_value(code: str, value: float) -> float:
    """Give a figure in the unit of its heading."""
    return 100 * value if code in PER_CENT else value


def push_rows(nearby: Nearby) -> pd.DataFrame:
    """One row a thing that a board may want: the plan that has it, what it costs."""
    rows = []
    for one in nearby.pushed:
        code = one.push.code
        rows.append(
            {
                "wanted": WANTED[code][0],
                "plan": one.best + 1,
                "it has": shown_value(code, one.values[one.best]),
                "the best plan has": shown_value(code, one.values[0]),
                "costs more by [%]": 100 * nearby.found.plans[one.best].above,
            }
        )
    return pd.DataFrame(rows)


def site_rows(found: OtherPlans, names: dict[str, str]) -> pd.DataFrame:
    """One row a site, those used most often first: in which plans, how sure."""
    table = sites_table(found)
    said = [
        f"{row.often}, proven" if row.proven else str(row.often)
        for row in table.itertuples()
    ]
    return pd.DataFrame(
        {
            "site": [names.get(code, code) for code in table["yard"]],
            "a yard there": said,
            "plans with it": table["plans"],
            "cheapest plan with it costs more by [%]": 100 * table["cheapest"],
        }
    )


def nearby_words(nearby: Nearby, unit: MoneyUnit) -> str:
    """Say how many plans there are within the limit, and how sure that is."""
    found = nearby.found
    share = amount(100 * found.share, 1)
    best = net_said(found.plans[0].plan.objective, unit)
    others = len(found.plans) - 1
    tried = f"{count(found.tried, 'set')} of yards and sizes were planned one by one"
    differ = f"{count(found.least, 'site')} more or fewer than each of these"
    if not found.complete:
        sure = f"There may be more: {tried}, not all that there are."
    elif found.least == 1:
        sure = "It is proven that there are no others."
    else:
        sure = f"It is proven that no other one has {differ}."
    if not others:
        return (
            f"The best plan costs {best} a year. No plan with other sites was found "
            f"that costs at most {share} % more. {sure}"
        )
    verb, noun = ("is", "plan") if others == 1 else ("are", "plans")
    return (
        f"The best plan costs {best} a year. Besides it there {verb} {amount(others)} "
        f"{noun} within {share} % of that, each with other sites. {sure}"
    )


def site_words(found: OtherPlans, names: dict[str, str]) -> list[str]:
    """Say which sites a board can take for granted, and which it can forget."""
    table = sites_table(found)
    share, said = amount(100 * found.share, 1), []
    for often, proven in (
        ("always", f"A yard there in every plan within {share} %, proven"),
        ("never", f"No yard there in any plan within {share} %, proven"),
    ):
        sure = table[(table["often"] == often) & table["proven"]]["yard"]
        open_to = table[(table["often"] == often) & ~table["proven"]]["yard"]
        for codes, text in (
            (sure, proven),
            (open_to, f"{often.capitalize()} in those found, not proven for all"),
        ):
            if len(codes):
                listed = in_list(names.get(code, code) for code in codes)
                said.append(f"{text}: {listed}.")
    return said
