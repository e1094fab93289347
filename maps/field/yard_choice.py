"""The plan's yards beside those that rounds of what spoils would choose."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.rounds import FREE, PLANNED
from logistics.scenario import in_list
from maps.shared import named, names

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds import YardChoice

SIDES = {PLANNED: "the plan's yards", FREE: "chosen freely"}
ALL = "all yards"
COUNTED = (
    "In both cases every load may go to any open yard. A truck costs its hours, fuel, "
    "repairs and fares plus one day of its fixed cost; a yard costs its yearly cost "
    "divided by the working days."
)
NOT_COVERED = (
    "This is a second opinion, not a plan. The free choice has as many yards of each "
    "size as the plan, on sites that the land and the tables allow, but it leaves out "
    "the rest of the mix, water, markets and all other haulage."
)


def choice_table(result: Result, choice: YardChoice) -> pd.DataFrame:
    """Both choices yard by yard, each with a line for all of its yards."""
    table, money = choice.table, result.scenario.settings.currency
    parts = []
    for side in SIDES:
        here = table[table["choice"] == side]
        added = here.drop(columns=["choice", "yard", "size"]).sum().to_dict()
        total = pd.DataFrame([{"choice": side, "yard": ALL, "size": "", **added}])
        parts += [here, total]
    whole = pd.concat(parts, ignore_index=True)
    both = whole["truck_money"] + whole["yard_money"]
    return pd.DataFrame(
        {
            "yards": whole["choice"].map(SIDES),
            "yard": named(whole["yard"], names(result, "yard")),
            "size": named(whole["size"], names(result, "size")),
            "tonnes a day [t]": whole["tonnes"].astype(float).round(3),
            "at most a day [t]": whole["capacity_t"].astype(float).round(3),
            "trips [1]": whole["trips"].astype(int),
            "trucks [1]": whole["trucks"].astype(int),
            "way [km]": whole["km"].astype(float).round(2),
            "trucks out [h]": whole["hours"].astype(float).round(3),
            f"trucks [{money}/day]": whole["truck_money"].astype(float).round(2),
            f"yard [{money}/day]": whole["yard_money"].astype(float).round(2),
            f"both [{money}/day]": both.astype(float).round(2),
        }
    )


def choice_words(result: Result, choice: YardChoice) -> list[str]:
    """Say what a free choice of yards would change for a collecting day."""
    money = result.scenario.settings.currency
    label = names(result, "material")
    period = names(result, "period").get(choice.period, choice.period)
    freight = " and ".join(label.get(code, code) for code in choice.materials)
    sums = choice.table.groupby("choice").sum(numeric_only=True).to_dict("index")
    said = [
        f"If {freight} alone decided where the yards go (working day {choice.day} of "
        f"{period}, {sums[PLANNED]['tonnes']:,.1f} t to collect):"
    ]
    wide = max(map(len, SIDES.values()))
    for side, word in SIDES.items():
        known = sums[side]
        both = known["truck_money"] + known["yard_money"]
        said.append(
            f"  {word:<{wide}}  {known['trucks']:.0f} trucks out "
            f"{known['hours']:,.1f} h, {known['km']:,.0f} km; a day costs "
            f"{known['truck_money']:,.0f} for trucks + {known['yard_money']:,.0f} for "
            f"yards = {both:,.0f} {money}"
        )
    return [*said, *_moved(result, choice), COUNTED, NOT_COVERED]


def _moved(result: Result, choice: YardChoice) -> list[str]:
    """Say which yards the free choice has in place of which of the plan's."""
    label, sizes = names(result, "yard"), names(result, "size")
    have = {
        side: dict(zip(*(here[c] for c in ("yard", "size")), strict=True))
        for side, here in choice.table.groupby("choice")
    }

    def listed(side: str, other: str) -> str:
        found = []
        for yard, size in have[side].items():
            if have[other].get(yard) != size:
                grown = f" as {sizes.get(size, size)}" if yard in have[other] else ""
                found.append(f"{label.get(yard, yard)}{grown}")
        return in_list(found)

    new = listed(FREE, PLANNED)
    if not new:
        return ["The free choice keeps every yard where the plan puts it."]
    said = [f"It would use {new} instead of {listed(PLANNED, FREE)}."]
    free = choice.table[choice.table["choice"] == FREE]
    unused = free.loc[free["trips"] == 0, "yard"]
    if len(unused):
        said.append(f"None of it would go to {in_list(named(unused, label))}.")
    return said
