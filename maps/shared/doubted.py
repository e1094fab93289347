"""What `check` doubts of the figures of a plan, and what of it is accepted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.diagnosis import doubts
from maps.shared.console import clean

if TYPE_CHECKING:
    from logistics.scenario import Scenario

WARNING, ACCEPTED = "Warning", "Accepted warning"
MOST = 100
"""Warnings that are told one by one."""


def doubt_words(scenario: Scenario) -> list[tuple[str, str]]:
    """
    Say what may be a slip in the figures.

    Returns
    -------
    list of (str, str)
        Whether it is a warning or an accepted one, and its sentence.
    """
    found = doubts(scenario)
    warned = [clean(problem) for problem in found.open]
    if len(warned) > MOST:
        rest = f"{len(warned) - MOST:,} more warnings: see loamhaul check."
        warned = [*warned[:MOST], rest]
    said = [(WARNING, sentence) for sentence in warned]
    return said + [(ACCEPTED, f"{clean(words)}.") for words in found.accepted]


def doubt_lines(scenario: Scenario, most: int = 3) -> list[str]:
    """Return the first warnings for the terminal, the rest counted."""
    warned = [words for kind, words in doubt_words(scenario) if kind == WARNING]
    if not warned:
        return []
    lines = ["", "Check doubts what this plan rests on:"]
    lines += [f"- {words}" for words in warned[:most]]
    if len(warned) > most:
        lines.append(f"- and {len(warned) - most} more: plan.xlsx, sheet assumptions.")
    return lines
