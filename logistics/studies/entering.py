"""
What would have to change for a site to enter the plan, or to leave it.

Two problems are set side by side: with a yard at the site, and without one. Each has a
plan and a bound, so what a yard there adds to the least cost lies between

    bound with - plan without  and  plan with - bound without.

A yearly cost that is paid for the yard in every size is a constant of the first problem
and none of the second, so the plan turns where it falls by just that difference: closed
form, no search. A grant for the works counts by its annuity. What changes both problems
(the price of compost, tonnes that arise) is searched: at every value tried both are
planned anew, each with its proof.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

Between = tuple[float, float]
"""Least and most."""

Figure = Literal[
    "yearly cost", "grant", "price", "supply",
    "payment", "tonne", "tonne anew", "haulage",
]  # fmt: skip

TRIES = 4
"""Values tried, at most."""

NARROW = 0.02
"""Distance of the two ends at which a search ends, as a share of today's figure. [1]"""

INSIDE = 0.15
"""Least distance of a value from both ends, as a share of their distance. [1]"""


@dataclass(frozen=True)
class TurningPoint:
    """
    At what change of one figure alone the plan turns for or against a site.

    Attributes
    ----------
    figure
        What changes: what the yard costs a year or a grant for its works [money],
        the price of compost or the tonnes that arise nearby, as shares of today's.
        Of a source or a market: a payment for serving it whole [money/yr], what each
        tonne pays, with the yards as they are and with all planned anew [money/t], and
        its haulage, as a share of today's.
    stays
        Changed by so much the plan is proven to stay as it is on this site; 0 where
        nothing is proven.
    turns
        Changed by so much the plan is proven to turn; None where no change up to
        `most` is proven to do it.
    most
        The largest change that was looked at; None without any limit.
    """

    figure: Figure
    stays: float
    turns: float | None
    most: float | None

    @property
    def never(self) -> bool:
        """Whether no change of this figure alone turns the plan, up to the most."""
        return self.turns is None and self.most is not None and self.stays >= self.most


def margin(adds: Between, *, chosen: bool) -> Between:
    """
    Say how far a plan is from turning, in money; below zero it has turned.

    Parameters
    ----------
    adds
        What a yard at the site adds to the least cost. [money/yr]
    chosen
        Whether the plan has a yard there.
    """
    return (-adds[1], -adds[0]) if chosen else adds


def by_money(
    far: Between, figure: Figure, rates: Between, most: float | None
) -> TurningPoint:
    """
    Turn a margin into the change of a figure that enters the cost as a constant.

    Parameters
    ----------
    far
        See `margin`. [money/yr]
    figure
        What changes.
    rates
        By how much the yearly cost changes for one unit of it: in the size where it
        tells most, and in the size of the plan that has to turn. [1/yr] or [1]
    most
        The largest change there can be; None without any limit.
    """
    stays, turns = max(0.0, far[0]) / rates[0], max(0.0, far[1]) / rates[1]
    if most is None:
        return TurningPoint(figure, stays, turns, None)
    return TurningPoint(
        figure, min(stays, most), turns if turns <= most else None, most
    )


def searched(
    far: Between,
    figure: Figure,
    most: float,
    far_at: Callable[[float], Between],
    stays: float = 0.0,
) -> TurningPoint:
    """
    Search the change of a figure at which a plan turns; the farthest is tried first.

    Parameters
    ----------
    far
        Margin today, see `margin`. [money/yr]
    figure, most
        What changes, and the largest change looked at (share of today's).
    far_at
        Margin with the figure changed by so much, proven anew.
    stays
        Change up to which the plan is known to stay without a search.
    """
    if stays >= most:
        return TurningPoint(figure, stays, None, stays)
    at, share, turns, left_open = {0.0: far, stays: far}, most, None, 0
    for _ in range(TRIES):
        at[share] = far_at(share)
        if at[share][0] > 0:
            stays = share
        elif at[share][1] <= 0:
            turns = share
        else:
            left_open += 1
        narrow = turns is not None and turns - stays <= NARROW
        if stays >= most or narrow or left_open > 1:
            break
        if left_open:  # nearer by there is more to prove
            share = (stays + share) / 2
        elif turns is not None:
            share = _between(stays, turns, at)
    return TurningPoint(figure, stays, turns, most)


def _between(stays: float, turns: float, at: dict[float, Between]) -> float:
    """Choose the value to try: where the middle of the margins would meet zero."""
    low, high = sum(at[stays]) / 2, sum(at[turns]) / 2
    share = low / (low - high) if low > high else 0.5
    return stays + (turns - stays) * min(max(share, INSIDE), 1 - INSIDE)
