"""All months of a plan, driven: one folder, with the months beside each other."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from logistics.rounds import as_driven, summary
from logistics.scenario import records
from maps.field.feedback import turn_table
from maps.field.round_files import write_rounds
from maps.shared import count, money_unit, names, net_said, whole_set, write_csv
from maps.tables import write_budget, write_tables

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds import Driven, Turn

FOLDER, BUDGET = "rounds_all", "budget.xlsx"
SHEETS = {
    "overview": "Totals of each period, planned and driven",
    "not driven": "What was planned but not driven, and why",
    "feedback": "Planned against driven, plan by plan",
}
"""Sheets of overview.xlsx: what each answers."""


def overview(result: Result, driven: Sequence[Driven]) -> pd.DataFrame:
    """Set planned and driven of every period beside each other; the sums come last."""
    label, money = names(result, "period"), result.scenario.settings.currency
    rows = []
    for one in driven:
        known = summary(result, one)
        rows.append(
            {
                "period": one.period,
                "name": label.get(one.period, one.period),
                "planned [t]": known["planned_t"],
                "driven [t]": known["driven_t"],
                "not driven [t]": known["left_t"],
                "trips": known["trips"],
                "truck-days": known["tours"],
                "most trucks out on a day": known["most_trucks_out"],
                "planned [truck hours]": known["planned_hours"],
                "driven [truck hours]": known["driven_hours"],
                "driven [km]": known["driven_km"],
                "empty [km]": known["empty_km"],
                f"planned [{money}]": known["planned_money"],
                f"driven [{money}]": known["driven_money"],
            }
        )
    table = pd.DataFrame(rows)
    last = table.drop(columns=["period", "name"]).sum()
    last["most trucks out on a day"] = table["most trucks out on a day"].max()
    whole = pd.DataFrame([{"period": "all", "name": "all periods", **last}])
    table = pd.concat([table, whole], ignore_index=True)
    planned = table[f"planned [{money}]"].where(table[f"planned [{money}]"] > 0)
    table["driven above plan [%]"] = (table[f"driven [{money}]"] / planned - 1) * 100
    counts = ["trips", "truck-days", "most trucks out on a day"]
    return table.astype(dict.fromkeys(counts, int))


def not_driven(result: Result, driven: Sequence[Driven]) -> pd.DataFrame:
    """Sum what is planned and not driven by period, material and reason."""
    label, material = names(result, "period"), names(result, "material")
    rows = [
        {
            "period": label.get(one.period, one.period),
            "freight": material.get(str(code), str(code)),
            "not driven [t]": float(some["tonnes"].sum()),
            "loads": len(some),
            "reason": reason,
        }
        for one in driven
        for (code, reason), some in one.left.groupby(["material", "reason"])
    ]
    columns = ["period", "freight", "not driven [t]", "loads", "reason"]
    return pd.DataFrame(rows, columns=columns)


def write_all_rounds(
    result: Result, driven: Sequence[Driven], out: Path, turns: Sequence[Turn] = ()
) -> Path:
    """
    Write all periods into `out/rounds_all`; in place of an older set.

    Parameters
    ----------
    result, driven, out
        The plan, its periods driven, and the folder of outputs.
    turns
        What planning again with driven cost gave, for a sheet of its own.

    Returns
    -------
    Path
        The folder: `overview.xlsx`, `overview.csv`, `budget.xlsx` with haulage as
        driven, and a folder a period.
    """
    sheets = {
        "overview": overview(result, driven),
        "not driven": not_driven(result, driven),
    }
    if turns:
        sheets["feedback"] = turn_table(list(turns))
    title, what = result.scenario.settings.name, "All periods, planned and driven"
    folder = out / FOLDER
    with whole_set(folder, "rounds_all") as fresh:
        write_budget(as_driven(result, driven), fresh / BUDGET)
        write_tables(sheets, fresh / "overview.xlsx", title, what, SHEETS)
        write_csv(sheets["overview"].round(2), fresh / "overview.csv")
        for one in driven:
            write_rounds(result, one, fresh)
    return folder


def overview_lines(result: Result, driven: Sequence[Driven]) -> list[str]:
    """Say of every period, and of all, what is driven; what is not; what it costs."""
    money = result.scenario.settings.currency
    said = []
    for row in records(overview(result, driven)):
        cost, planned = row[f"driven [{money}]"], row[f"planned [{money}]"]
        said.append(
            f"{row['name']}: {row['driven [t]']:,.0f} of {row['planned [t]']:,.0f} t "
            f"driven in {row['trips']:,} trips, {row['truck-days']:,} truck-days, at "
            f"most {count(row['most trucks out on a day'], 'truck')} a day; "
            f"{cost:,.0f} {money} "
            f"driven, {planned:,.0f} planned."
        )
    said.append(_whole_year(result, driven))
    left = not_driven(result, driven).groupby("reason", sort=False)
    sums = left[["not driven [t]", "loads"]].sum()
    for why, some in sums.iterrows():
        tonnes, loads = some["not driven [t]"], int(some["loads"])
        said.append(f"Not driven: {tonnes:,.2f} t in {loads} loads: {why}.")
    if any(one.timed_out for one in driven):
        said.append("A search hit the time limit: another run may find other rounds.")
    return said


def _whole_year(result: Result, driven: Sequence[Driven]) -> str:
    """Say what rounds cost above the plan, and what the year costs with them."""
    found = as_driven(result, driven).summary
    above, planned = found["rounds_above_plan"], result.summary["haul_cost"]
    currency = result.scenario.settings.currency
    unit = money_unit(currency, [found["total_cost"], planned])
    side = "above" if above >= 0 else "below"
    share = abs(found["rounds_share"]["year"])
    return (
        f"Rounds {side} plan: {unit.said(abs(above))} a year, {share:.1%} of fuel, "
        f"repair, crew, fares and hire as planned. As driven, the year costs "
        f"{net_said(found['total_cost'], unit)} net, of it "
        f"{net_said(found['programme_cost'], unit)} to the programme."
        if planned
        else "Nothing is hauled."
    )
