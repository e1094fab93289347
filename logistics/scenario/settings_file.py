"""Read, check and write `scenario.toml`."""

import datetime
import re
import tomllib
from collections.abc import Callable, Collection, Mapping
from math import isfinite, nan
from pathlib import Path
from typing import Any

from logistics.scenario import work_calendar
from logistics.scenario.accepted import NAME as ACCEPTED
from logistics.scenario.accepted import SETTINGS_FILE, Accepted, accepted_of
from logistics.scenario.cells import NUMBERS, read_value
from logistics.scenario.coordinates import order_remedy
from logistics.scenario.csv_reader import decode
from logistics.scenario.currency import SETTING, money_scale, scaled
from logistics.scenario.faults import Problem, choose_from, nearest
from logistics.scenario.map_tiles import tile_server
from logistics.scenario.number_text import CellFault, check_range, read_number, wanted
from logistics.scenario.schema import Column, number_text, settings_columns
from logistics.scenario.settings import default_setting
from logistics.scenario.toml_text import toml_value

FILE = SETTINGS_FILE
GONE = "Delete the line"
TYPE_WORDS = {bool: "true or false", list: "a list", dict: "a group"}
TOGETHER = (("policy.most_share_material", "policy.most_share_pct"),)
"""Settings of which neither says anything without the other."""
RETIRED = {
    "travel.stops_per_round": "rounds to small places are reckoned place by place",
    "travel.pickup_days": "trucks call as often as the feedstock's keep_hours ask",
    "windrow.mean_volume_pct": "windrow.end_volume_pct says what is left at the end",
}
"""Settings of earlier versions, and what does their work now."""
LIMIT_WORDS = (("less than", "more than"), ("at most", "at least"))
PAIRS = (
    ("district.west", "district.east", False),
    ("district.south", "district.north", False),
    ("mix.cn_low", "mix.cn_high", True),
    ("mix.moisture_low_pct", "mix.moisture_high_pct", True),
    ("people.near_m", "people.middle_m", False),
    ("people.middle_m", "people.far_m", False),
)


def read_settings(
    folder: Path, pay: float = nan, edited: str | None = None
) -> tuple[dict[str, Any], list[Problem]]:
    """
    Read the settings of a scenario folder.

    Parameters
    ----------
    folder
        Scenario folder.
    pay
        What truck crews are paid; shows the currency. [money/h]
    edited
        Text that is read in place of the file's.

    Returns
    -------
    dict
        Dotted name to value, in the units of `columns.csv`; only usable ones.
    list of Problem
        All faults; the row is the line in the file.
    """
    if edited is not None:
        return settings_of(edited, pay)
    path = folder / FILE
    if not path.is_file():
        if path.exists():
            why, remedy = "is not a file", "Move it away and write the settings file"
        else:
            why, remedy = "is missing", 'Add it with at least the line name = "…"'
        return {}, [Problem(FILE, None, "", None, why, remedy)]
    try:
        text = decode(path.read_bytes()).replace("\r\n", "\n")
    except OSError as error:
        why = f"cannot be opened ({error.strerror or type(error).__name__})"
        return {}, [
            Problem(FILE, None, "", None, why, "Check that you are allowed to read it")
        ]
    return settings_of(text, pay)


def settings_of(text: str, pay: float = nan) -> tuple[dict[str, Any], list[Problem]]:
    """Read the text of a settings file, see `read_settings`."""
    try:
        tree = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        return {}, [_unparsable(str(error), text)]
    values, problems = check_settings(flat_tree(tree), text, pay)
    return values, problems + accepted_of(text)[1]


def read_accepted(folder: Path, edited: str | None = None) -> tuple[Accepted, ...]:
    """Return the warnings accepted in a folder's settings file, or in its new text."""
    if edited is not None:
        return accepted_of(edited)[0]
    path = folder / FILE
    return accepted_of(decode(path.read_bytes()))[0] if path.is_file() else ()


def _unparsable(message: str, text: str) -> Problem:
    """Return the fault of a file that is not TOML, with its line."""
    line = re.search(r"at line (\d+)", message)
    row = int(line[1]) if line else max(1, len(text.splitlines()))
    reason = re.sub(r"\s*\(at .*\)", "", message).strip()
    reason = reason[:1].lower() + reason[1:] or "nested too deep"
    why = f"cannot be read as settings: {reason[:120]}"
    remedy = 'Write one setting per line, as in cn_low = 20 or name = "Hill district"'
    return Problem(FILE, row, "", None, why, remedy)


def flat_tree(tree: Mapping[str, Any]) -> dict[str, Any]:
    """Return settings by dotted name; groups are one level deep."""
    flat: dict[str, Any] = {}
    for name, value in tree.items():
        if isinstance(value, dict) and name not in settings_columns():
            flat |= {f"{name}.{inner}": v for inner, v in value.items()}
        else:
            flat[name] = value
    return flat


def check_settings(
    flat: Mapping[str, Any], text: str = "", pay: float = nan
) -> tuple[dict[str, Any], list[Problem]]:
    """
    Check each setting by its row in `columns.csv`, then those that go in pairs.

    Parameters
    ----------
    flat
        Dotted name to value, in the units of `columns.csv`.
    text, pay
        Text of the file they stand in, for the lines of faults; see `read_settings`.

    Returns
    -------
    dict
        Only the usable ones.
    list of Problem
        All faults.
    """
    known = settings_columns()
    scale = money_scale(flat, pay).value
    values: dict[str, Any] = {}
    problems = []

    def fault(name: str, value: object, why: str, remedy: str) -> None:
        row = line_of(text, name)
        problems.append(Problem(FILE, row, name, value, why, remedy))

    for name, value in flat.items():
        if name == ACCEPTED:
            continue  # read by `accepted_of`
        if name in RETIRED:
            fault(name, None, f"is no longer a setting: {RETIRED[name]}", GONE)
            continue
        if name not in known:
            fault(name, None, "is not a known setting", _rename(name, known))
            continue
        column = scaled(known[name], scale)
        if value == "":
            continue
        try:
            values[name] = READ[column.kind](value, column)
        except CellFault as found:
            fault(name, _plain(value), found.why, found.remedy)
    for name, column in known.items():
        if column.required and name not in values and not flat.get(name):
            fault(name, None, "is missing", f"Write it: {column.meaning}")
    for pair in TOGETHER:
        here = [name for name in pair if name in values]
        if len(here) == 1 and not any(flat.get(name) for name in set(pair) - set(here)):
            (other,) = set(pair) - set(here)
            why, remedy = f"has no effect without {other}", f"Set {other} as well"
            fault(here[0], _plain(values[here[0]]), why, remedy)
    for low, high, equal in PAIRS:
        a = values.get(low, default_setting(low))
        b = values.get(high, default_setting(high))
        wrong = a > b if equal else a >= b
        usable = all(name in values or name not in flat for name in (low, high))
        if wrong and usable:
            place, other, edge = (low, high, b) if low in values else (high, low, a)
            limit = LIMIT_WORDS[equal][place == high]
            why = f"must be {limit} {other}, which is {number_text(edge)}"
            fault(place, values[place], why, order_remedy(low, a, b))
    return values, problems


def _rename(name: str, known: Mapping[str, Column]) -> str:
    """Return the remedy for an unknown setting."""
    if any(k.startswith(f"{name}.") for k in known):
        return f"Write it as a group: [{name}] in a line of its own, settings below"
    tail = name.rpartition(".")[2]
    same = [k for k in known if k.rpartition(".")[2] in {tail, f"{tail}_pct"}]
    like = same[0] if same else nearest(name, known)
    if not like:
        return GONE
    group, _, last = like.rpartition(".")
    place = f" in the group [{group}]" if group else " above the first group"
    return f"Write {last!r}{place} if you meant that, or delete the line"


def _plain(value: object) -> object:
    """Return a value that can be shown in a message."""
    return value if isinstance(value, str | int | float) else str(value)


def _word(value: object) -> str:
    if isinstance(value, datetime.date | datetime.time):
        return "a date or a time"
    return TYPE_WORDS.get(type(value), "a number")


def _number(value: object, column: Column) -> float:
    if isinstance(value, str):
        number = read_number(value.strip(), column)
        remedy = f"Write {number_text(number)} without quotation marks"
        why = "is text, not a number"
        raise CellFault(why, remedy)
    if isinstance(value, bool) or not isinstance(value, int | float):
        why = f"is {_word(value)}, not a number"
        raise CellFault(why, wanted(column))
    try:
        number = float(value)
    except OverflowError:
        number = float("inf")
    if not isfinite(number):
        raise CellFault(why="is not a finite number", remedy=wanted(column))
    check_range(number, column)
    return number


def _text(value: object, column: Column) -> str:
    if column.name in work_calendar.NAMES:
        return work_calendar.setting_text(value, column.name)
    if not isinstance(value, str):
        why = f"is {_word(value)}, not text"
        raise CellFault(why, "Write it in quotation marks")
    if not value.isprintable():
        why = "holds unreadable characters"
        raise CellFault(why, "Type it again on one line")
    text = value.strip()
    if column.name == "map.tiles" and not tile_server(text):
        why = "is not the address of map tiles"
        remedy = "Write it as in https://tiles.example.org/{z}/{x}/{y}.png"
        raise CellFault(why, f"{remedy}, or leave it blank")
    return text


def _choice(value: object, column: Column) -> str:
    word = _text(value, column).casefold()
    if word not in column.choices:
        remedy = choose_from(word, column.choices)
        raise CellFault(why="is not one of the choices", remedy=remedy)
    return word


def _as_in_a_cell(value: object, column: Column) -> Any:
    """Read text as a cell of a table is read, such as a code."""
    return read_value(_text(value, column), column)


READ: dict[str, Callable[[object, Column], Any]] = {
    **dict.fromkeys(NUMBERS, _number),
    "text": _text,
    "choice": _choice,
    "code": _as_in_a_cell,
}
"""How settings of each type are read."""


def line_of(text: str, name: str) -> int | None:
    r"""
    Return the line of a setting in the file's text; None if it is not to be found.

    >>> line_of('name = "T"\n[mix]\ncn_low = 20', "mix.cn_low")
    3
    """
    group = ""
    for number, line in enumerate(text.split("\n"), start=1):
        header = re.match(r"\s*\[+\s*([^\]]*?)\s*\]", line)
        if header:
            group = header[1].replace(" ", "").replace('"', "")
            if group == name:
                return number
            continue
        key = re.match(r"""\s*([\w."' -]+?)\s*=""", line)
        if key:
            plain = re.sub(r"""["' ]""", "", key[1])
            if (f"{group}.{plain}" if group else plain) == name:
                return number
    return None


def line_in(folder: Path, name: str, edited: str | None = None) -> int | None:
    """Return the line of a setting in a folder's settings file, or in its new text."""
    text = decode((folder / FILE).read_bytes()) if edited is None else edited
    return line_of(text, name)


def settings_text(
    values: Mapping[str, Any],
    untouched: Collection[str] | None = None,
    found_scale: float = 1.0,
) -> str:
    """
    Write settings as TOML; those still at an untouched default are left out.

    Parameters
    ----------
    values
        Dotted name to value, in the units of `columns.csv`.
    untouched
        Settings that nobody wrote; None stands for all.
    found_scale
        Money scale that the values and tables show; another one is written.

    Examples
    --------
    >>> print(settings_text({"name": "Test", "mix.cn_low": 25.0, "mix.cn_high": 40.0}))
    name = "Test"
    <BLANKLINE>
    [mix]
    cn_low = 25
    <BLANKLINE>
    """
    lines: list[str] = []
    group = ""
    scale = values.get(SETTING) or 1.0
    default = {n: default_setting(n, scale) for n in settings_columns()}
    default[SETTING] = found_scale
    for name, column in settings_columns().items():
        value = values.get(name)
        own = column.required or (untouched is not None and name not in untouched)
        if value is None or (value == default[name] and not own):
            continue
        if value == "" and not column.required:
            continue
        head, _, tail = name.rpartition(".")
        if head != group:
            lines += ["", f"[{head}]"]
            group = head
        lines.append(f"{tail} = {toml_value(value)}")
    return "\n".join(lines) + "\n"
