"""Both ends of the windows of a mix, as sums over wet tonnes put in."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from logistics.model.problem.arrays import Floats
from logistics.model.problem.feed import Feed, Margin
from logistics.model.problem.instance import Mix


@dataclass(frozen=True, eq=False)
class WindowEnd:
    """
    One end of a window: sign * (part - limit * whole) <= 0, summed over a mix.

    Attributes
    ----------
    name
        "cn_high", "cn_low", "moist_high" or "moist_low".
    sign
        1 where the ratio part over whole may not be above the limit, -1 not below.
    limit
        Of the ratio. [t/t]
    part, whole
        What a wet tonne of each feedstock adds, at its worst for this end, length m.
    water
        What a tonne of water adds to both. [t/t]
    """

    name: str
    sign: int
    limit: float
    part: Floats
    whole: Floats
    water: float = 0.0

    @property
    def row(self) -> Floats:
        """What a wet tonne of each feedstock adds to the row, length m."""
        return np.asarray(self.sign * (self.part - self.limit * self.whole))

    @property
    def row_water(self) -> float:
        """What a tonne of water adds to the row."""
        return self.sign * self.water * (1 - self.limit)


def window_ends(feed: Feed, mix: Mix) -> Iterator[WindowEnd]:
    """
    Yield the ends of all windows that are switched on, with their margin.

    For a ratio not above its limit a feedstock is at its worst with all the carbon and
    the least nitrogen that it may have; with more dry matter if that takes the mix out
    of the window, else with less.
    """
    count = len(feed.codes)
    none = np.zeros(count)
    margin = mix.margin or Margin(none, none, none)
    for sign, at in ((1, 1), (-1, 0)):
        if mix.cn is not None:
            carbon = np.maximum(0.0, feed.carbon + sign * margin.carbon)
            nitrogen = np.maximum(0.0, feed.nitrogen - sign * margin.nitrogen)
            harm = sign * (carbon - mix.cn[at] * nitrogen)
            dry = feed.dry + np.sign(harm) * margin.moisture
            dry = np.clip(dry, 0.0, 1.0)
            name = "cn_high" if sign > 0 else "cn_low"
            yield WindowEnd(name, sign, mix.cn[at], dry * carbon, dry * nitrogen)
    for sign, at in ((1, 1), (-1, 0)):
        if mix.moisture is not None:
            wet = np.clip(feed.moisture + sign * margin.moisture, 0.0, 1.0)
            name = "moist_high" if sign > 0 else "moist_low"
            yield WindowEnd(name, sign, mix.moisture[at], wet, np.ones(count), 1.0)
