"""What compost holds, nutrients and salt, and how much of it markets may get."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from logistics.model.problem.arrays import Flags, Floats, lock

SUBSTANCES = ("n", "p2o5", "k2o", "salt")
"""What a market may limit, by the keys of its columns."""


@dataclass(frozen=True, eq=False)
class Contents:
    """
    Substances that some market limits or a label states, length k.

    Attributes
    ----------
    keys
        Of `SUBSTANCES`.
    limit_t
        Most that a market may get in a year, shape (k, n); infinite without. [t/yr]
    kept
        What is left of it in the compost of a wet tonne of feedstock, shape (k, m).
        [t/t]
    made
        Compost made of a wet tonne of feedstock, shape (m,). [t/t]
    held
        Most that a tonne of compost holds in a yard's store in a period, shape
        (k, j, t). The rows of the programme see to it, so that a market gets at most
        this much with every tonne. [t/t]
    given
        Marks whose `held` is given, by a label or by an earlier plan, length k; that
        of the others is found with the plan.
    """

    keys: tuple[str, ...]
    limit_t: Floats
    kept: Floats
    made: Floats
    held: Floats
    given: Flags

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)

    @property
    def of_feedstock(self) -> Floats:
        """Content of compost made of each feedstock alone, shape (k, m). [t/t]"""
        return np.asarray(self.kept / self.made)

    @property
    def limited(self) -> Flags:
        """Mark the markets that limit something, length n."""
        return np.asarray(np.isfinite(self.limit_t).any(axis=0))

    @property
    def free(self) -> Flags:
        """Mark substances whose content is to be found with the plan, length k."""
        return np.asarray(~self.given & np.isfinite(self.limit_t).any(axis=1))

    def of(self, key: str) -> Floats:
        """Give what compost holds of a substance at most, shape (j, t). [t/t]"""
        return np.asarray(self.held[self.keys.index(key)])

    def with_held(self, held: Floats) -> Contents:
        """Hold other contents; given ones stay as they are."""
        kept = self.given[:, None, None]
        return replace(self, held=np.where(kept, self.held, held))

    def most_t(self, content: Floats) -> Floats:
        """
        Tonnes of compost in which a market gets all that it may.

        Parameters
        ----------
        content
            Of each substance in a tonne, shape (k,) or (k, a). [t/t]

        Returns
        -------
        ndarray
            Shape (n,) or (n, a); infinite where nothing is limited. [t/yr]
        """
        with np.errstate(divide="ignore", invalid="ignore"):
            if content.ndim == 1:
                each = self.limit_t / content[:, None]
            else:
                each = self.limit_t[:, :, None] / content[:, None, :]
        return np.asarray(np.fmin.reduce(each, axis=0, initial=np.inf))
