"""The tray: changes that were gathered, with undo, kept in the scenario's folder."""

from __future__ import annotations

import hashlib
import json
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from maps.desk.shelf import STUDIES, NameFault, NotThere
from maps.disk import read_json, write_json

if TYPE_CHECKING:
    from logistics.changes import ChangeSet
    from logistics.scenario import Scenario

Wish = dict[str, str | float]
"""A change as it stands in a change file: its name under "do", and its arguments."""
Wishes = tuple[Wish, ...]

FILE = "tray.json"
MOST = 40
"""Changes in the tray."""
MOST_PAST = 50
"""Steps that can be undone."""
LONGEST_VALUE = 200
"""Of an argument. [letter]"""
TITLE = "Changes in the tray"
_turn = threading.Lock()


@dataclass(frozen=True)
class Tray:
    """
    Changes gathered, in order.

    Attributes
    ----------
    wishes
        What is in the tray.
    past
        What was in it before each step, the oldest first.
    """

    wishes: Wishes = ()
    past: tuple[Wishes, ...] = ()

    def holding(self, wishes: Wishes) -> Tray:
        """
        Return the tray with other changes; the step can be undone.

        Raises
        ------
        NameFault
            If it would hold too many.
        """
        if len(wishes) > MOST:
            message = f"The tray holds {MOST} changes at most. Save them, then clear it"
            raise NameFault(message)
        return Tray(wishes, (*self.past, self.wishes)[-MOST_PAST:])

    def undone(self) -> Tray:
        """Take the last step back; nothing where there is none."""
        return Tray(self.past[-1], self.past[:-1]) if self.past else self


def without(wishes: Wishes, place: int) -> Wishes:
    """
    Leave out the change at a place, counted from 0.

    >>> without(({"do": "a"}, {"do": "b"}), 0), without(({"do": "a"},), 5)
    (({'do': 'b'},), ({'do': 'a'},))
    """
    return tuple(wish for at, wish in enumerate(wishes) if at != place)


def read_tray(scenario: Path) -> Tray:
    """Read the tray of a scenario; what cannot be one is left out."""
    path = scenario / STUDIES / FILE
    if path.is_symlink() or path.parent.is_symlink():
        return Tray()
    told = read_json(path)
    past = told.get("past")
    steps = past if isinstance(past, list) else []
    return Tray(_wishes(told.get("wishes")), tuple(map(_wishes, steps[-MOST_PAST:])))


def _wishes(value: object) -> Wishes:
    """Return changes read from a file, as far as they can be some."""
    listed = value if isinstance(value, list) else []
    return tuple(wish for one in listed if (wish := _wish(one)))[:MOST]


def _wish(value: object) -> Wish:
    """
    Return a change read from a file; an empty one if it is none.

    >>> _wish({"do": "scale_fuel", "percent": 40}), _wish({"percent": 40}), _wish(3)
    ({'do': 'scale_fuel', 'percent': 40}, {}, {})
    """
    if not isinstance(value, dict) or not isinstance(value.get("do"), str):
        return {}
    return {
        str(name): part
        for name, part in value.items()
        if isinstance(part, str | int | float) and not isinstance(part, bool)
    }


def change_tray(scenario: Path, make: Callable[[Tray], Tray]) -> Tray:
    """Read the tray, change it and keep it, one at a time."""
    with _turn:
        made = make(read_tray(scenario))
        folder = scenario / STUDIES
        folder.mkdir(exist_ok=True)
        if folder.is_symlink() or folder.is_junction():
            raise NotThere(STUDIES)
        write_json(folder / FILE, {"wishes": made.wishes, "past": made.past})
        return made


def key_of(wishes: Wishes) -> str:
    """Short hash of changes: the same ones in the same order have the same."""
    text = json.dumps(wishes, sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def change_set(
    wishes: Sequence[Mapping[str, Any]], title: str = TITLE, story: str = ""
) -> ChangeSet:
    """Make one change of all in the tray, as a change file holds it."""
    from logistics.changes import ChangeSet, Step

    steps = tuple(
        Step(
            str(wish["do"]),
            {name: value for name, value in wish.items() if name != "do"},
            "This change",
        )
        for wish in wishes
    )
    return ChangeSet("tray", title, story, steps)


def wishes_of(found: ChangeSet) -> Wishes:
    """Return the changes of a change file as they go into the tray."""
    return tuple({"do": step.name, **step.arguments} for step in found.steps)


def sentences(wishes: Wishes, scenario: Scenario | None) -> list[str]:
    """Say in words what each change is."""
    from logistics.changes import title_of

    steps = change_set(wishes).steps
    return [title_of(step, scenario) or step.name for step in steps]


def titled_by(wishes: Wishes, scenario: Scenario | None) -> str:
    """Name changes after what they are, if they are few."""
    said = sentences(wishes, scenario)
    return said[0] if len(said) == 1 else f"{TITLE}: {len(said)}"


def tried(wishes: Wishes, scenario: Scenario, more: Sequence[Wish]) -> tuple[Wish, ...]:
    """
    Add changes to others, if a scenario takes all of them.

    Raises
    ------
    ScenarioError
        If a change, an argument or a code is wrong.
    """
    from logistics.changes import apply_changes

    every = (*wishes, *more)
    apply_changes(scenario, change_set(every))
    return every


def instead(wishes: Wishes, wish: Wish) -> Wishes:
    """
    Leave out what a new decision on the same yard takes the place of.

    >>> old = ({"do": "close_yard", "yard": "a"}, {"do": "scale_fuel", "percent": 5})
    >>> instead(old, {"do": "force_yard", "yard": "a"})
    ({'do': 'scale_fuel', 'percent': 5},)
    """
    if wish["do"] not in DECISIONS:
        return wishes
    return tuple(
        one
        for one in wishes
        if one["do"] not in DECISIONS or one.get("yard") != wish.get("yard")
    )


DECISIONS = ("close_yard", "force_yard", "build_yard")
"""Changes that decide on a yard: the last one holds."""


def emptied(tray: Tray) -> Tray:
    """Take everything out; it can be undone."""
    return tray.holding(()) if tray.wishes else replace(tray)
