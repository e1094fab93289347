"""Findings that a planner accepts with a reason, and acceptances that match nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from logistics.diagnosis.finding import Finding, some
from logistics.scenario import SETTINGS_NAME, Accepted, Problem, choose_from, in_list

if TYPE_CHECKING:
    from collections.abc import Collection

HOW = (
    "Accept a warning that is right in scenario.toml: [[accepted]], and below it "
    'check = "...", codes = ["..."] and reason = "...".'
)


@dataclass(frozen=True)
class Settled:
    """
    Findings as a planner has settled them.

    Attributes
    ----------
    open
        What is still to be looked at, acceptances that match nothing last.
    accepted
        One sentence for each acceptance, with its reason.
    """

    open: tuple[Problem, ...]
    accepted: tuple[str, ...]


def settled(
    findings: Sequence[Finding],
    accepted: Sequence[Accepted],
    checks: Collection[str],
) -> Settled:
    """
    Lay accepted findings aside.

    Parameters
    ----------
    findings
        What the checks doubt.
    accepted
        What the planner accepts. A finding about several rows is laid aside where all
        of them are accepted; an acceptance without codes holds for a whole check.
    checks
        Names of all checks, for one that is misspelt.

    Returns
    -------
    Settled
        Findings still open, and sentences on those accepted.
    """
    rest = list(findings)
    said, stale = [], []
    for one in accepted:
        mine = [found for found in rest if _holds(one, found)]
        if not mine:
            stale.append(_stale(one, checks))
            continue
        rest = [found for found in rest if found not in mine]
        codes = list(dict.fromkeys(code for found in mine for code in found.codes))
        said.append(f"{one.check} for {some(codes)} is accepted: {one.reason}")
    return Settled((*(found.problem for found in rest), *stale), tuple(said))


def _holds(one: Accepted, found: Finding) -> bool:
    if one.check != found.check:
        return False
    return not one.codes or set(found.codes) <= set(one.codes)


def _stale(one: Accepted, checks: Collection[str]) -> Problem:
    if one.check not in checks:
        why, remedy = "is not the name of a check", choose_from(one.check, checks)
    else:
        whom = f" for {in_list(one.codes)}" if one.codes else ""
        why, remedy = f"accepts nothing{whom}: there is no such warning", "Delete it"
    return Problem(SETTINGS_NAME, one.line, "accepted", one.check, why, remedy)
