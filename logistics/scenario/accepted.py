"""Warnings that a planner has looked at and accepts: `[[accepted]]` in the settings."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from logistics.scenario.faults import Problem, choose_from
from logistics.scenario.toml_text import toml_value

NAME = "accepted"
SETTINGS_FILE = "scenario.toml"
PARTS = ("check", "codes", "reason")
EXAMPLE = 'check = "density", codes = ["rice_husk"], reason = "pressed bales"'


@dataclass(frozen=True, slots=True)
class Accepted:
    """
    Findings of one check that are right as they are.

    Attributes
    ----------
    check
        Name of the check, as the warning gives it.
    codes
        Codes of the rows, or settings, that it holds for; none stands for all.
    reason
        Why they are right.
    line
        Line of the settings file; None if it was made in memory.
    """

    check: str
    codes: tuple[str, ...]
    reason: str
    line: int | None = None


def accepted_of(text: str) -> tuple[tuple[Accepted, ...], list[Problem]]:
    r"""
    Read the groups `[[accepted]]` of a settings file.

    Parameters
    ----------
    text
        Text of the file; one that is not TOML is told of elsewhere and holds none.

    Returns
    -------
    tuple of Accepted
        Those without faults, in order.
    list of Problem
        Faults, each with its line.

    Examples
    --------
    >>> text = '[[accepted]]\ncheck = "speed"\ncodes = ["hill"]\nreason = "steep"'
    >>> found, faults = accepted_of(text)
    >>> found[0].check, found[0].codes, found[0].reason, faults
    ('speed', ('hill',), 'steep', [])
    """
    try:
        groups = tomllib.loads(text).get(NAME, [])
    except (ValueError, RecursionError):
        return (), []
    lines = _lines(text)
    if not isinstance(groups, list) or not all(isinstance(g, dict) for g in groups):
        why = "is not a list of groups"
        remedy = f"Write [[{NAME}]] and below it {EXAMPLE}, one a line"
        return (), [
            Problem(SETTINGS_FILE, lines[0] if lines else None, NAME, None, why, remedy)
        ]
    found, problems = [], []
    for number, group in enumerate(groups):
        line = lines[number] if number < len(lines) else None
        faults = [
            Problem(SETTINGS_FILE, line, f"{NAME}.{name}", value, why, remedy)
            for name, value, why, remedy in _faults(group)
        ]
        problems += faults
        if not faults:
            codes = group.get("codes", [])
            codes = (codes,) if isinstance(codes, str) else tuple(codes)
            check, reason = group["check"].strip(), group["reason"].strip()
            found.append(Accepted(check, codes, reason, line))
    return tuple(found), problems


def _lines(text: str) -> list[int]:
    heading = re.compile(rf"\s*\[*\s*{NAME}\b")
    lines = text.split("\n")
    return [n for n, line in enumerate(lines, start=1) if heading.match(line)]


def _faults(group: dict[str, Any]) -> list[tuple[str, object, str, str]]:
    """Return name, value, fault and remedy of each part that cannot be used."""
    found: list[tuple[str, object, str, str]] = []
    for name in group:
        if name not in PARTS:
            found.append((name, None, "is not known here", choose_from(name, PARTS)))
    for name in ("check", "reason"):
        value = group.get(name)
        if value is None:
            found.append((name, None, "is missing", f"Write it as in {EXAMPLE}"))
        elif not isinstance(value, str) or not value.strip():
            found.append(
                (name, str(value), "is no text", "Write it in quotation marks")
            )
        elif not value.isprintable():
            found.append((name, None, "holds unreadable characters", "Type it again"))
    codes = group.get("codes", [])
    listed = [codes] if isinstance(codes, str) else codes
    if not isinstance(listed, list) or not all(isinstance(c, str) for c in listed):
        remedy = 'Write codes as in ["mill_north", "mill_south"]'
        found.append(("codes", str(codes), "is no list of codes", remedy))
    return found


def accepted_text(accepted: Iterable[Accepted]) -> str:
    r"""
    Write the groups as they stand in a settings file.

    Examples
    --------
    >>> print(accepted_text([Accepted("speed", ("hill",), "steep")]))
    <BLANKLINE>
    [[accepted]]
    check = "speed"
    codes = ["hill"]
    reason = "steep"
    <BLANKLINE>
    """
    lines: list[str] = []
    for one in accepted:
        codes = ", ".join(toml_value(code) for code in one.codes)
        lines += ["", f"[[{NAME}]]", f"check = {toml_value(one.check)}"]
        lines += [f"codes = [{codes}]"] if codes else []
        lines += [f"reason = {toml_value(one.reason)}"]
    return "\n".join(lines) + ("\n" if lines else "")
