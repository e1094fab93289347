"""The register of figures: what was proven and checked, and inputs told in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from logistics.scenario import flat_settings, settings_columns
from maps.shared import board_demands
from maps.tables.lineage_record import ALL, Lineage
from maps.tables.lineage_terms import Rows

if TYPE_CHECKING:
    from logistics.results import Result


def proof(result: Result) -> Iterator[Lineage]:
    """Name what was proven, checked and assumed."""
    search = (ALL, "search")

    def run(what: str) -> Rows:
        return Rows("run", "value", (("what", "=", what),), how="look")

    goal, bound = run("value of the goal"), run("proven bound")
    yield Lineage("goal", "Value of the goal", "", goal, search)
    yield Lineage("bound", "Proven bound of the goal", "", bound, search)
    yield Lineage("gap_value", "Proven gap", "", goal - bound, search)
    loose = goal - run("bound for all plans")
    title = "Gap to all plans"
    yield Lineage("any_gap_value", title, "", loose, search)
    yield Lineage("any_gap", title, "%", run("gap for all plans [%]"), search)
    yield Lineage("gap", "Proven gap", "%", run("proven gap [%]"), search)
    yield Lineage("gap_asked", "Gap asked for", "%", run("gap asked for [%]"), search)
    yield Lineage("seconds", "Solving time", "s", run("solving time [s]"), ("search",))
    yield Lineage("checks", "Checks of the plan", "", Rows("audit"))
    failed = Rows("audit", where=(("passed", "=", "NO"),))
    yield Lineage("checks_failed", "Checks that failed", "", failed)
    rows = Rows("audit", "rows checked")
    yield Lineage("rows_checked", "Rows checked", "", rows)
    values = Rows("defaults_used")
    yield Lineage("defaults", "Defaults in use", "", values, ("defaults",))


TOLD = (
    "policy.max_yards",
    "policy.capital_limit",
    "policy.budget_limit",
    "policy.most_share_pct",
    "policy.most_exposed",
    "people.near_m",
    "people.middle_m",
    "people.far_m",
    "people.road_m",
    "people.trucks_per_day",
    "mix.cn_low",
    "mix.cn_high",
    "mix.moisture_low_pct",
    "mix.moisture_high_pct",
    "mix.salt_high_pct",
    "process.active_days",
    "process.curing_days",
    "process.nitrogen_loss_pct",
    "process.product_moisture_pct",
    "product.n_pct",
    "product.p2o5_pct",
    "finance.discount_pct",
    "finance.horizon_years",
)
"""Settings that the report tells in a sentence."""


def inputs(result: Result) -> Iterator[Lineage]:
    """Name the settings, factors and demands that sentences tell."""
    values, columns = flat_settings(result.scenario.settings), settings_columns()
    for name in TOLD:
        if values[name] is not None:
            unit = columns[name].unit
            yield _stated(f"setting/{name}", f"Setting {name}", unit, name)
    for name in ("gwp_ch4", "gwp_n2o", "soil_carbon_share"):
        yield _stated(f"factor/{name}", f"Factor {name}", "", name, "gases")
    for number, item in enumerate(board_demands(result.scenario)):
        yield _stated(f"asked/{number}", f"Asked by the board: {item}", "%", item)


def _stated(
    code: str, name: str, unit: str, item: str, rests: str = "assumptions"
) -> Lineage:
    """Look an input up in the table of assumptions."""
    rows = Rows("assumptions", "value", (("item", "=", item),), how="look")
    return Lineage(code, name, unit, rows, (rests,))
