"""A product standard as rows over what is charged."""

from dataclasses import dataclass
from typing import Literal

from logistics.model.problem.arrays import Floats, lock


@dataclass(frozen=True, eq=False)
class StandardRow:
    """
    One limit: sum over a charge of per_tonne * b may not be above nothing.

    Attributes
    ----------
    code
        Name of the row, as "cn_high".
    limit, what
        Whether the standard asks for something at least or allows something at most,
        and what, in words for a shortage.
    per_tonne
        Of a wet tonne of each feedstock, length m. [t/t]
    """

    code: str
    limit: Literal["least", "most"]
    what: str
    per_tonne: Floats

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)


@dataclass(frozen=True, eq=False)
class Standard:
    """A product standard: its code, its name, and what every charge must keep."""

    code: str
    name: str
    rows: tuple[StandardRow, ...]
