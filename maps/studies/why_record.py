"""What is known of sites as records for why.json: money, yards, who gains and loses."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import pandas as pd

from logistics.studies import winners, yard_changes
from maps.studies.why_words import accounts, answer_words, pair_of, reason_words

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.studies import Service, SiteAnswer

LEAST_T = 0.5
"""Tonnes a year below which a place counts as unchanged. [t/yr]"""


def moves(told: SiteAnswer) -> dict[str, pd.DataFrame]:
    """
    List the sources and the markets that gain or lose, the most first.

    Returns
    -------
    dict
        "source" and "market" -> place, before, after, difference [t/yr], haulage:
        what the way of its tonnes costs more or less [money/yr].
    """
    base, other = pair_of(told)
    assert told.outcome is not None
    sources = winners(base, told.outcome).rename(columns={"source": "place"})
    sent = [
        one.plan.deliveries.groupby("market")["tonnes"].sum() for one in (base, other)
    ]
    markets = pd.DataFrame(dict(zip(("before", "after"), sent, strict=True))).fillna(
        0.0
    )
    markets = markets.rename_axis("place").reset_index()
    markets["difference"] = markets["after"] - markets["before"]
    found = {}
    for kind, table in (("source", sources), ("market", markets)):
        haul = [_haulage(one, kind) for one in (base, other)]
        more = haul[1].sub(haul[0], fill_value=0.0)
        table = table.assign(haulage=table["place"].map(more).fillna(0.0))
        changed = (table["difference"].abs() >= LEAST_T) | (table["haulage"].abs() >= 1)
        order = table["difference"].abs() + table["haulage"].abs()
        columns = ["place", "before", "after", "difference", "haulage"]
        table = table.loc[order.sort_values(ascending=False, kind="stable").index]
        found[kind] = table.loc[changed, columns].reset_index(drop=True)
    return found


def _haulage(result: Result, kind: str) -> pd.Series:
    """Sum what trips from a source or to a market cost. [money/yr]"""
    place = "origin" if kind == "source" else "destination"
    lanes = result.lanes
    mine = lanes["kind"] == ("in" if kind == "source" else "out")
    return lanes[mine].groupby(place)["money"].sum()


def why_record(found: Sequence[SiteAnswer]) -> list[dict[str, Any]]:
    """Gather what is known of each site, for why.json."""
    return [_record(told) for told in found]


def _record(told: SiteAnswer) -> dict[str, Any]:
    known: dict[str, Any] = {
        told.kind: told.code,
        "size": told.size,
        "chosen": told.chosen,
        "words": answer_words(told),
        "net_cost": float(told.base.summary["total_cost"]),
        "adds": _pair(told.adds),
        "adds_wherever_trucks_are_at_home": _pair(told.anywhere),
    }
    if told.service is not None:
        known |= _service(told.service, told.base.instance.periods)
    if told.outcome is None:
        return known
    base, other = pair_of(told)
    opened, closed, resized = yard_changes(base.plan, other.plan)
    turns = [
        {
            "figure": one.figure,
            "proven_to_change_nothing": float(one.stays),
            "proven_to_turn": None if one.turns is None else float(one.turns),
            "searched_up_to": None if one.most is None else float(one.most),
        }
        for one in told.turns
    ]
    known |= {
        "other_plan": {
            "net_cost": float(other.summary["total_cost"]),
            "status": other.plan.status,
            "yards": dict(other.plan.yard_sizes),
            "opened": opened,
            "closed": closed,
            "resized": resized,
        },
        "turns": turns,
        "nearest_sources": list(told.nearby),
    }
    if told.adds is not None:
        known["reasons"] = reason_words(told)
        known["accounts"] = accounts(told).to_dict("records")
        known |= {f"{k}s": t.to_dict("records") for k, t in moves(told).items()}
    return known


def _service(service: Service, periods: Sequence[str]) -> dict[str, Any]:
    """Gather how the plan serves a source or a market, and what a payment does."""
    months = [
        {
            "period": period,
            "asked_about": mine,
            "wanted_t": wanted,
            "served_t": served,
            "left_t": left,
            "reached": open_,
        }
        for period, mine, wanted, served, left, open_ in zip(
            periods,
            service.asked,
            service.wanted,
            service.served,
            service.left,
            service.reached,
            strict=True,
        )
    ]
    known: dict[str, Any] = {"months": months}
    if service.kept is not None:
        kept = service.kept
        known["yards_as_they_are"] = {
            "adds": float(kept.adds),
            "not_served_at_any_payment_t": float(kept.asked.short),
            "payments": [
                {"more_a_tonne": float(one.per_t), "short_t": float(one.left_t)}
                for one in kept.steps
            ],
            "short_t_without": {k: float(v) for k, v in kept.unbound.items()},
            "barred_t_without": {k: float(v) for k, v in kept.bars.items()},
        }
    return known


def _pair(pair: tuple[float, float] | None) -> list[float] | None:
    return None if pair is None else [float(value) for value in pair]
