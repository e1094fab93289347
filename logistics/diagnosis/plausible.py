"""Every check on plausibility, in order; what each doubts a planner may accept."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from logistics.diagnosis.astray import points_astray
from logistics.diagnosis.repeats import codes_alike, rows_again
from logistics.diagnosis.shares_for_percent import shares_for_percent
from logistics.diagnosis.too_much import (
    dearer_than_fertiliser,
    far_above_next,
    more_than_ever_made,
    more_than_pads_take,
)
from logistics.diagnosis.usual_ranges import out_of_range

if TYPE_CHECKING:
    from logistics.diagnosis.finding import Finding
    from logistics.scenario import Scenario

CHECKS: Sequence[Callable[[Scenario], list[Finding]]] = (
    far_above_next,
    more_than_pads_take,
    more_than_ever_made,
    shares_for_percent,
    out_of_range,
    dearer_than_fertiliser,
    points_astray,
    rows_again,
    codes_alike,
)


NAMES = (
    "body_volume", "codes_alike", "conversion", "days_drive", "dear_compost",
    "dear_fee", "density", "encoding", "far_off", "fuel", "hidden", "kg_for_tonnes",
    "left_aside", "minutes", "own_output",
    "point_astray", "point_or_thousands", "row_again", "share_for_percent", "speed",
    "water",
)  # fmt: skip
"""What a planner may accept in `[[accepted]]`."""


def implausible(scenario: Scenario) -> list[Finding]:
    """
    List what may be a slip by the tables and settings alone.

    Returns
    -------
    list of Finding
        In the order of `CHECKS`; empty for a scenario in which all is likely.
    """
    return [found for check in CHECKS for found in check(scenario)]
