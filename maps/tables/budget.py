"""The budget in tables with units: what an official attaches to the estimates."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.accounts import (
    RATE,
    Book,
    bought,
    cash_flow,
    cut,
    identities,
    rate_of_return,
    sensitivity,
    switching,
    unit_costs,
    who_gains,
    worth,
)
from logistics.costs import hire_rate
from logistics.scenario import rows_by
from maps.shared import named, names, period_order

if TYPE_CHECKING:
    from logistics.results import Result

KINDS = {
    "recurrent": "recurrent",
    "capital_charge": "capital as a yearly charge",
    "revenue": "revenue",
    "outside": "paid by the sources",
}
FLOW_HEADS = {
    "capital": "capital",
    "replacement": "replacement",
    "physical": "physical contingency",
    "wages": "pay",
    "fuel": "fuel",
    "other": "other recurrent",
    "rise": "price contingency",
    "revenue": "revenue",
    "residual": "unused life at the end",
    "disposal_saved": "present disposal saved by the programme",
    "net": "income less costs of the programme",
    "sources": "gain of the sources",
    "district": "the two together: the district",
    "factor": "discount factor",
    "value": "present value of the programme",
    "value_sources": "present value of the sources' gain",
    "value_district": "present value of the district",
}


BASES = {
    "running": "recurrent only",
    "full": "with capital as a yearly charge",
    "net": "the same less income: net cost to the programme",
}
INCOME = ["revenue", "residual", "disposal_saved"]
"""Columns of the cash flow that are income: below zero in every sheet."""


def _money(result: Result) -> str:
    return result.scenario.settings.currency


def parts_table(result: Result, book: Book) -> pd.DataFrame:
    """List the parts of every row of the ledger; the budget is summed from these."""
    table = book.parts
    return pd.DataFrame(
        {
            "row of the ledger": table["row"] + 2,
            "entry": table["entry"],
            "head": table["head"],
            "name": table["name"],
            "kind": table["kind"].map(KINDS),
            "pay": table["pay"].map({True: "pay", False: "other"}),
            "price class": table["price"],
            "yard": table["yard"].replace("", "none"),
            "district": table["district"].replace("", "none"),
            "period": table["period"],
            f"amount [{_money(result)}/yr]": table["amount"],
        }
    )


def headings(book: Book) -> pd.DataFrame:
    """List the headings in use: head, name, kind, in the order of the chart."""
    table = book.parts[["head", "name", "kind"]].drop_duplicates()
    return table.sort_values(["head", "name"], kind="stable", ignore_index=True)


def capital_list(result: Result, book: Book) -> pd.DataFrame:
    """List what is bought before the yards open: place, life, cost, yearly charge."""
    table = _purchases(result, book, bought(book.capital))
    table["year of purchase"] = 0
    table["source of funds"] = ""
    return table


def renewals(result: Result, book: Book) -> pd.DataFrame:
    """List machines that stand already: their life, cost, and first year of renewal."""
    table = book.capital[book.capital["stands"]]
    listed = _purchases(result, book, table)
    listed["first renewed in year"] = np.ceil(table["life"].to_numpy(dtype=float))
    return listed


def _purchases(result: Result, book: Book, table: pd.DataFrame) -> pd.DataFrame:
    money = _money(result)
    yards, sizes = names(result, "yard"), names(result, "size")
    extra = book.prices["physical"].reindex(table["item"]).to_numpy(dtype=float)
    return pd.DataFrame(
        {
            "yard": table["yard"].map(yards),
            "district": named(table["district"], names(result, "district")),
            "size": table["size"].map(sizes),
            "item": table["item"],
            "quantity": 1,
            "life [yr]": table["life"],
            f"cost [{money}]": table["cost"],
            f"amount of physical contingency [{money}]": table["cost"] * extra,
        }
    ).reset_index(drop=True)


def cash_table(result: Result, book: Book) -> pd.DataFrame:
    """Lay out the years, income below zero as in the ledger; what is left above."""
    money = f"[{_money(result)}]"
    heads = {k: f"{v} {money}" for k, v in FLOW_HEADS.items() if k != "factor"}
    table = cash_flow(book)
    table[INCOME] = 0.0 - table[INCOME]  # no minus before a zero
    table = table[["year", *FLOW_HEADS]]
    return table.rename(columns=heads | {"factor": FLOW_HEADS["factor"]})


NOT_PAID_BACK = "not within the years"
NO_RETURN = "none: it never earns back what it spends"


def worth_table(result: Result, book: Book) -> pd.DataFrame:
    """Say what the plan is worth over the years, to the programme and in all."""
    money, finance = _money(result), book.finance
    value, rate = worth(cash_flow(book)), rate_of_return(book)
    needed = float(bought(book.capital)["cost"].sum())
    payer = "the programme" if book.pays_disposal else "the sources"
    back = NOT_PAID_BACK if value.payback is None else value.payback
    rows: list[tuple[str, object, str]] = [
        ("prices and rates", finance.basis, ""),
        ("discount rate without inflation", finance.discount * 100, "%"),
        ("inflation, in nominal money only", finance.inflation * 100, "%"),
        ("years", finance.horizon_years, "yr"),
        ("capital before contingencies", needed, money),
        ("net annual cost to the programme", book.programme, f"{money}/yr"),
        ("paid by the sources", book.kind("outside"), f"{money}/yr"),
        ("net annual cost, as in the ledger", book.net, f"{money}/yr"),
        ("present disposal of all, without the plan", book.today, f"{money}/yr"),
        ("who pays for present disposal", payer, ""),
        ("the programme: net present value of its own money", value.programme, money),
        ("the programme: its own money is paid back after", back, "yr"),
        (
            "the programme: return on its own money",
            NO_RETURN if np.isnan(rate) else rate * 100,
            "" if np.isnan(rate) else "% a year",
        ),
        ("the sources: net present value of what they gain", value.sources, money),
        (
            "the district: the two together; nobody is paid this",
            value.district,
            money,
        ),
    ]
    return pd.DataFrame(rows, columns=["what", "value", "unit"])


TOGETHER = "together: the district"


def gains_table(result: Result, book: Book) -> pd.DataFrame:
    """Say who pays what today and with the plan, and who gains."""
    money, table = _money(result), who_gains(result, book)
    sums = table[["today", "plan", "gain"]].sum()
    whole = pd.DataFrame([{"who": TOGETHER, "district": "", "material": "", **sums}])
    table = pd.concat([table, whole], ignore_index=True)
    return pd.DataFrame(
        {
            "who": table["who"],
            "district": named(table["district"], names(result, "district")),
            "feedstock": named(table["material"], names(result, "material")),
            f"pays today [{money}/yr]": table["today"],
            f"pays with the plan [{money}/yr]": table["plan"],
            f"gains [{money}/yr]": table["gain"],
        }
    )


def unit_table(result: Result, book: Book) -> pd.DataFrame:
    """Give the cost of a unit: running, full (with capital), net (less income)."""
    money, table = _money(result), unit_costs(book)
    table["basis"] = table["basis"].map(BASES)
    table["rows"] = table["rows"].str.slice(0, 500)
    return table.rename(
        columns={
            "money": f"money [{money}/yr]",
            "cost": f"cost of one [{money}]",
            "rows": "rows of the ledger",
        }
    )


def sensitivity_table(result: Result, book: Book) -> pd.DataFrame:
    """Price the same plan otherwise; the plan itself stays as it is."""
    money = _money(result)
    return sensitivity(book).rename(
        columns={
            "net": f"net annual cost [{money}/yr]",
            "more": f"more than planned [{money}/yr]",
            "programme": f"present value of the programme [{money}]",
            "district": f"present value of the district [{money}]",
        }
    )


def switching_table(book: Book) -> pd.DataFrame:
    """Say how far a price must move until the plan is worth nothing, and to whom."""
    table = switching(book)
    rate = table["what"] == RATE
    return pd.DataFrame(
        {
            "what": table["what"],
            "the programme's own money is worth nothing at [%]": (
                table["programme"] * 100
            ),
            "the district is no better off at [%]": table["district"] * 100,
            "meaning": [
                "the rate itself: the programme's return; of the district, a rate that "
                "nobody is paid"
                if is_rate
                else "more than planned (minus: less); blank if no change does it"
                for is_rate in rate
            ],
        }
    )


def vehicles(result: Result) -> pd.DataFrame:
    """Running-cost sheet of each truck type: work, fuel, money, cost of a km."""
    money, lanes = _money(result), result.driven
    trucks = result.scenario.trucks.set_index("truck")
    names_ = names(result, "truck")
    lanes = lanes.assign(work=lanes["tonnes"] * lanes["km"])
    columns = ["trips", "vehicle_km", "hours", "fuel_l", "tonnes", "work"]
    lines = ["fuel", "repair", "crew", "fare"]
    sums = lanes.groupby("truck", sort=False)[[*columns, *lines]].sum()
    sums = sums.reindex(list(trucks.index)).fillna(0.0)
    hired = result.plan.hired.groupby("truck")["hours"].sum()
    hours = hired.reindex(sums.index).fillna(0.0)
    rows = rows_by(result.scenario.trucks, "truck")
    day = result.scenario.settings.work.hours_per_day
    sums["hire"] = hours * [hire_rate(rows[code], day) for code in sums.index]
    sums["standing"] = trucks["owned"] * trucks["fixed_cost_per_year"]
    total = sums[[*lines, "hire", "standing"]].sum(axis=1)
    return pd.DataFrame(
        {
            "truck": [names_[code] for code in sums.index],
            "owned": trucks["owned"].to_numpy(),
            "trips [1]": sums["trips"].to_numpy(),
            "driven [km/yr]": sums["vehicle_km"].to_numpy(),
            "hours [h]": sums["hours"].to_numpy(),
            "of them hired [h]": hours.to_numpy(),
            "fuel [L/yr]": sums["fuel_l"].to_numpy(),
            "hauled [t/yr]": sums["tonnes"].to_numpy(),
            **{
                f"cost [{money}/yr] {name}": sums[code].to_numpy()
                for code, name in (
                    ("fuel", "fuel"),
                    ("repair", "tyres, repair"),
                    ("crew", "crew"),
                    ("fare", "tolls, ferries"),
                    ("hire", "hire"),
                    ("standing", "standing cost"),
                )
            },
            f"cost [{money}/yr] in all": total.to_numpy(),
            f"a km [{money}/km]": (total / sums["vehicle_km"]).to_numpy(),
            f"a t·km [{money}/(t·km)]": (total / sums["work"]).to_numpy(),
        }
    )


def outputs(result: Result, book: Book) -> pd.DataFrame:
    """Give the output indicators: tonnes, compost, kilometres, litres, by period."""
    lanes, plan = result.driven, result.plan
    inward = lanes[lanes["kind"] == "in"]
    order = period_order(result)
    label = names(result, "period")

    def by(table: pd.DataFrame, column: str) -> pd.Series:
        return table.groupby("period", observed=True)[column].sum()

    columns = {
        "collected [t]": by(inward, "tonnes"),
        "left [t]": by(plan.uncollected, "tonnes"),
        "compost made [t]": by(plan.compost, "made_t"),
        "compost delivered [t]": by(plan.deliveries, "tonnes"),
        "driven [km]": by(lanes, "vehicle_km"),
        "truck hours [h]": by(lanes, "hours"),
        "fuel [L]": by(lanes, "fuel_l"),
        "to be paid in the month": by(
            book.parts[book.parts["kind"] == "recurrent"], "amount"
        ),
    }
    table = pd.DataFrame(columns).reindex(order).fillna(0.0)
    table.insert(0, "period", [label[code] for code in order])
    money = f"cost [{_money(result)}] recurrent"
    return table.rename(columns={"to be paid in the month": money})


def behind(book: Book) -> pd.DataFrame:
    """Name the rows of the ledger behind every heading."""
    return cut(book.parts, "head", "name")[["head", "name", "rows"]]


def checks(result: Result, book: Book) -> pd.DataFrame:
    """Set every cut of the money beside the ledger."""
    table = identities(book, result.ledger)
    table["passed"] = table["passed"].map({True: "yes", False: "NO"})
    return table
