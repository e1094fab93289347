"""
And if many things? Futures of a plan, each an ordinary set of changes.

Every source, market, open yard and bridge of the base plan is lost one at a time; every
range is taken to its ends; all ranges are drawn together, again and again.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from logistics.changes import ChangeSet, Range, Step, draw
from logistics.scenario import Scenario, records


@dataclass(frozen=True)
class Future:
    """
    Something that may happen.

    Attributes
    ----------
    kind
        "base" (nothing), "source", "market", "yard", "road" (lost), "low" or "high"
        (end of a range), "draw".
    what
        Code of what is lost or of the range, or number of the draw.
    change
        As in a file of `changes/`; its code is the future's.
    """

    kind: str
    what: str
    change: ChangeSet


BASE = Future("base", "", ChangeSet("base", "Base plan", "Nothing changes.", ()))


def losses(scenario: Scenario, yards: Collection[str]) -> list[Future]:
    """
    Every source, market, open yard and bridge, lost for good one at a time.

    A bridge is a road so marked, a ferry, or a low road: one closed in some period.

    Parameters
    ----------
    scenario
        The base.
    yards
        Codes of the yards that are open in the base plan.
    """
    roads = scenario.roads
    shut = roads["closed_periods"].map(len).to_numpy(dtype=int) > 0
    weak = roads["bridge"].to_numpy(dtype=bool) | (roads["class"] == "ferry") | shut
    open_ = scenario.yards["yard"].isin(list(yards))
    found = []
    for kind, rows in (
        ("source", scenario.sources),
        ("market", scenario.markets),
        ("yard", scenario.yards[open_]),
        ("road", roads[weak]),
    ):
        for row in records(rows):
            code, name = str(row[kind]), str(row["name"] or row[kind])
            step = Step(f"close_{kind}", {kind: code}, "stress")
            change = ChangeSet(
                f"lose_{kind}_{code}",
                f"Without {name}",
                f"{name} ({code}) is lost for the whole year.",
                (step,),
            )
            found.append(Future(kind, code, change))
    return found


def ends(ranges: Sequence[Range]) -> list[Future]:
    """Every range at its low and its high end, all its numbers together."""
    found = []
    for one in ranges:
        for end, value in (("low", one.low), ("high", one.high)):
            change = ChangeSet(
                f"{end}_{one.code}",
                f"{one.name}: {end}, {value:g}",
                f"The range {one.code} at its {end} end ({one.argument} = {value:g}).",
                one.at(value),
            )
            found.append(Future(end, one.code, change))
    return found


def draws(ranges: Sequence[Range], count: int, seed: int) -> list[Future]:
    """Draw all ranges together, `count` times."""
    width = max(3, len(str(count)))
    return [
        Future(
            "draw",
            str(number),
            ChangeSet(
                f"draw_{seed}_{number:0{width}}",
                f"Draw {number}",
                f"Draw {number} of seed {seed} from the ranges.",
                draw(ranges, seed, number),
            ),
        )
        for number in range(1, count + 1)
    ]
