"""
What the page of the settings is told, and what it may do: folder and question in.

A question is an object: what was sent, or nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from logistics.scenario import (
    SETTINGS_NAME,
    Problem,
    SettingsFault,
    settings_of,
    typed_settings,
    with_typed,
)
from maps.desk.grid.checking import Checked, checker_of, said
from maps.desk.grid.columns import codes_of
from maps.desk.grid.faults import EditFault, NotSaved
from maps.desk.settings.draft import SettingsDraft, settings_of_folder
from maps.desk.settings.form import defaults_of, form_groups, unknown

Data = dict[str, Any]
Sent = Mapping[str, Any]


def state(folder: Path, _: Sent | None = None) -> Data:
    """Every setting as typed, and how the draft stands."""
    draft = settings_of_folder(folder).now()
    told: Data = {
        "version": draft.version,
        "texts": {},
        "unknown": [],
        "changed": [],
        "edited": draft.edited,
        "overtaken": draft.overtaken,
        "viewOnly": draft.disk.view_only,
        "undo": bool(draft.past),
        "redo": bool(draft.future),
        "broken": "",
    }
    try:
        texts = typed_settings(draft.text)
    except SettingsFault:
        (problem,) = settings_of(draft.text)[1]
        return {**told, "broken": f"{problem}", "whole": draft.text}
    before = _typed(draft.disk.text)
    changed = [n for n in {**texts, **before} if texts.get(n) != before.get(n)]
    return {**told, "texts": texts, "unknown": unknown(texts), "changed": changed}


def _typed(text: str) -> dict[str, str]:
    """Return settings as typed; none of a text that is broken."""
    try:
        return typed_settings(text)
    except SettingsFault:
        return {}


def form(folder: Path) -> Data:
    """Return what the page is made of: groups, codes to pick, state and faults."""
    checker = checker_of(folder)
    checker.check()
    good = checker.good
    finance = good.settings.finance if good else None
    groups = form_groups(
        good.settings.currency if good else "", finance.money_scale if finance else 1.0
    )
    texts = {name: one.text for name, one in checker.drafts.all().items()}
    wanted = {f.picks for group in groups for f in group.fields if f.picks}
    return {
        "groups": groups,
        "picks": {table: codes_of(table, texts[table], good) for table in wanted},
        "state": state(folder),
        "check": check(folder),
    }


def check(folder: Path, _: Sent | None = None) -> Data:
    """Every fault of the settings, how many others there are, and the defaults."""
    checker = checker_of(folder)
    checked = checker.check()
    ours = [one for one in checked.problems if one.file == SETTINGS_NAME]
    return {
        "version": checked.versions["settings"],
        "faults": [_told(problem) for problem in ours],
        "others": len(checked.problems) - len(ours),
        "defaults": defaults_of(checker.good),
    }


def _told(problem: Problem) -> Data:
    return {
        "setting": problem.column,
        "said": said(problem),
        "remedy": problem.remedy,
    }


def attempt(folder: Path, sent: Sent | None) -> Data:
    """Say what is wrong with a value while it is typed; nothing is kept."""
    match sent:
        case {"setting": str(name), "typed": str(typed)}:
            text = settings_of_folder(folder).now().text
            try:
                _, problems = settings_of(with_typed(text, {name: typed}))
            except SettingsFault as fault:
                raise EditFault(str(fault)) from None
            return {"faults": [_told(one) for one in problems if one.column == name]}
    message = "This is no value of a setting"
    raise EditFault(message)


def edit(folder: Path, sent: Sent | None) -> Data:
    """Keep a batch of edits."""
    match sent:
        case {"version": str(version), "name": str(name), **rest}:
            batch = _batch(name, {str(key): value for key, value in rest.items()})
            if batch is not None:
                settings_of_folder(folder).add(version, batch)
                return state(folder)
    message = "These are no edits"
    raise EditFault(message)


def _batch(name: str, rest: Sent) -> Data | None:
    """Return a batch of edits as its journal holds it; None if it is none."""
    match rest:
        case {"turn": "undo" | "redo" as turn}:
            return {"name": name[:80], "turn": turn}
        case {"text": str(text)}:
            return {"name": name[:80], "text": text}
        case {"set": {**typed}} if typed and _all_texts(typed):
            return {"name": name[:80], "set": typed}
    return None


def _all_texts(typed: Mapping[Any, Any]) -> bool:
    return all(isinstance(one, str) for pair in typed.items() for one in pair)


def both(folder: Path, _: Sent | None = None) -> Data:
    """Tell what differs between the draft and what another program made of the file."""
    draft = settings_of_folder(folder).now()
    was, mine, theirs = (
        _typed(text) for text in (draft.base, draft.text, draft.disk.text)
    )
    return {
        "rows": [
            {
                "setting": name,
                "was": was.get(name, ""),
                "mine": mine.get(name, ""),
                "theirs": theirs.get(name, ""),
            }
            for name in dict.fromkeys([*mine, *theirs])
            if mine.get(name) != theirs.get(name)
        ]
    }


def choose(folder: Path, sent: Sent | None) -> Data:
    """Decide between the draft and what another program made of the file."""
    drafts = settings_of_folder(folder)
    choices = {"mine": drafts.keep_mine, "theirs": drafts.take_theirs}
    keep = (sent or {}).get("keep")
    if keep not in choices:
        message = "Choose mine or theirs"
        raise EditFault(message)
    choices[keep]()
    return state(folder)


def save(folder: Path, _: Sent | None = None) -> Data:
    """
    Save the settings.

    Raises
    ------
    NotSaved
        If they have faults that the file does not have already.
    """
    drafts = settings_of_folder(folder)
    draft = drafts.now()
    if draft.edited:
        count = len(fresh_faults(draft, checker_of(folder).check()))
        if count:
            faults = "1 fault" if count == 1 else f"{count} faults"
            message = f"The settings have {faults}. Kept as a draft till mended."
            raise NotSaved(message)
    drafts.save(draft.version)
    return {**state(folder), "saved": draft.edited}


def fresh_faults(draft: SettingsDraft, checked: Checked) -> list[Problem]:
    """Return the faults of the draft's settings that no file had before."""
    old = [*settings_of(draft.disk.text)[1], *settings_of(draft.base)[1]]
    known = {(one.column, str(one.value), one.why) for one in old}
    return [
        one
        for one in checked.problems
        if one.file == SETTINGS_NAME
        and (one.column, str(one.value), one.why) not in known
    ]


READ: dict[str, Callable[[Path, Sent | None], Data]] = {
    "state": state,
    "check": check,
    "both": both,
}
DONE: dict[str, Callable[[Path, Sent | None], Data]] = {
    "attempt": attempt,
    "edits": edit,
    "choice": choose,
    "save": save,
}
