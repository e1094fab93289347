"""What was run: goal, proof, versions; enough to make the same plan again."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pandas as pd

from logistics.model import relative_gap
from maps.shared import STATUS_WORDS, held_words

if TYPE_CHECKING:
    from logistics.model import Plan
    from logistics.results import Result


def run_details(result: Result) -> pd.DataFrame:
    """Goal, proof, time and versions of the run, to make the same plan again."""
    plan, settings = result.plan, result.scenario.settings
    versions = result.summary.get("versions")
    parts = versions.items() if isinstance(versions, dict) else []
    rows: list[tuple[str, object]] = [
        ("goal: least", settings.goal.minimise),
        ("result", STATUS_WORDS.get(plan.status, plan.status)),
        ("value of the goal", plan.objective),
        ("proven bound", plan.bound if math.isfinite(plan.bound) else "none"),
        ("proven gap [%]", plan.gap * 100 if math.isfinite(plan.gap) else "not known"),
        *_whatever_is_held(plan),
        ("gap asked for [%]", settings.solve.gap * 100),
        ("solving time [s]", plan.seconds),
        ("travel", result.travel.basis),
        (
            "hash of settings and tables",
            str(result.summary.get("settings_hash", "not known")),
        ),
        *((f"version of {name}", str(number)) for name, number in parts),
    ]
    return pd.DataFrame(rows, columns=["what", "value"]).astype({"value": object})


def _whatever_is_held(plan: Plan) -> list[tuple[str, object]]:
    """Say what is proven whatever is held, where the bound takes it as held."""
    if plan.any_bound is None:
        return []
    known = math.isfinite(plan.any_bound)
    least = min(plan.any_bound, plan.objective)
    gap = relative_gap(plan.objective, least)
    return [
        ("bound and gap are for plans with", held_words(plan)),
        ("bound for all plans", least if known else "none"),
        ("gap for all plans [%]", gap * 100 if known else "not known"),
    ]
