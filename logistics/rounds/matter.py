"""Matter of a month: hauled, still to haul and short are together what was planned."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from logistics.rounds.at_hand import SPENT, Key
from logistics.scenario import records

if TYPE_CHECKING:
    import pandas as pd

LIMIT_T = 0.001
"""By how much a row of the account may be out: a kilogram. [t]"""


def matter_faults(
    table: pd.DataFrame, driven: Mapping[Key, float], left: Mapping[Key, float]
) -> list[str]:
    """
    Hold the account against the rounds: no tonne of the plan is lost or made.

    Parameters
    ----------
    table
        See `at_hand.account`.
    driven, left
        What the rounds from that day on haul, and leave over, by kind, place, material
        and yard. [t]

    Returns
    -------
    list of str
        Rows that are out by more than `LIMIT_T`, and rounds that no row asks for.
    """
    found = []
    seen = set()
    for row in records(table):
        key = (row["kind"], row["place"], row["material"], row["yard"])
        seen.add(key)
        given = row["plan_t"] + row["over_t"] + row["more_t"]
        still = driven.get(key, 0.0) + left.get(key, 0.0)
        spent = still + sum(row[name] for name in SPENT if name != "rest_t")
        if abs(given - spent) > LIMIT_T:
            found.append(
                f"{' '.join(key)}: {spent:.6g} t hauled, to haul or short, "
                f"{given:.6g} t planned"
            )
    for key in sorted({*driven, *left} - seen):
        found.append(f"{' '.join(key)}: hauled, but not planned")
    return found
