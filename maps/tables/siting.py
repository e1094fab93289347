"""What the land screening found, for the tables, the map and the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.land import NOT_LAW, barred_lanes, refused
from logistics.scenario import in_list
from maps.shared import named, names
from maps.shared import screening as found

if TYPE_CHECKING:
    from logistics.results import Result

ACTIONS = {"refuse": "refused", "warn": "warning"}


def screening(result: Result) -> pd.DataFrame:
    """Every siting rule that a yard breaks (planning screen, not law)."""
    table, rules = found(result), result.scenario.tables.get("siting_rules")
    if rules is None:
        rules = pd.DataFrame(columns=["rule", "name", "status", "source"])
    of_rule = rules.set_index("rule")[["name", "status", "source"]]
    of_rule = of_rule.reindex(table["rule"]).fillna("")
    return pd.DataFrame(
        {
            "yard": table["yard"],
            "name": named(table["yard"], names(result, "yard")),
            "outcome": table["action"].map(ACTIONS),
            "for": named(table["feedstock"], names(result, "material")).replace(
                "", "all feedstock"
            ),
            "reason": table["reason"],
            "rule": table["rule"],
            "rule name": of_rule["name"].to_numpy(),
            "found [unit beside it]": table["found"].astype(float),
            "needed [unit beside it]": table["needed"].astype(float),
            "unit": table["unit"],
            "standing of the rule": of_rule["status"].to_numpy(),
            "source of the rule": of_rule["source"].to_numpy(),
        }
    )


def reasons(result: Result) -> dict[str, list[tuple[str, str]]]:
    """Yard -> outcome and reason of every rule it breaks, refusals first."""
    table = found(result)
    table = table.assign(order=(table["action"] != "refuse")).sort_values(
        "order", kind="stable"
    )
    lists: dict[str, list[tuple[str, str]]] = {}
    for yard, action, reason in table[["yard", "action", "reason"]].itertuples(
        index=False
    ):
        lists.setdefault(str(yard), []).append((ACTIONS[str(action)], str(reason)))
    return lists


def why_refused(result: Result, yard: str) -> str:
    """Reasons for which a candidate is refused wholly, in one line; empty if none."""
    table = found(result)
    rows = (table["yard"] == yard) & (table["action"] == "refuse")
    rows &= table["feedstock"] == ""
    return "; ".join(table.loc[rows, "reason"].astype(str))


def screening_line(result: Result) -> str:
    """Count what the screening did, in one sentence; empty if it found nothing."""
    table = found(result)
    if table.empty:
        return ""
    out, kept = refused(table), barred_lanes(table)
    some = set(kept["yard"]) - out
    warned = set(table["yard"]) - out - some
    parts = [
        f"{_count(len(out))} refused" if out else "",
        f"{_count(len(some))} kept from some feedstock" if some else "",
        f"{_count(len(warned), 'yard')} with warnings only" if warned else "",
    ]
    told = in_list(part for part in parts if part)
    return f"Land screening: {told} (see sheet screening). A {NOT_LAW}."


def _count(number: int, word: str = "candidate") -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
