"""Planning with what driving takes, turn by turn: lines for a terminal, a table."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.rounds import by_turn, cheapest
from logistics.scenario import in_list
from maps.field.driven_tables import against, freight_names
from maps.shared import money_unit, net_said

if TYPE_CHECKING:
    from logistics.rounds import Turn
    from logistics.scenario import Scenario


def first_words(scenario: Scenario) -> list[str]:
    """Say what of the settings the loop leaves out, if anything."""
    if scenario.settings.fleet.pairing == "no":
        return []
    return [
        "These plans ignore fleet.pairing and have no paired trips: the measured costs "
        "already include what sharing trips saves."
    ]


def turn_line(turn: Turn, number: int) -> str:
    """Say of one turn what its haulage and its year cost, planned and driven."""
    money = money_unit(
        turn.result.scenario.settings.currency,
        [turn.planned_money, turn.driven_money, turn.whole_cost],
    )
    side = "above" if turn.above_plan >= 0 else "below"
    return (
        f"Turn {number}: haulage {money.said(turn.planned_money)} planned, "
        f"{money.text(turn.driven_money)} driven ({abs(turn.above_plan):.1%} {side} "
        f"plan); truck hours at most {turn.worst_hours:.1%} off plan in any month; "
        f"{turn.left_t:,.1f} t not driven; the year as driven costs "
        f"{net_said(turn.whole_cost, money)} net; yards: "
        f"{in_list(turn.result.summary['yards'])}."
    )


def turn_table(turns: list[Turn]) -> pd.DataFrame:
    """Planned against driven by feedstock in every turn, for people."""
    table = by_turn(turns)
    worded = against(table, turns[0].result)
    worded.insert(0, "turn", table["turn"])
    return worded


def turn_words(turns: list[Turn]) -> list[str]:
    """Set cost per tonne and in all of each feedstock side by side; name the best."""
    table, result = by_turn(turns), turns[0].result
    money = result.scenario.settings.currency
    known = freight_names(result)
    said = [f"Planned > driven, {money} per tonne and in total, turn by turn:"]
    wide = max(len(known[code]) for code in table["material"])
    for code, rows in table.groupby("material", sort=False):
        cells = [
            f"{row.planned_per_t:6.2f} > {row.driven_per_t:6.2f}"
            f"{row.planned_money:10,.0f} > {row.driven_money:8,.0f}"
            for row in rows.itertuples()
        ]
        said.append(f"  {known[str(code)]:<{wide}}  " + " | ".join(cells))
    best = cheapest(turns)
    which = "the last" if best == len(turns) - 1 else f"of {len(turns)}"
    return [*said, f"The plan of turn {best + 1} ({which}) is the cheapest to drive."]
