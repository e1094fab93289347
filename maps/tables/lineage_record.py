"""Where one figure comes from: its name, its formula, the inputs it rests on."""

from __future__ import annotations

from dataclasses import dataclass

from maps.tables.lineage_terms import Formula

ALL = "the whole plan"
"""Basis of what the plan decides: it rests on every input."""


@dataclass(frozen=True)
class Lineage:
    """
    Where one figure comes from.

    Attributes
    ----------
    code
        Its address; a family's entries have a key behind a slash.
    name, unit
        What it is called; its unit, blank for a count.
    formula
        How it is reckoned from the tables of the plan.
    rests
        Inputs it rests on, as in `lineage.BASES`.
    """

    code: str
    name: str
    unit: str
    formula: Formula
    rests: tuple[str, ...] = (ALL,)

    @property
    def family(self) -> str:
        """Code without the key."""
        return self.code.partition("/")[0]
