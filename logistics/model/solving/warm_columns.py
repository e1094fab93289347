"""What an earlier plan leaves for the next search, and how that one begins with it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from logistics.model.problem import Flags, Instance, Memory
from logistics.model.rules import option_names
from logistics.model.solving.bound import Bounded, bound_of
from logistics.model.solving.highs import relative_gap
from logistics.model.solving.master import Wide
from logistics.model.solving.pricing import SOME, Priced, first_of, likely

SHUT = 1e-3
"""Up to so much of an option open is taken for none. [1]"""


@dataclass(frozen=True, eq=False)
class Hint:
    """
    What a search may begin with.

    Attributes
    ----------
    proven
        What is proven before any relaxation is solved.
    some, kept
        Options (length o) and flows (length x) that are likely to pay.
    """

    proven: Bounded
    some: Flags
    kept: Flags


@dataclass
class Best:
    """
    Best plan so far and the bound proven.

    Attributes
    ----------
    chosen, value
        Its options (mask, length o) and its true value; infinite before any.
    bound
        No plan is better.
    memory
        Of an earlier plan, and in the end that of this.
    used
        Flows on lanes of the plan to begin with, length x; None without any.
    """

    chosen: Flags
    value: float = np.inf
    bound: float = -np.inf
    memory: Memory = field(default_factory=Memory)
    used: Flags | None = None

    def gap(self) -> float:
        """Proven relative gap. [1]"""
        if not np.isfinite(self.value) or not np.isfinite(self.bound):
            return np.inf
        return relative_gap(self.value, self.bound)


def remembered(inst: Instance, wide: Wide, root: Priced) -> Memory:
    """Keep of the relaxation of a whole district what helps to plan it again."""
    names = option_names(inst)
    return Memory(
        prices=dict(zip(wide.names, root.prices.tolist(), strict=True)),
        options=frozenset(names[o] for o in np.flatnonzero(root.opened > SHUT)),
    )


def hint_of(inst: Instance, wide: Wide, best: Best) -> Hint:
    """
    Begin where an earlier plan's relaxation ended.

    Parameters
    ----------
    inst, wide
        The district as it is now, and its programme.
    best
        The earlier plan, its yards run anew, with its memory.
    """
    prices = wide.priced(best.memory.prices)
    known = [name in best.memory.options for name in option_names(inst)]
    flows = wide.flows
    inside = np.flatnonzero(best.chosen[flows.option])
    kept = likely(wide, prices, inst)
    kept[inside] |= first_of(flows.key[inside], flows.cost[inside], SOME)
    return Hint(
        proven=bound_of(wide, prices, wide.anywhere()),
        some=best.chosen | np.array(known, dtype=bool),
        kept=kept if best.used is None else kept | best.used,
    )
