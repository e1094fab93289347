"""First stages of many futures side by side, decisions of one name tied together."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import replace

import numpy as np
from scipy import sparse

from logistics.model import Floats, Integers
from logistics.years.first_stage import Stage
from logistics.years.years_ready import YearsReady

Name = Hashable
"""Of a decision: those of the same name are one decision in all futures."""


def joint_stage(
    ready: Sequence[YearsReady], weights: Floats, *, every: bool = False
) -> Stage:
    """
    Write the first stages of all futures side by side, decisions of a name tied.

    Parameters
    ----------
    ready, weights
        The years of each future, and its weight, 1 in all.
    every
        Tie the decisions of every year, not of the first alone.
    """
    stages = [one.stage for one in ready]
    widths = [len(stage.matrix.cost) for stage in stages]
    begin = np.cumsum([0, *widths])[:-1]
    rows = sparse.block_diag([stage.matrix.rows for stage in stages]).tocsc()
    counts = np.cumsum([0, *(len(stage.matrix.below) for stage in stages)])[:-1]
    one = stages[0].matrix
    whole = replace(
        one,
        rows=rows,
        cost=np.concatenate(
            [w * s.matrix.cost for w, s in zip(weights, stages, strict=True)]
        ),
        low=np.concatenate([s.matrix.low for s in stages]),
        high=np.concatenate([s.matrix.high for s in stages]),
        below=np.concatenate([s.matrix.below for s in stages]),
        above=np.concatenate([s.matrix.above for s in stages]),
        integer=np.concatenate([s.matrix.integer for s in stages]),
    )
    ties = _ties(ready, begin, int(sum(widths)), every=every)
    nothing = np.zeros(ties.shape[0])
    held = sparse.block_diag(
        [
            sparse.hstack(
                [s.held, sparse.csr_matrix((s.held.shape[0], w - s.held.shape[1]))]
            )
            for s, w in zip(stages, widths, strict=True)
        ]
    )
    return Stage(
        matrix=whole.constrain(ties, nothing, nothing),
        spent=np.concatenate(
            [w * s.spent for w, s in zip(weights, stages, strict=True)]
        ),
        weights=np.concatenate(
            [w * s.weights for w, s in zip(weights, stages, strict=True)]
        ),
        held=sparse.csr_matrix(held),
        working=np.vstack(
            [s.working + first for s, first in zip(stages, begin, strict=True)]
        ),
        carried=np.concatenate(
            [s.carried + first for s, first in zip(stages, begin, strict=True)]
        ),
        budget=np.concatenate(
            [
                np.where(s.budget < 0, -1, s.budget + first)
                for s, first in zip(stages, counts, strict=True)
            ]
        ),
        scale=stages[0].scale,
    )


def _ties(
    ready: Sequence[YearsReady], begin: Integers, width: int, *, every: bool
) -> sparse.csr_matrix:
    """Tie decisions of one name: as much of each in a future as in the first one."""
    named = [_named(one, every=every) for one in ready]
    names = list(dict.fromkeys(name for known in named for name in known))
    lines = list[tuple[int, int, float]]()
    for f in range(1, len(ready)):
        for n, name in enumerate(names):
            row = (f - 1) * len(names) + n
            for at, sign in ((0, 1.0), (f, -1.0)):
                found = named[at].get(name, [])
                lines += [(row, int(begin[at]) + column, sign) for column in found]
    rows, columns, values = zip(*lines, strict=True) if lines else ((), (), ())
    shape = ((len(ready) - 1) * len(names), width)
    return sparse.csr_matrix((values, (rows, columns)), shape=shape)


def _named(ready: YearsReady, *, every: bool) -> dict[Name, list[int]]:
    """Columns of each decision that is the same in all futures, by its name."""
    found: dict[Name, list[int]] = {}
    bought, keys = ready.bought, ready.keys
    for n, year in enumerate(bought.year.tolist()):
        old, new = int(bought.size_from[n]), int(bought.size_to[n])
        if every:
            until = int(bought.until[n])
        elif year == 0 and not bought.stands[n]:
            until = -1  # how long it is kept may differ
        else:
            continue
        before = keys[old] if old >= 0 else None
        name = ("buy", before, keys[new], year, until, bool(bought.stands[n]))
        found.setdefault(name, []).append(n)
    for y, columns in enumerate(ready.stage.working.tolist()):
        if y == 0 or every:
            for key, column in zip(keys, columns, strict=True):
                found[("works", key, y)] = [column]
    return found
