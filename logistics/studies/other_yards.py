"""What a re-plan's other yards save, by what the money is for."""

from __future__ import annotations

import pandas as pd

from logistics.studies.comparison import EXACT, Outcome, yard_changes

KIND_OF_MONEY = {
    "yards": "yards",
    "haulage in": "haulage",
    "haulage out": "haulage",
    "pairing": "haulage",
    "fleet": "haulage",
    "rounds": "haulage",
    "feedstock": "feedstock",
    "compost": "sales",
    "left behind": "disposal",
}
"""Accounts by what they are for; all others are "other"."""


def other_yards_save(outcome: Outcome) -> pd.Series | None:
    """
    Say of each kind of money how much less the re-plan's yards cost than the old ones.

    Returns
    -------
    Series or None
        Index the kinds of `KIND_OF_MONEY`, those alike in both left out; what comes
        in less counts as costing more, so the sum is the regret. None where the old
        yards cannot stay or are the best, and where the two answer different
        questions. [money/yr]
    """
    old, new = outcome.operate, outcome.replan
    if old is None or not outcome.regret:
        return None
    if not any(yard_changes(old.plan, new.plan)):
        return None
    kinds = [
        result.ledger.groupby(
            result.ledger["account"].map(KIND_OF_MONEY).fillna("other")
        )["amount"].sum()
        for result in (old, new)
    ]
    saved = kinds[0].sub(kinds[1], fill_value=0.0)
    return saved[saved.abs() > EXACT * max(1.0, abs(old.plan.objective))]
