"""What compost saves a farm in mineral fertiliser."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logistics.scenario import Factors, factor_value

if TYPE_CHECKING:
    from logistics.scenario import Settings

NUTRIENTS = ("n", "p2o5", "k2o")

Shares = Mapping[str, float]
"""Of each nutrient, what crops use. [kg/kg]"""


def first_year(factors: Factors) -> Shares:
    """Share that crops use in the year of the first dressing: `n_first_year` etc."""
    return {key: factor_value(factors, f"{key}_first_year") for key in NUTRIENTS}


def over_rotation(factors: Factors) -> Shares:
    """Share used in the end, with a dressing every year: `n_over_rotation` etc."""
    return {key: factor_value(factors, f"{key}_over_rotation") for key in NUTRIENTS}


USUAL_N = 0.012
"""Nitrogen of dry compost where nothing is declared: judgement. [t/t]"""


def leftover_nitrogen(settings: Settings) -> float:
    """
    Nitrogen counted for compost that no market takes, share of its dry mass. [t/t]

    What is left over in a period has a content of its own, which would make the goal of
    least emissions a product of two decisions; so the content declared counts, or else
    `USUAL_N`.
    """
    declared = settings.product.n
    return USUAL_N if declared is None else declared


@dataclass(frozen=True)
class FertiliserSaving:
    """
    Mineral fertiliser that compost stands in for, by nutrient.

    Attributes
    ----------
    applied, available, saved
        In the compost; usable by the crop; saved, which is never more than the crop
        needs. Keys n, p2o5, k2o. [kg/ha]
    share_of
        Saved over needed, by nutrient. [kg/kg]
    share
        Saved over needed, N + P2O5 + K2O together. [kg/kg]
    """

    applied: dict[str, float]
    available: dict[str, float]
    saved: dict[str, float]
    share_of: dict[str, float]
    share: float

    def words(self, when: str = "In the first year") -> str:
        """Say it soberly, and say where nitrogen falls short."""
        text = (
            f"{when} this compost replaces about {self.share:.0%} of the mineral "
            f"fertiliser (N + P2O5 + K2O): {self.share_of['n']:.0%} of the N, "
            f"{self.share_of['p2o5']:.0%} of the P2O5 and "
            f"{self.share_of['k2o']:.0%} of the K2O."
        )
        if self.share_of["n"] < self.share / 2:
            text += (
                " Nitrogen alone falls far short of that: most of it stays in the "
                "soil, so nitrogen must still be bought."
            )
        return text


def fertiliser_saving(
    rate_t_ha: float,
    moisture: float,
    content: dict[str, float],
    need: dict[str, float],
    usable: Shares,
) -> FertiliserSaving:
    """
    Mineral fertiliser saved by a dressing of compost.

    Parameters
    ----------
    rate_t_ha
        Compost spread, as delivered. [t/ha]
    moisture
        Of the compost, share of the wet mass. [t/t]
    content
        n, p2o5 and k2o of the compost, share of its dry mass. [t/t]
    need
        What the crop is given without compost: n, p2o5, k2o. [kg/ha]
    usable
        Share that the crop uses: `first_year` or `over_rotation`. [kg/kg]

    Returns
    -------
    FertiliserSaving
        By nutrient and together; each nutrient is capped at its need.

    Examples
    --------
    Five tonnes a hectare at 35 % moisture and 1.5 % N:

    >>> compost = {"n": 0.015, "p2o5": 0.0, "k2o": 0.0}
    >>> need = {"n": 90, "p2o5": 30, "k2o": 30}
    >>> usable = {"n": 0.15, "p2o5": 0.5, "k2o": 0.8}
    >>> saving = fertiliser_saving(5, 0.35, compost, need, usable)
    >>> round(saving.applied["n"], 2), round(saving.available["n"], 2)
    (48.75, 7.31)
    """
    dry_kg = rate_t_ha * 1000 * (1 - moisture)
    applied = {key: dry_kg * content[key] for key in NUTRIENTS}
    available = {key: applied[key] * usable[key] for key in NUTRIENTS}
    saved = {key: min(available[key], need[key]) for key in NUTRIENTS}
    needed = sum(need[key] for key in NUTRIENTS)
    return FertiliserSaving(
        applied=applied,
        available=available,
        saved=saved,
        share_of={k: saved[k] / need[k] if need[k] > 0 else 0.0 for k in NUTRIENTS},
        share=sum(saved.values()) / needed if needed > 0 else 0.0,
    )
