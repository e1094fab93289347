"""What the board asks for and allows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from logistics.model.problem import LeastLoads, LeastShare, MostShare, Policy
from logistics.scenario import records

if TYPE_CHECKING:
    import pandas as pd

    from logistics.scenario import Scenario


def demands(scenario: Scenario, table: pd.DataFrame) -> Policy:
    """
    Read the demands of the board from the settings and the table policy.

    Parameters
    ----------
    scenario, table
        The tables; feedstocks, see `composting.feedstocks`.
    """
    policy = scenario.settings.policy
    return Policy(
        least_shares=least_shares(scenario),
        max_yards=policy.max_yards,
        capital_limit=policy.capital_limit,
        budget_limit=policy.budget_limit,
        most_share=most_share(scenario, table),
        most_exposed=policy.most_exposed,
    )


def least_shares(scenario: Scenario) -> tuple[LeastShare, ...]:
    """Read the table policy: a rule a row, named by the names of its materials."""
    sources, table = scenario.sources, scenario.materials
    label = dict(zip(table["material"], table["name"], strict=True))
    districts = scenario.districts
    district = dict(zip(districts["district"], districts["name"], strict=True))
    rules: list[LeastShare] = []
    for rule in records(scenario.policy):
        mask = np.ones(len(sources), dtype=bool)
        for column in ("material", "district"):
            if rule[column]:
                mask &= (sources[column] == rule[column]).to_numpy()
        material = rule["material"]
        name = label.get(material) or material or "all feedstock"
        if rule["district"]:
            name += f" in {district.get(rule['district']) or rule['district']}"
        chosen = tuple(np.flatnonzero(mask).tolist())
        code = f"rule_{len(rules) + 1}"
        rules.append(LeastShare(code, name, chosen, rule["share"]))
    return tuple(rules)


def most_share(scenario: Scenario, table: pd.DataFrame) -> MostShare | None:
    """
    Read the most that one material may be of a yard's intake; None for no limit.

    Parameters
    ----------
    scenario, table
        As for `demands`.
    """
    policy = scenario.settings.policy
    if not policy.most_share_material or policy.most_share is None:
        return None
    chosen = np.flatnonzero(table["material"] == policy.most_share_material)
    names = scenario.materials.set_index("material")["name"]
    name = str(names[policy.most_share_material]) or policy.most_share_material
    return MostShare(name, tuple(chosen.tolist()), policy.most_share)


def least_loads(scenario: Scenario) -> LeastLoads:
    """Read the least that is worth hauling, by period, from the settings."""
    haul = scenario.settings.haul
    days = scenario.periods["days"].to_numpy(dtype=float)
    return LeastLoads(haul.least_t_per_30_days * days / 30, haul.least_load_t)
