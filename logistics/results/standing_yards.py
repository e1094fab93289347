"""Yards that stand: what a scenario asks of its yards alone, and whether these obey."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.results.words import MUST_OPEN, told_apart

if TYPE_CHECKING:
    from logistics.model import Flags, Instance, Plan
    from logistics.scenario import Scenario

CENT = 0.005
"""Money by which a limit on capital may be passed. [money]"""


def missing_yards(instance: Instance, opened: Flags) -> list[str]:
    """Codes of yards that must be open and are not among these options (length o)."""
    standing = set(instance.options.yard[opened].tolist())
    return [
        code
        for j, code in enumerate(instance.yards.codes)
        if instance.yards.decision[j] == "open" and j not in standing
    ]


def cannot_stay(
    scenario: Scenario, instance: Instance, yards: Collection[tuple[str, str]]
) -> list[str]:
    """
    Say why a plan's yards cannot stay under what a scenario asks of yards.

    Only what yards decide by themselves counts: yards that must be open, most yards,
    most capital. A yard ruled out is closed, which these yards can obey.

    Parameters
    ----------
    scenario, instance
        What is asked, and the same as numbers.
    yards
        Yards and sizes of a plan.

    Returns
    -------
    list of str
        A sentence for every demand that they cannot obey; none if they can stay.
    """
    opened, policy = instance.options_of(yards), instance.policy
    table = scenario.yards
    names = told_apart(table["yard"].tolist(), table["name"].tolist())
    had = {yard for yard, _ in yards}
    words = [
        f"{names[code]} must be open, but "
        + (
            "the size it has is not available there."
            if code in had
            else "it is not built."
        )
        for code in missing_yards(instance, opened)
    ]
    count = int(opened.sum())
    if policy.max_yards is not None and count > policy.max_yards:
        stand = "1 yard stands" if count == 1 else f"{count} yards stand"
        most = f"at most {policy.max_yards} may be open (policy.max_yards)"
        words.append(f"{stand}, and {most}.")
    capital = float(instance.options.capital[opened].sum())
    if policy.capital_limit is not None and capital > policy.capital_limit + CENT:
        currency = scenario.settings.currency
        words.append(
            f"They need {capital:,.0f} {currency} of capital, but at most "
            f"{policy.capital_limit:,.0f} {currency} may be spent."
        )
    people, limit = instance.neighbours, policy.most_exposed
    if people is not None and limit is not None:
        heads = people.exposed(np.isin(instance.yards.codes, list(had)))
        if heads > limit:
            words.append(
                f"{heads:,.0f} people live near them, and at most {limit:,.0f} may "
                "(policy.most_exposed)."
            )
    return words


def with_missing(plan: Plan, codes: Collection[str]) -> Plan:
    """Name yards that must be open, and are not in the plan, as a shortage."""
    if not codes:
        return plan
    rows = {
        "how": "together",
        "limit": "least",
        "what": MUST_OPEN,
        "where": list(codes),
        "when": "year",
        "amount": 1.0,
        "unit": "yards",
    }
    found = [plan.shortages, pd.DataFrame(rows)]
    shortages = pd.concat([t for t in found if len(t)], ignore_index=True)
    return replace(
        plan, status="shortage", bound=-np.inf, gap=np.inf, shortages=shortages
    )
