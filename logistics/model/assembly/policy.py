"""What the board asks for and allows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from logistics.model.problem import LeastShare, Policy
from logistics.scenario import records

if TYPE_CHECKING:
    from logistics.scenario import Scenario


def demands(scenario: Scenario) -> Policy:
    """Read the demands of the board from the settings and the table policy."""
    policy = scenario.settings.policy
    return Policy(
        least_shares=least_shares(scenario),
        max_yards=policy.max_yards,
        capital_limit=policy.capital_limit,
        budget_limit=policy.budget_limit,
    )


def least_shares(scenario: Scenario) -> tuple[LeastShare, ...]:
    """Read the table policy: a rule a row, named by the names of its materials."""
    sources, table = scenario.sources, scenario.materials
    label = dict(zip(table["material"], table["name"], strict=True))
    rules: list[LeastShare] = []
    for rule in records(scenario.policy):
        mask = np.ones(len(sources), dtype=bool)
        for column in ("material", "district"):
            if rule[column]:
                mask &= (sources[column] == rule[column]).to_numpy()
        material = rule["material"]
        name = label.get(material) or material or "all feedstock"
        if rule["district"]:
            name += f" in {rule['district']}"
        chosen = tuple(np.flatnonzero(mask).tolist())
        code = f"rule_{len(rules) + 1}"
        rules.append(LeastShare(code, name, chosen, rule["share"]))
    return tuple(rules)
