"""
The parts of the manual that the program writes: options, settings, columns, sheets.

A page asks for them in a fenced block named `reference`, one wish a line, such as
`settings mix process` or `table sources`. So no option, setting or column is
described twice, and none can be left out: `tests/maps/manual/` holds that every one
of them is asked for on some page.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from logistics.changes import CHANGES, arguments_of, shown
from logistics.scenario import (
    Column,
    columns_of,
    library,
    records,
    settings_columns,
)
from maps.manual.pages import FOLDER
from maps.tables import BUDGET_SHEETS, TABLES

BLOCK = re.compile(r"^```reference\n(.*?)^```$", re.MULTILINE | re.DOTALL)
SUMMARY_SCHEMA = "summary.schema.json"
"""What `summary.json` holds, as a JSON schema, beside the pages."""
LOOSE = "general"
"""Wish for the settings that stand in no group, such as `name`."""
UNITS = {
    "flood": "% inside",
    "protected": "% inside",
    "slope": "%",
    "area": "m2",
    "water_table": "m",
}
"""Units of the siting rules that are no distances."""
FREE = {"code", "text", "line", "shape", "lon", "lat", "list"}
"""Kinds of columns whose limits say nothing that the meaning does not."""


@dataclass(frozen=True, slots=True)
class Option:
    """
    An argument or option of a command.

    Attributes
    ----------
    name
        As typed, with what follows it: `--gap NUMBER`.
    meaning
        Its help.
    limits
        Least, greatest and default value in words; empty if there are none.
    """

    name: str
    meaning: str
    limits: str = ""


@dataclass(frozen=True, slots=True)
class Command:
    """A command, what it does and what may follow its name."""

    name: str
    meaning: str
    options: tuple[Option, ...]


Commands = Sequence[Command]


def with_reference(text: str, commands: Commands) -> str:
    """
    Put tables in place of the reference blocks of a page.

    Parameters
    ----------
    text
        Markdown of the page.
    commands
        All commands, as the command line knows them.

    Raises
    ------
    ValueError
        If a block asks for what there is not.
    """

    def written(found: re.Match[str]) -> str:
        wishes = found[1].strip().splitlines()
        return "\n\n".join(_answer(wish, commands) for wish in wishes)

    return BLOCK.sub(written, text)


def wishes(text: str) -> list[str]:
    r"""
    List what the reference blocks of a page ask for.

    >>> wishes("# Mixes\n```reference\nsettings mix\n```\n")
    ['settings mix']
    """
    found = BLOCK.findall(text)
    return [line for block in found for line in block.strip().splitlines()]


def setting_group(name: str) -> str:
    """
    Group of a setting: what stands before its point.

    >>> setting_group("mix.cn_low"), setting_group("currency")
    ('mix', 'general')
    """
    group, point, _ = name.partition(".")
    return group if point else LOOSE


def _answer(wish: str, commands: Commands) -> str:
    kind, _, rest = wish.partition(" ")
    answers: dict[str, Callable[[], str]] = {
        "command": lambda: _command(rest, commands),
        "settings": lambda: _settings(rest.split()),
        "table": lambda: _table("column", map(_column, columns_of(rest))),
        "changes": _changes,
        "sheets": _sheets,
        "budget": lambda: _table(
            "sheet", ((k, v, "") for k, v in BUDGET_SHEETS.items())
        ),
        "rules": _rules,
        "materials": _materials,
        "summary": _summary,
    }
    try:
        return answers[kind]()
    except (KeyError, StopIteration):
        message = f"a page of the manual asks for {wish!r}; there is no such thing"
        raise ValueError(message) from None


def _command(name: str, commands: Commands) -> str:
    wanted = next(command for command in commands if command.name == name)
    rows = ((each.name, each.meaning, each.limits) for each in wanted.options)
    line = f"`loamhaul {name}`: {plain(wanted.meaning)}"
    return f"{line}\n\n{_table('argument or option', rows)}" if wanted.options else line


def _settings(groups: list[str]) -> str:
    chosen = [
        column
        for name, column in settings_columns().items()
        if setting_group(name) in groups
    ]
    if {setting_group(column.name) for column in chosen} != set(groups):
        raise KeyError(groups)
    return _table("setting", map(_column, chosen))


def _column(column: Column) -> tuple[str, str, str]:
    return column.name, column.meaning, limits(column)


def limits(column: Column) -> str:
    """
    Say unit, limits and default of a column in a few words.

    Examples
    --------
    >>> limits(settings_columns()["mix.cn_low"])
    't/t; 5 to 200; default 20'
    >>> limits(settings_columns()["goal.minimise"])
    'cost, uncollected or co2e; default cost'
    >>> limits(columns_of("sources")[0])
    'must be given'
    """
    told = [column.unit] if column.unit and column.kind not in {"lon", "lat"} else []
    if column.choices:
        told.append(" or ".join((", ".join(column.choices[:-1]), column.choices[-1])))
    if column.kind == "yes_no":
        told.append("yes or no")
    told += [_range(column)] if column.kind not in FREE else []
    if column.refers_to:
        told.append(f"a code of the table {column.refers_to}")
    if column.default:
        told.append(f"default {column.default}")
    elif column.required and column.table != "settings":
        told.append("must be given")
    return "; ".join(filter(None, told)).removeprefix(" or ")


def _range(column: Column) -> str:
    if column.low is None or column.high is None:
        return ""
    return f"{column.low:,.15g} to {column.high:,.15g}"


def _changes() -> str:
    rows = []
    for name in sorted(CHANGES):
        told = [
            shown(argument) if p.default is p.empty else f"[{shown(argument)}]"
            for argument, p in arguments_of(name).items()
        ]
        meaning = (CHANGES[name].__doc__ or "").strip()
        rows.append((name, meaning, f"{', '.join(told)}" if told else ""))
    return _table("change", rows)


def _sheets() -> str:
    rows = []
    for name, make in TABLES.items():
        first = (make.__doc__ or "").strip().partition("\n")[0]
        rows.append((name, first, ""))
    return _table("sheet", rows)


def _summary() -> str:
    schema = json.loads((FOLDER / SUMMARY_SCHEMA).read_text(encoding="utf-8"))
    told = _table(
        "figure", ((k, v["description"], "") for k, v in schema["properties"].items())
    )
    return f"{told}\n\n```json\n{json.dumps(schema, ensure_ascii=False)}\n```"


def _budget() -> str:
    rows = ((name, what, "") for name, what in BUDGET_SHEETS.items())
    return _table("sheet", rows)


def _materials() -> str:
    code, name, *others = columns_of("materials")
    rows = []
    for row in records(library("materials").frame):
        figures = ((each.name, _as_typed(row[each.name])) for each in others)
        given = (f"{heading} {value}" for heading, value in figures if value)
        rows.append((row[code.name], row[name.name], "; ".join(given)))
    return _table("feedstock", rows)


def _as_typed(value: object) -> str:
    """Value of a cell as a planner types it; empty for none."""
    if value is None or value != value:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def _rules() -> str:
    rows = []
    for rule in records(library("siting_rules").frame):
        value = rule["value"]
        far = f"{value:,.15g}" if value == value else "the smallest yard size,"
        asked = f"{rule['comparison']} {far}".replace("_", " ")
        unit = UNITS.get(rule["subject"], "m")
        told = f"{rule['name']}: {asked} {unit}. Basis: {rule['source']}"
        rows.append((rule["rule"], told, rule["action"]))
    return _table("rule", rows)


def _table(heading: str, rows: Iterable[tuple[str, str, str]]) -> str:
    lines = [f"| {heading} | what it is |", "|---|---|"]
    for name, meaning, extra in rows:
        told = plain(meaning) if meaning.endswith((".", "]")) else f"{plain(meaning)}."
        more = f" *{plain(extra)}*" if extra else ""
        code = name.replace("|", "\\|")
        lines.append(f"| `{code}` | {told}{more} |")
    return "\n".join(lines)


def plain(text: str) -> str:
    r"""
    Write a text so that Markdown takes none of its signs for its own.

    >>> plain("at_least | [m] <b>")
    'at\\_least \\| \\[m] \\<b>'
    """
    return re.sub(r"([\\|*_<\[])", r"\\\1", " ".join(text.split()))
