"""
The settings file as text: read to be edited, written back as it came.

Comments, order and lines that are no settings of ours stay; only the value that was
edited is another.
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import InlineTable, Table

from logistics.scenario.cells import NUMBERS
from logistics.scenario.csv_reader import decode
from logistics.scenario.number_text import CellFault, read_number
from logistics.scenario.raw import EDGES
from logistics.scenario.schema import Column, number_text, settings_columns
from logistics.scenario.separators import PLAIN
from logistics.scenario.settings_file import FILE, flat_tree

LONGEST_SETTING = 2_000
"""Most letters of a setting: a story may be long."""


class SettingsFault(ValueError):
    """A setting that cannot be put into the file as it is; says why."""


@dataclass(frozen=True, eq=False)
class SettingsText:
    """
    A settings file as text.

    Attributes
    ----------
    path
        The file.
    text
        What stands in it, lines ended by a line feed alone.
    ending
        How its lines end on the disk.
    view_only
        Why it cannot be edited here; empty if it can.
    """

    path: Path
    text: str = ""
    ending: str = "\n"
    view_only: str = ""

    @cached_property
    def stamp(self) -> str:
        """Digest of the text."""
        return hashlib.sha256(self.text.encode("utf-8", "replace")).hexdigest()[:32]

    @property
    def data(self) -> bytes:
        """The whole file, in UTF-8."""
        return self.text.replace("\n", self.ending).encode("utf-8", "replace")


def settings_document(folder: Path) -> SettingsText:
    """Read the settings file of a folder as text; a missing one is empty."""
    path = folder / FILE
    if path.is_symlink():
        why = f"{FILE} is a link to another place: put the file itself here."
        return SettingsText(path, view_only=why)
    if not path.is_file():
        return SettingsText(path)
    try:
        whole = decode(path.read_bytes())
    except OSError as error:
        why = f"{FILE} cannot be opened ({error.strerror or type(error).__name__})."
        return SettingsText(path, view_only=why)
    ending = "\r\n" if "\r\n" in whole else "\n"
    return SettingsText(path, whole.replace("\r\n", "\n"), ending)


def typed_settings(text: str) -> dict[str, str]:
    r"""
    Return the settings of a file's text as a planner would type them.

    Raises
    ------
    SettingsFault
        If the text is not TOML.

    Examples
    --------
    >>> typed_settings('name = "T"\n[mix]\ncn_low = 20.0 # lean')
    {'name': 'T', 'mix.cn_low': '20'}
    """
    return {name: _as_typed(value) for name, value in _values(text).items()}


def _values(text: str) -> dict[str, Any]:
    try:
        return flat_tree(tomllib.loads(text))
    except (ValueError, RecursionError) as error:
        raise SettingsFault(str(error)) from None


def _as_typed(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return number_text(value)
    if isinstance(value, list):
        return " ".join(map(str, value))
    return str(value)


def with_typed(text: str, edits: Mapping[str, str]) -> str:
    r"""
    Return a file's text with some settings as typed; a blank one is taken out.

    Parameters
    ----------
    text
        Text of the file.
    edits
        Dotted name -> what was typed. What is no number stays text, so that the check
        says what is wrong with it.

    Raises
    ------
    SettingsFault
        If the text is not TOML, or a value cannot be put into it alone.

    Examples
    --------
    >>> old = '# Ours\nname = "T"\n\n[finance]\nfuel_price_per_l = 1.0 # May\n'
    >>> new = {"finance.fuel_price_per_l": "1.35", "currency": "pesos"}
    >>> print(with_typed(old, new))
    # Ours
    name = "T"
    currency = "pesos"
    <BLANKLINE>
    [finance]
    fuel_price_per_l = 1.35 # May
    <BLANKLINE>
    """
    wanted = _values(text)
    try:
        document = tomlkit.parse(text)
        for name, typed in edits.items():
            value = _read(name, typed)
            if value is None:
                wanted.pop(name, None)
                _take_out(document, name)
            else:
                wanted[name] = value
                _put(document, name, value)
        fresh: str = tomlkit.dumps(document)
    except (TOMLKitError, ValueError, TypeError, AttributeError) as error:
        message = f"the value cannot be put into {FILE} ({error})"
        raise SettingsFault(message) from None
    if _values(fresh) != wanted:
        message = f"{FILE} is written in a way in which this value cannot be changed"
        raise SettingsFault(message)
    return fresh


def _read(name: str, typed: str) -> str | int | float | None:
    """Return what a setting gets in the file; None for a blank one."""
    plain = typed.strip(EDGES).encode("utf-8", "replace").decode()
    if len(plain) > LONGEST_SETTING:
        message = f"{name} is longer than {LONGEST_SETTING:,} letters"
        raise SettingsFault(message)
    if not plain:
        return None
    column = settings_columns().get(name)
    if column is None:
        message = f"{name[:60]!r} is not a setting"
        raise SettingsFault(message)
    return _number(plain, column) if column.kind in NUMBERS else plain


def _number(plain: str, column: Column) -> str | int | float:
    """Return the number that was typed; the text itself if it is none."""
    try:
        value = read_number(plain, column)
    except CellFault:
        if not PLAIN.fullmatch(plain):
            return plain
        value = float(plain)
    return int(value) if value.is_integer() and abs(value) < 1e15 else value


def _put(document: tomlkit.TOMLDocument, name: str, value: str | int | float) -> None:
    """Set a value in its group; one that is not there comes at its end."""
    group, _, last = name.rpartition(".")
    place: Any = document
    if group:
        if group not in document:
            document.append(group, tomlkit.table())
        place = document[group]
    if isinstance(place.get(last), Table | InlineTable):
        message = f"{name} is a group there"
        raise SettingsFault(message)
    place[last] = value


def _take_out(document: tomlkit.TOMLDocument, name: str) -> None:
    """Delete a setting, known or not; one that is not there is no fault."""
    group, _, last = name.rpartition(".")
    place: Any = document.get(group, {}) if group else document
    if isinstance(place, dict) and last in place:
        del place[last]
    elif name in document:
        del document[name]
