"""
What room for error in the mix and the available carbon of husk cost, on both demos.

Run with ``python tests/benchmarks/bench_mix.py [highlake] [brackwater]``. Not part of
the test run; the table stands in RESULTS.md.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np

from logistics.changes import CHANGES
from logistics.composting import feedstocks
from logistics.results import Result, run
from logistics.scenario import Scenario, change_setting, read_scenario

say = partial(print, flush=True)  # a benchmark speaks
DEMOS = Path(__file__).parents[2] / "scenarios"
HUSK = {"brackwater": "rice_husk", "highlake": "coffee_husk"}


def settings(scenario: Scenario, **values: object) -> Scenario:
    """The scenario with settings of the mix changed, and a gap of 1 %."""
    found = change_setting(scenario.settings, "solve.gap_pct", 1.0)
    for name, value in values.items():
        found = change_setting(found, f"mix.{name}", value)
    return replace(scenario, settings=found)


def cases(demo: str, margins: list[float]) -> Iterator[tuple[str, float, Scenario]]:
    """Yield what is counted, the margin [%] and the scenario."""
    base = read_scenario(DEMOS / demo)
    for margin in margins:
        yield "total", margin, settings(base, margin_pct=margin)
    for share in (100, 60, 40):
        own = base
        for material in base.materials["material"]:
            percent = share if material == HUSK[demo] else 100
            own = CHANGES["lab_values"](
                own, material=material, available_carbon_pct=percent
            )
        for margin in margins[:2]:
            if share < 100:
                yield (
                    f"available, husk {share} %",
                    margin,
                    settings(own, margin_pct=margin, cn_basis="available"),
                )


def row(counted: str, margin: float, scenario: Scenario) -> dict[str, object]:
    """Plan a case."""
    result = run(scenario)
    fish = result.supply["material"].str.contains("fish")
    spoils = set(result.supply.loc[fish, "source"])
    arises = result.supply.loc[fish, "tonnes_per_year"].sum()
    hauls = result.plan.hauls
    taken = hauls.loc[hauls["source"].isin(spoils), "tonnes"].sum()
    mixes = result.mixes
    return {
        "C:N counted": counted,
        "margin %": margin,
        "net cost": round(result.summary["total_cost"]),
        "fish %": round(100 * taken / arises, 1),
        "compost t": round(result.summary["compost_t"]),
        "yards": len(result.plan.yards),
        "C:N": f"{mixes['cn'].min():.1f}-{mixes['cn'].max():.1f}",
        "available": f"{mixes['cn_available'].min():.1f}-"
        f"{mixes['cn_available'].max():.1f}",
        "outside %": round(100 * outside(result), 1),
        "gap %": round(100 * result.plan.gap, 2),
        "s": round(result.plan.seconds, 1),
    }


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
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("demos", nargs="*", default=["highlake", "brackwater"])
    parser.add_argument("--margins", type=float, nargs="*", default=[0, 100, 200])
    given = parser.parse_args()
    for demo in given.demos:
        rows = []
        for case in cases(demo, given.margins):
            rows.append(row(*case))
            if len(rows) == 1:
                say("|", " | ".join([demo, *rows[0]]), "|")
            say("|", " | ".join(["", *map(str, rows[-1].values())]), "|")


if __name__ == "__main__":
    main()
