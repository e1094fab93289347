"""What a month planned anew changes, and for whom: places, trucks, money."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from logistics.rounds.tables import calls, tours

if TYPE_CHECKING:
    from logistics.rounds.anew import Anew
    from logistics.rounds.driving import Driven

LEAST_T = 0.0005
"""Tonnes under this are no difference. [t]"""
PLACE = ["day", "kind", "place", "material", "yard"]
TRUCK = ["day", "truck"]


def place_differences(anew: Anew) -> pd.DataFrame:
    """
    Say what changes at every place from the first day of the trouble on.

    Returns
    -------
    DataFrame
        day, kind ("in" fetched, "out" brought), place, material, yard, before_t,
        after_t [t], before_trucks, after_trucks (names, in the order of the day),
        before_h, after_h (first call [h after midnight], not a number without one);
        only rows that differ in tonnes, truck or by a quarter of an hour.
    """
    first = anew.trouble.first
    before = _by_place(anew.before, first).add_prefix("before_")
    table = before.join(_by_place(anew.after, first).add_prefix("after_"), how="outer")
    for column in ("before_t", "after_t"):
        table[column] = table[column].astype(float).fillna(0.0)
    for column in ("before_trucks", "after_trucks"):
        table[column] = table[column].fillna("").astype(str)
    for column in ("before_h", "after_h"):
        table[column] = table[column].astype(float)
    other = (table["before_t"] - table["after_t"]).abs() > LEAST_T
    other |= table["before_trucks"] != table["after_trucks"]
    other |= (table["before_h"] - table["after_h"]).abs() > 0.25
    return table[other].reset_index()


def _by_place(driven: Driven, first: int) -> pd.DataFrame:
    """Tonnes, trucks and first call of each place, day and yard."""
    table = calls(driven)
    table = table[(table["day"] >= first) & table["kind"].isin(["in", "out"])]
    groups = table.groupby(PLACE, sort=True)
    return pd.DataFrame(
        {
            "t": groups["tonnes"].sum(),
            "trucks": groups["truck"].agg(_listed),
            "h": groups["arrives_h"].min(),
        }
    )


def _listed(trucks: pd.Series[str]) -> str:
    """Name each truck once, in the order of the day."""
    return ", ".join(dict.fromkeys(trucks))


def truck_differences(anew: Anew) -> pd.DataFrame:
    """
    Say what changes for every truck from the first day of the trouble on.

    Returns
    -------
    DataFrame
        day, truck, and before_ and after_ of trips, tonnes [t], km, ends_h [h after
        midnight], money; noughts where it stays at home. Only rows that differ.
    """
    columns = ["trips", "tonnes", "km", "ends_h", "money"]
    both = []
    for driven, side in ((anew.before, "before_"), (anew.after, "after_")):
        table = tours(driven)
        table = table[table["day"] >= anew.trouble.first]
        sums = table.groupby(TRUCK)[columns].agg(
            {name: "max" if name == "ends_h" else "sum" for name in columns}
        )
        both.append(sums.astype(float).add_prefix(side))
    table = both[0].join(both[1], how="outer").fillna(0.0)
    other = pd.Series(data=False, index=table.index)
    for name in columns:
        other |= (table[f"before_{name}"] - table[f"after_{name}"]).abs() > LEAST_T
    return table[other].reset_index()


def in_short(anew: Anew) -> dict[str, Any]:
    """
    Sum the differences up.

    Returns
    -------
    dict
        days (that change), places, trucks (that change), driven_t, left_t, missing_t,
        turned_t [t] and more_money, each after against before but for missing and
        turned.
    """
    places, trucks = place_differences(anew), truck_differences(anew)
    done = [tours(one) for one in (anew.before, anew.after)]
    left = [float(one.left["tonnes"].sum()) for one in (anew.before, anew.after)]
    return {
        "days": sorted({*places["day"].tolist(), *trucks["day"].tolist()}),
        "places": int(places["place"].nunique()),
        "trucks": int(trucks["truck"].nunique()),
        "driven_t": float(done[1]["tonnes"].sum() - done[0]["tonnes"].sum()),
        "left_t": left[1] - left[0],
        "missing_t": anew.missing_t,
        "turned_t": float(sum(t.visit.tonnes for t in anew.turned if t.yard)),
        "more_money": float(done[1]["money"].sum() - done[0]["money"].sum()),
    }
