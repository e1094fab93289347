"""
Haulage as estimated, and as a plan says it, against long-searched rounds.

    python tests/benchmarks/bench_haulage.py demos [separate]
    python tests/benchmarks/bench_haulage.py check
    python tests/benchmarks/bench_haulage.py fit

`demos` plans Brackwater and Highlake without feedback and drives all months: briefly,
as every plan is driven before it is shown, and with ten times as many steps, as
rounds are for drivers. `separate` takes no compost out and feedstock back on one
trip, which the estimate does not expect either. `check` does the same with ten random
districts that no constant was fitted on. `fit` shows what the constants of
`costs.round_estimate` and `problem.own_hours` rest on, for thirty others: hours
driven over planned for what spoils, and the share hired beside own trucks. Random
districts are those of `support/random_district.py`, with a gap of 2 % and 20 s asked.
"""

import sys
from collections.abc import Collection
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from support.random_district import random_district

from logistics.results import Result, run
from logistics.rounds.driven_money import above_plan
from logistics.rounds.driven_year import drive_year
from logistics.rounds.driving import Driven, drive
from logistics.rounds.fleet import homes
from logistics.rounds.tables import by_freight, tours
from logistics.scenario import Scenario, read_scenario

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
FITTED, CHECKED = range(1, 31), range(101, 111)
"""Seeds of the districts that constants were fitted on, and of those for the check."""
SEASONS = ("m01", "m04", "m07", "m10")
LONG = 200
EDGES = [0, 0.3, 0.5, 0.7, 0.8, 0.9, 1.0, 1.2, 1.5, 9]


def district(seed: int) -> Scenario:
    """Make a random district to be planned quickly."""
    made = random_district(seed)
    solve = made.settings.solve.model_copy(update={"seconds": 20.0, "gap": 0.02})
    return replace(made, settings=made.settings.model_copy(update={"solve": solve}))


def driven(
    scenario: Scenario, periods: Collection[str] = ()
) -> tuple[Result, list[Driven]]:
    """Plan, and drive some periods, or all."""
    result = run(scenario)
    chosen = periods or list(scenario.periods["period"])
    return result, [drive(result, p, workers=1, iterations=LONG) for p in chosen]


def by_period(result: Result, *, pair: bool = True) -> pd.DataFrame:
    """Money estimated, driven briefly and driven long, a row a period."""
    brief = above_plan(result, drive_year(result, pair=pair))
    done = drive_year(result, steps=LONG, pair=pair)
    sums = above_plan(result, done).groupby("period")[["planned", "driven"]].sum()
    left = {one.period: float(one.left["tonnes"].sum()) for one in done}
    return sums.assign(
        plan=brief.groupby("period")["driven"].sum(), left_t=pd.Series(left)
    )


def row(name: str, table: pd.DataFrame) -> str:
    """One line of the table of results; shares are of what is driven long."""
    cells = [name, *(f"{table[c].sum():,.0f}" for c in ("planned", "plan", "driven"))]
    for side in ("planned", "plan"):
        off = 100 * (table[side] / table["driven"] - 1)
        whole = 100 * (table[side].sum() / table["driven"].sum() - 1)
        cells += [f"{whole:+.1f}", f"{off.min():+.1f} to {off.max():+.1f}"]
    return f"| {' | '.join(cells)} | {table['left_t'].sum():.1f} |"


def hired_beside_own(result: Result, done: list[Driven]) -> pd.DataFrame:
    """Hours planned, own and hired by yard, type and period where own trucks stand."""
    scenario, stand = result.scenario, homes(result)
    days = scenario.periods.set_index("period")["working_days"]
    lanes = result.driven
    lanes = lanes.assign(
        yard=lanes["destination"].where(lanes["kind"] == "in", lanes["origin"])
    )
    hours = lanes.groupby(["period", "yard", "truck"])["hours"].sum()
    rows = []
    for one in done:
        rent = tours(one).query("whose == 'hired'").groupby(["yard", "type"])["hours"]
        paid = rent.sum().to_dict()
        for (yard, code), need in hours[one.period].items():
            count = stand[code].get(yard, 0)
            own = count * scenario.settings.work.hours_per_day * days[one.period]
            rows.append((need, own, paid.get((yard, code), 0.0)))
    return pd.DataFrame(rows, columns=["planned", "own", "hired"])


def spoiling_hours(result: Result, done: list[Driven]) -> tuple[float, float]:
    """Hours planned and driven of fish waste."""
    tables = pd.concat([by_freight(result, d) for d in done])
    fish = tables[tables["material"] == "fish_waste_mixed"]
    return float(fish["planned_h"].sum()), float(fish["driven_h"].sum())


def say(line: str) -> None:
    """Write a line at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def fit() -> None:
    """Show what the constants rest on."""
    tables, ratios = [], []
    for seed in FITTED:
        result, done = driven(district(seed), SEASONS)
        tables.append(hired_beside_own(result, done))
        planned, took = spoiling_hours(result, done)
        if planned > 0:
            ratios.append(took / planned)
    logs = np.log(ratios)
    say(
        f"fish waste, hours driven over planned, {len(ratios)} districts: "
        f"mean {np.exp(logs.mean()):.3f}, spread {logs.std():.3f}"
    )
    table = pd.concat(tables)
    table = table[table["own"] > 0]
    groups = table.groupby(pd.cut(table["planned"] / table["own"], EDGES))
    say("| planned over own hours | cases | mean | hired over own hours |")
    say("|---|--:|--:|--:|")
    for edge, some in groups:
        if len(some):
            own = some["own"].sum()
            mean, rent = some["planned"].sum() / own, some["hired"].sum() / own
            say(f"| {edge} | {len(some)} | {mean:.2f} | {rent:.2f} |")


def main() -> None:
    """Print the table that is asked for."""
    what = sys.argv[1] if len(sys.argv) > 1 else "demos"
    if what == "fit":
        fit()
        return
    say(
        "| district | estimate | plan | driven | estimate, year [%] | months [%] "
        "| plan, year [%] | months [%] | not driven [t] |"
    )
    say("|---|--:|--:|--:|--:|--:|--:|--:|--:|")
    made = (
        {name: read_scenario(SCENARIOS / name) for name in ("brackwater", "highlake")}
        if what == "demos"
        else {f"random {seed}": district(seed) for seed in CHECKED}
    )
    for name, scenario in made.items():
        say(row(name, by_period(run(scenario), pair="separate" not in sys.argv)))


if __name__ == "__main__":
    main()
