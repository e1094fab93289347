"""
What room for error, available carbon of husk and a C:N asked of compost cost.

    python tests/benchmarks/bench_mix.py [brackwater] [highlake] [--husks 60 40 ...]

Prints the tables that stand in RESULTS.md, in Markdown, with the machine below. Yards
are chosen anew in every row; the search begins with those of the district as it is,
which saves time. Not part of the test run.
"""

from __future__ import annotations

import argparse
import os
import platform
import time
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from importlib.metadata import version
from pathlib import Path

import numpy as np
import pandas as pd

from logistics.changes import CHANGES
from logistics.composting import feedstocks
from logistics.results import Result, run
from logistics.scenario import (
    Scenario,
    ScenarioError,
    add_row,
    read_scenario,
    with_settings,
)

say = partial(print, flush=True)  # a benchmark speaks
DEMOS = Path(__file__).parents[2] / "scenarios"
HUSK = {"brackwater": "rice_husk", "highlake": "coffee_husk"}
WORDS = 3
"""Columns of the table with words, not numbers."""


@dataclass(frozen=True)
class Case:
    """
    One row of the table.

    Attributes
    ----------
    husk
        Available carbon of husk, all else having 100, and the window counts it; None
        where the window counts all carbon. [%]
    margin
        `mix.margin_pct`. [%]
    high
        Highest C:N that the compost of every mix may have; None for any. [t/t]
    """

    husk: int | None
    margin: float
    high: float | None


AS_IS = Case(None, 100, None)


def cases(
    margins: list[float], husks: list[int], highs: list[float], asked: list[float]
) -> Iterator[Case]:
    """
    Yield every row: without a standard, then with each.

    All margins are tried for the district as it is, the first two where husk counts
    for less, and those `asked` with a standard.
    """
    for high in (None, *highs):
        for husk in (None, *husks):
            plain = margins if husk is None else margins[:2]
            for margin in plain if high is None else asked:
                yield Case(husk, margin, high)


def changed(base: Scenario, husk: str, case: Case) -> Scenario:
    """Write a row's settings into a scenario; planned to 1 %, however long it takes."""
    found = base
    values: dict[str, object] = {"solve.gap_pct": 1.0, "solve.seconds": 3600.0}
    values["mix.margin_pct"] = case.margin
    if case.husk is not None:
        for material in base.materials["material"]:
            percent = case.husk if material == husk else 100
            found = CHANGES["lab_values"](
                found, material=material, available_carbon_pct=percent
            )
        values["mix.cn_basis"] = "available"
    if case.high is not None:
        code = f"cn_{case.high:g}"
        row = {"standard": code, "name": "asked", "cn_high": case.high}
        found = add_row(found, "standards", row)
        values["product.standard"] = code
    return with_settings(found, values)


def planned(scenario: Scenario, first: Result) -> Result | str:
    """Plan a district, beginning with the yards of another plan; or say why not."""
    plan = first.plan
    start = {"start": plan.yard_sizes, "warm_start": plan.warm_start}
    try:
        return run(scenario, ways=first.travel, **start)
    except ScenarioError as error:
        return str(error).splitlines()[-1].strip()


def row(case: Case, result: Result | str) -> dict[str, object]:
    """Describe the plan of a case."""
    titles = {
        "C:N counted": "all" if case.husk is None else f"husk {case.husk} %",
        "compost C:N": "any" if case.high is None else f"<= {case.high:g}",
        "not met": "",
        "margin %": f"{case.margin:g}",
    }
    if isinstance(result, str):
        return {**titles, "not met": result}
    fish = result.supply["material"].str.contains("fish")
    spoils = set(result.supply.loc[fish, "source"])
    arises = result.supply.loc[fish, "tonnes_per_year"].sum()
    hauls = result.plan.hauls
    taken = hauls.loc[hauls["source"].isin(spoils), "tonnes"].sum()
    mixes, summary = result.mixes, result.summary
    wide = summary.get("any_plan_gap", result.plan.gap)
    return {
        **titles,
        "not met": shortages(result),
        "net cost": f"{summary['total_cost']:,.0f}",
        "fish %": f"{100 * taken / arises:.1f}",
        "compost t": f"{summary['compost_t']:,.0f}",
        "yards": len(result.plan.yards),
        "C:N": span(mixes["cn"]),
        "available": span(mixes["cn_available"]),
        "of compost": span(mixes["product_cn"]),
        "outside %": f"{100 * outside(result):.1f}" if len(mixes) else "",
        "gap %": percent(result.plan.gap, 2),
        "any gap %": percent(wide, 1),
        "s": f"{result.plan.seconds:.0f}",
    }


def shortages(result: Result) -> str:
    """Name the demands that this plan does not meet, each with how much is missing."""
    table = result.plan.shortages
    if not len(table):
        return ""
    together = table[table["how"] == "together"]
    sums = together.groupby(["what", "unit"], sort=False)["amount"].sum()
    return "; ".join(f"{what}: {n:,.0f} {unit}" for (what, unit), n in sums.items())


def percent(gap: float, digits: int) -> str:
    """Write a gap; a dash where demands give way, for their cost has no bound."""
    return f"{100 * gap:.{digits}f}" if np.isfinite(gap) else "-"


def span(values: pd.Series) -> str:
    """Write the least and the greatest; one number where they look alike."""
    if values.empty:
        return ""
    low, high = f"{values.min():.1f}", f"{values.max():.1f}"
    return low if low == high else f"{low}-{high}"


def outside(result: Result) -> float:
    """
    Share of mixes that leave a window, for errors with the ranges as standard error.

    Every value of every feedstock is drawn on its own from a normal distribution.
    """
    scenario, draws = result.scenario, 1000
    table = feedstocks(scenario).set_index("feedstock")
    charges = result.plan.charges.pivot_table(
        index=["yard", "period"], columns="feedstock", values="tonnes", fill_value=0.0
    )
    water = result.plan.water.set_index(["yard", "period"])["tonnes"]
    water = water.reindex(charges.index, fill_value=0.0).to_numpy()
    table, tonnes = table.loc[charges.columns], charges.to_numpy()
    rng, mix = np.random.default_rng(1), scenario.settings.mix

    def drawn(name: str, *, relative: bool = True) -> np.ndarray:
        value, span = (table[c].to_numpy(float) for c in (name, f"{name}_range"))
        span = span * value if relative else span
        return value + span * rng.standard_normal((draws, len(charges), len(value)))

    wet = drawn("moisture", relative=False)
    counted = 1.0 if mix.cn_basis == "total" else table["available_carbon"].to_numpy()
    dry = tonnes * (1 - wet)
    cn = (dry * drawn("carbon") * counted).sum(2) / (dry * drawn("nitrogen")).sum(2)
    moisture = ((tonnes * wet).sum(2) + water) / (tonnes.sum(1) + water)
    fails = (cn < mix.cn_low) | (cn > mix.cn_high)
    fails |= (moisture < mix.moisture_low) | (moisture > mix.moisture_high)
    return float(fails.mean())


def main() -> None:
    """Print a table for each demo, and on what it was reckoned."""
    parser = argparse.ArgumentParser()
    parser.add_argument("demos", nargs="*", default=["brackwater", "highlake"])
    parser.add_argument("--margins", type=float, nargs="*", default=[0, 100, 200])
    parser.add_argument("--husks", type=int, nargs="*", default=[100, 60, 40])
    parser.add_argument("--standards", type=float, nargs="*", default=[25, 20])
    parser.add_argument("--asked", type=float, nargs="*", default=[0, 100])
    given = parser.parse_args()
    since = time.perf_counter()
    for demo in given.demos:
        base = read_scenario(DEMOS / demo)
        husk = HUSK[demo]
        first = run(changed(base, husk, AS_IS))
        empty = dict.fromkeys(row(AS_IS, first), "")
        say(f"\n| {demo}: " + " | ".join(empty), "|")
        say("|" + "---|" * WORDS + "--:|" * (len(empty) - WORDS))
        wanted = (given.margins, given.husks, given.standards, given.asked)
        for case in cases(*wanted):
            same = case == AS_IS
            found = first if same else planned(changed(base, husk, case), first)
            cells = {**empty, **row(case, found)}.values()
            say("|", " | ".join(str(each) for each in cells), "|")
    names = ("highspy", "pulp", "numpy", "pandas")
    say(
        f"\n{os.cpu_count()} cores, {platform.system()} {platform.machine()}; Python "
        f"{platform.python_version()},",
        ", ".join(f"{name} {version(name)}" for name in names) + ";",
        f"{time.strftime('%d %B %Y').lstrip('0')}; "
        f"{(time.perf_counter() - since) / 60:.0f} minutes in all.",
    )


if __name__ == "__main__":
    main()
