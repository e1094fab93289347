"""Output tables of money, limits and proof: ledger, budget, shortages, worth, audit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from maps.shared import headed, names

if TYPE_CHECKING:
    from logistics.results import Result


def ledger(result: Result) -> pd.DataFrame:
    """Every entry of the recount of the money; costs positive, income negative."""
    table, currency = result.ledger, result.scenario.settings.currency
    return pd.DataFrame(
        {
            "account": table["account"],
            "line": table["line"],
            "place": table["place"],
            "period": table["period"],
            "quantity": table["quantity"],
            "unit": table["unit"],
            f"rate [{currency}/unit]": table["rate"],
            f"amount [{currency}/yr]": table["amount"],
        }
    ).reset_index(drop=True)


def budget(result: Result) -> pd.DataFrame:
    """Money of the year by account and line; income below zero."""
    currency = result.scenario.settings.currency
    keys = ["account", "line"]
    total = result.ledger.groupby(keys, sort=False)["amount"].sum()
    table = total.rename(f"amount [{currency}/yr]").reset_index()
    return headed(table, result.scenario)


def shortages(result: Result) -> pd.DataFrame:
    """Demands the plan cannot meet: what, where, when and by how much."""
    return result.plan.shortages.drop(columns="limit").reset_index(drop=True)


def worth(result: Result) -> pd.DataFrame:
    """Worth of one unit more of whatever limits the plan, dearest first."""
    table, currency = result.plan.worth, result.scenario.settings.currency
    order = table["value"].abs().sort_values(ascending=False, kind="stable").index
    table = table.loc[order].reset_index(drop=True)
    return pd.DataFrame(
        {
            "kind": table["kind"],
            "where": table["where"],
            "when": table["when"].map(
                lambda code: names(result, "period").get(str(code), str(code))
            ),
            f"saved by one unit more [{currency}/unit]": table["value"],
            "unit": table["unit"],
            "in words": table["words"],
        }
    )


def audit(result: Result) -> pd.DataFrame:
    """Independent check of the plan against every inequality."""
    table = result.audit
    return pd.DataFrame(
        {
            "check": table["check"],
            "rows checked": table["rows"],
            "worst breach": table["worst"],
            "allowed": table["tolerance"],
            "passed": table["passed"].map({True: "yes", False: "NO"}),
        }
    )
