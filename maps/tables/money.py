"""Output tables of money, limits and proof: ledger, budget, shortages, worth, audit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.accounts import book, bought, worse_off
from logistics.results import of_sources
from logistics.studies import by_work
from maps.shared import headed, named, names, period_order
from maps.tables.budget import gains_table, unit_table, worth_table

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
            "paid by": _payer(result, table),
        }
    ).reset_index(drop=True)


def _payer(result: Result, table: pd.DataFrame) -> pd.Series[str]:
    """Say who pays or earns each row of the ledger, or of sums of it."""
    theirs = of_sources(table, result.scenario)
    return theirs.map({True: "the sources", False: "the programme"})


def budget(result: Result) -> pd.DataFrame:
    """Money of the year by account and line, each with where from; income below 0."""
    currency = result.scenario.settings.currency
    keys = ["account", "line"]
    total = result.ledger.groupby(keys, sort=False)["amount"].sum()
    table = total.rename(f"amount [{currency}/yr]").reset_index()
    table["paid by"] = _payer(result, table)
    table = headed(table, result.scenario)
    rows = [
        f"rows of ledger where account = {account} and line = {line}"
        for account, line in zip(table["account"], table["line"], strict=True)
    ]
    return table.assign(**{"from": rows})


def capital(result: Result) -> pd.DataFrame:
    """Works and machines to be bought before the yards open."""
    table, currency = bought(book(result).capital), result.scenario.settings.currency
    return pd.DataFrame(
        {
            "yard": table["yard"],
            "name": named(table["yard"], names(result, "yard")),
            "size": named(table["size"], names(result, "size")),
            "item": table["item"],
            "life [yr]": table["life"],
            f"cost [{currency}]": table["cost"],
        }
    )


def gains(result: Result) -> pd.DataFrame:
    """Who pays what today and with the plan, and who gains."""
    return gains_table(result, book(result))


def over_the_years(result: Result) -> pd.DataFrame:
    """Worth of the plan over the years, to the programme, the sources and all."""
    return worth_table(result, book(result))


def unit_costs(result: Result) -> pd.DataFrame:
    """Cost of a tonne collected, of compost, and of a tonne-kilometre."""
    return unit_table(result, book(result))


def dearer(result: Result) -> pd.DataFrame:
    """List sources whose fee is above what disposal costs them today."""
    table, currency = worse_off(result), result.scenario.settings.currency
    return pd.DataFrame(
        {
            "source": table["source"],
            "name": named(table["source"], names(result, "source")),
            f"fee [{currency}/t]": table["fee"],
            f"disposal today [{currency}/t]": table["today"],
            "collected [t/yr]": table["tonnes"],
            f"amount [{currency}/yr] more": table["more"],
        }
    )


def spending(result: Result) -> pd.DataFrame:
    """Recurrent money by heading and period: what must be paid, without annuities."""
    parts, currency = book(result).parts, result.scenario.settings.currency
    paid = parts[parts["kind"] == "recurrent"]
    keys = ["head", "name", "period"]
    table = paid.groupby(keys, observed=True)["amount"].sum().reset_index()
    order = {code: place for place, code in enumerate(period_order(result))}
    table["place"] = table["period"].map(order)
    table = table.sort_values(["head", "name", "place"], kind="stable")
    table["period"] = named(table["period"], names(result, "period"))
    heads = {"amount": f"amount [{currency}]"}
    return table.drop(columns="place").rename(columns=heads).reset_index(drop=True)


def districts(result: Result) -> pd.DataFrame:
    """Each district: what it brings, and its part of the net cost, split two ways."""
    table, currency = by_work(result), result.scenario.settings.currency
    table["district"] = named(table["district"], names(result, "district"))
    return table.rename(
        columns={
            "arises": "supply [t/yr]",
            "tonnes": "collected [t/yr]",
            "tonne_km": "hauled to the yards [t·km/yr]",
            "by_tonnes": f"amount [{currency}/yr] by tonnes, without own trucks",
            "by_tonne_km": f"amount [{currency}/yr] by t·km, without own trucks",
            "standing": f"amount [{currency}/yr] for own trucks",
        }
    )


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
