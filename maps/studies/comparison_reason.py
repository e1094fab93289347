"""Why a change moves yards: what the new ones save, and what that costs, in words."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from logistics.scenario import in_list
from logistics.studies import other_yards_save, yard_changes
from maps.shared import apportion, money_unit, names

if TYPE_CHECKING:
    import pandas as pd

    from logistics.studies import Outcome

LITTLE = 0.02
"""Part of all that moves, below which a kind of money is not named. [1]"""
FOR = {
    "yards": "on yards and the work in them",
    "haulage": "on haulage",
    "feedstock": "on feedstock",
    "disposal": "on disposal of what is left behind",
    "other": "on other lines",
}
ACTS = ("opens", "closes", "changes size")
"""What a yard does, in the order of `yard_changes`."""


def reason(outcome: Outcome) -> str:
    """
    Say why the yards of a re-plan are not the old ones; nothing where they are.

    The money is that of both plans under the same change, so it says what the other
    yards bring and not what the change costs.
    """
    saved = other_yards_save(outcome)
    if saved is None or saved.empty:
        return ""
    assert outcome.operate is not None
    unit = money_unit(outcome.replan.scenario.settings.currency, saved)
    parts = _few(saved)
    whole = round(float(saved.sum()), unit.rounding)
    shown = dict(zip(parts.index, apportion(parts, unit.rounding, whole), strict=True))
    better, worse = (
        _listed(
            _said(str(kind), value > 0, unit.said(abs(value)))
            for kind, value in shown.items()
            if sign * value > 0
        )
        for sign in (1, -1)
    )
    against = f"{better} against {worse}" if worse else better
    all_in_all = f"{unit.said(whole)} a year better than with the old yards"
    return f"{_moves(outcome)}: {against}, {all_in_all}." if better else ""


def _listed(parts: Iterable[str]) -> str:
    """Join parts with commas, the last with a word."""
    *some, last = [*parts] or [""]
    return f"{in_list(some)} and {last}" if some else last


def _few(saved: pd.Series) -> pd.Series:
    """Put kinds of money that matter little together, largest first."""
    little = saved.abs() < LITTLE * saved.abs().sum()
    parts = saved.rename(index=lambda kind: "other" if little[kind] else kind)
    parts = parts.groupby(level=0).sum()
    return parts.sort_values(ascending=False, key=abs, kind="stable")


def _said(kind: str, gains: bool, amount: str) -> str:
    """Word one kind of money."""
    if kind == "sales":
        return f"{amount} {'more' if gains else 'less'} from compost"
    return f"{amount} {'less' if gains else 'more'} {FOR[kind]}"


def _moves(outcome: Outcome) -> str:
    """Name the yards that open, close or change size."""
    assert outcome.operate is not None
    moved = yard_changes(outcome.operate.plan, outcome.replan.plan)
    label = names(outcome.operate, "yard") | names(outcome.replan, "yard")
    said = [
        f"{in_list(label[code] for code in codes)} {act}"
        for act, codes in zip(ACTS, moved, strict=True)
        if codes
    ]
    return in_list(said)
