"""Read changes from `changes/*.toml` and from the command line, and apply them."""

import inspect
import json
import re
import tomllib
import typing
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, NoReturn

from logistics.changes.part_of_year import part_changed, time_share
from logistics.changes.registry import CHANGES, in_time
from logistics.scenario import (
    ChangeFault,
    Problem,
    Scenario,
    ScenarioError,
    choose_from,
    in_list,
    no_file,
)

KEYWORDS = {"from": "from_"}
TIMES = ("from_", "until")
"""Arguments that every change takes which can hold for a part of the year."""
OLD_WORDS = {"to": "until"}
FOLDER = "changes"
WRITE_TOML = "Write TOML in UTF-8, as the demo's changes do"


@dataclass(frozen=True)
class Step:
    """One change with its arguments, and where it was asked for."""

    name: str
    arguments: Mapping[str, Any]
    place: str


@dataclass(frozen=True)
class ChangeSet:
    """
    Changes that belong together, in order, with their story.

    Attributes
    ----------
    code
        Name of the file without its ending, or the text of the command line.
    title, story
        Heading, and what happened.
    steps
        Changes in order.
    """

    code: str
    title: str
    story: str
    steps: tuple[Step, ...]


def _refuse(place: str, column: str, value: object, why: str, remedy: str) -> NoReturn:
    raise ScenarioError([Problem(place, None, column, value, why, remedy)]) from None


def parse_change(text: str) -> ChangeSet:
    """
    Read a change of the command line: name:argument=value,argument=value.

    Examples
    --------
    >>> parse_change("close_source:source=mill_04,from=6").steps[0].arguments
    {'source': 'mill_04', 'from': '6'}
    """
    name, _, rest = text.partition(":")
    arguments: dict[str, Any] = {}
    for part in filter(None, rest.split(",")):
        key, equal, value = part.partition("=")
        if not equal:
            why, remedy = "has no =", "Write name:argument=value,argument=value"
            _refuse("--change", "", part, why, remedy)
        arguments[key.strip()] = value.strip()
    step = Step(name.strip(), arguments, "--change")
    return ChangeSet(text, text, "", (step,))


def read_changes(folder: Path) -> dict[str, ChangeSet]:
    """
    Read every file of `changes/` in a scenario folder.

    Raises
    ------
    ScenarioError
        With all faults of all files.
    """
    found, problems = {}, []
    for path in sorted((folder / FOLDER).glob("*.toml")):
        try:
            found[path.stem] = read_change_file(path)
        except ScenarioError as error:
            problems += error.problems
    if problems:
        raise ScenarioError(problems)
    return found


def find_changes(folder: Path | None, wanted: list[str]) -> list[ChangeSet]:
    """
    Return the changes asked for on the command line; all of `changes/` if none.

    Parameters
    ----------
    folder
        Scenario folder; None if there is none.
    wanted
        Each the name of a file in `changes/`, the path of a TOML file anywhere, or
        name:argument=value,...
    """
    files = {} if folder is None else read_changes(folder)
    if not wanted:
        return list(files.values())
    found = []
    for text in wanted:
        if text in files:
            found.append(files[text])
        elif text.endswith(".toml") and ("=" not in text or Path(text).is_file()):
            if not Path(text).is_file():
                remedy = "Name an existing file"
                _refuse("--change", "", text, "does not exist", remedy)
            found.append(read_change_file(Path(text)))
        elif ":" in text or text in CHANGES:
            found.append(parse_change(text))
        else:
            remedy = choose_from(text, [*files, *CHANGES])
            _refuse("--change", "", text, "is not a change", remedy)
    return found


def read_change_file(path: Path) -> ChangeSet:
    """Read one file: title, story and a list of [[change]] with `do` and arguments."""
    inside = path.parent.name == FOLDER
    name = f"{FOLDER}/{path.name}" if inside else str(path)
    if why := no_file(path):
        _refuse(name, "", None, why, "Move it away or rename it")
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        _refuse(name, "", None, f"is not TOML: {error}", WRITE_TOML)
    return read_change_text(text, name, path.stem)


def read_change_text(text: str, name: str, code: str) -> ChangeSet:
    """Read the text of a file of changes; `name` is said in faults."""
    try:
        tree = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # also numbers without an end
        _refuse(name, "", None, f"is not TOML: {error}", WRITE_TOML)
    for key in tree.keys() - {"title", "story", "change"}:
        remedy = choose_from(key, ["title", "story", "change"])
        _refuse(name, key, tree[key], "is unknown", remedy)
    steps = tree.get("change", [])
    if not isinstance(steps, list) or not all(isinstance(s, dict) for s in steps):
        _refuse(name, "change", steps, "is not a list", "Write [[change]] above each")
    if not steps:
        _refuse(name, "change", None, "is missing", 'Write [[change]] and do = "..."')
    made = []
    for step in steps:
        if not isinstance(step.get("do"), str):
            why, remedy = "is missing", f"Use one of: {in_list(CHANGES)}"
            _refuse(name, "do", step.get("do"), why, remedy)
        arguments = {key: value for key, value in step.items() if key != "do"}
        made.append(Step(step["do"], arguments, name))
    title = str(tree.get("title") or code)
    return ChangeSet(code, title, str(tree.get("story", "")), tuple(made))


def changes_of_years(scenario: Scenario, folder: Path | None) -> dict[str, ChangeSet]:
    """
    Find the changes that the table of years speaks of; unknown ones are left out.

    Parameters
    ----------
    scenario
        The district of today.
    folder
        Its folder, with files in `changes`; None if there is none.

    Returns
    -------
    dict
        By what the table calls them: a file's name, or a change written out. Files
        elsewhere are not looked at, whatever a table from another office names.
    """
    found = {}
    wanted = [name for names in scenario.table("years")["changes"] for name in names]
    for name in dict.fromkeys(wanted):
        if name.endswith(".toml"):
            continue
        try:
            found[name] = find_changes(folder, [name])[0]
        except ScenarioError:
            continue
    return found


def change_text(wanted: ChangeSet) -> str:
    """Write changes as the text of a file of `changes/`, which reads back the same."""
    lines = [f"title = {_toml(wanted.title)}", f"story = {_toml(wanted.story)}"]
    for step in wanted.steps:
        lines += ["", "[[change]]", f"do = {_toml(step.name)}"]
        lines += [f"{key} = {_toml(value)}" for key, value in step.arguments.items()]
    return "\n".join(lines) + "\n"


def _toml(value: object) -> str:
    """Write a number or a text; JSON's quoting is also TOML's, but for one sign."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return repr(value)
    return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")


def write_change_file(wanted: ChangeSet, path: Path) -> None:
    """Write changes to a file, which `--change` takes by its path."""
    path.write_text(change_text(wanted), encoding="utf-8", newline="\n")


def apply_changes(scenario: Scenario, wanted: ChangeSet) -> Scenario:
    """
    Apply changes in order; the scenario given stays as it is.

    Raises
    ------
    ScenarioError
        If a change, an argument or a code is unknown, with the nearest known one.
    """
    for step in wanted.steps:
        scenario = apply_step(scenario, step)
    return scenario


def apply_step(scenario: Scenario, step: Step) -> Scenario:
    """Apply one change."""
    if step.name not in CHANGES:
        why, remedy = "is not a change", choose_from(step.name, list(CHANGES))
        _refuse(step.place, "do", step.name, why, remedy)
    values = read_arguments(step)
    times = {}
    if in_time(step.name):
        times = {name: values.pop(name, "") for name in TIMES}
    make = partial(CHANGES[step.name], **values)
    try:
        if not any(times.values()) and scenario.table("period_prices").empty:
            return make(scenario)
        share = time_share(scenario, *(times or dict.fromkeys(TIMES, "")).values())
        return part_changed(make, scenario, share)
    except ChangeFault as error:
        value = error.value
        if value is None:  # the part of the year cannot be
            value = step.arguments.get(error.argument)
        _refuse(step.place, error.argument, value, error.why, error.remedy)


def read_arguments(step: Step) -> dict[str, Any]:
    """Read the arguments of a change, each as its type."""
    parameters = arguments_of(step.name)
    names = {shown(name): parameter for name, parameter in parameters.items()}
    values: dict[str, Any] = {}
    for written, value in step.arguments.items():
        name = written if written in names else OLD_WORDS.get(written, written)
        if name in ("from", "until") and name not in names:
            why = f"is not possible: {step.name} applies to the whole year"
            remedy = "Leave out from and until"
            _refuse(step.place, written, value, why, remedy)
        if name not in names:
            why = f"is not an argument of {step.name}"
            _refuse(step.place, name, value, why, choose_from(name, list(names)))
        if KEYWORDS.get(name, name) in values:
            why = "is given twice: until and to mean the same"
            _refuse(step.place, written, value, why, "Give one of the two")
        values[KEYWORDS.get(name, name)] = _read(step, name, value, names[name])
    for name, parameter in names.items():
        if (
            parameter.default is parameter.empty
            and KEYWORDS.get(name, name) not in values
        ):
            _refuse(
                step.place, name, None, f"is missing from {step.name}", f"Give {name}"
            )
    return values


def arguments_of(name: str) -> dict[str, inspect.Parameter]:
    """Return the arguments of a change, with from and until if it takes them."""
    parameters = dict(inspect.signature(CHANGES[name]).parameters)
    parameters.pop("scenario")
    if in_time(name):
        kind = inspect.Parameter.KEYWORD_ONLY
        for time in TIMES:
            parameters[time] = inspect.Parameter(time, kind, default="", annotation=str)
    return parameters


def shown(name: str) -> str:
    """Return an argument's name as people write it: from, not from_."""
    return name.rstrip("_")


def _read(step: Step, name: str, value: object, parameter: inspect.Parameter) -> Any:
    """Give an argument its type."""
    kinds = typing.get_args(parameter.annotation) or (parameter.annotation,)
    if str in kinds:
        return str(value)
    text = str(value).strip()
    whole = int in kinds
    pattern = r"[-+]?\d+" if whole else r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?"
    if isinstance(value, bool) or not re.fullmatch(pattern, text):
        kind = "a whole number" if whole else "a number"
        _refuse(
            step.place,
            name,
            value,
            f"is not {kind}",
            "Write digits, with a point for decimals",
        )
    return int(text) if whole else float(text)
