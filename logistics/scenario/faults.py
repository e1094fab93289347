"""Faults in the input: what one is, how it reads, and how all are raised together."""

import difflib
import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from logistics.scenario.lists import in_list
from logistics.scenario.schema import number_text

LONGEST_SHOWN = 60
MOST_COMPARED = 3000
ALIKE, NEARLY_SAME = 0.7, 0.85
"""Likeness of two words of a code, and of two codes, that may be one misspelt."""


@dataclass(frozen=True, slots=True)
class Problem:
    """
    One fault in the input, with its place and its remedy.

    Attributes
    ----------
    file
        File name, with the sheet or layer if it has any.
    row
        Row as a spreadsheet counts: the heading is row 1. The line in a `.toml` file,
        the feature id in a GeoPackage layer. None for a whole table.
    column
        Column or setting; empty for a whole row.
    value
        What stands there; None where there is nothing to show.
    why, remedy
        What is wrong, and what to write instead.

    Examples
    --------
    >>> print(Problem("sources.csv", 3, "amount", "12 t", "has a unit", "Write 12"))
    sources.csv, row 3, column 'amount': '12 t' has a unit. Write 12.
    """

    file: str
    row: int | None
    column: str
    value: object
    why: str
    remedy: str

    def __str__(self) -> str:
        """Return place, value, fault and remedy in one line."""
        line, cell = ("row", "column")
        if self.file.endswith(".toml"):
            line, cell = ("line", "setting")
        where = self.file
        if self.row is not None:
            where += f", {line} {self.row}"
        if self.column:
            where += f", {cell} {_shown(self.column)}"
        value = "" if self.value is None else f"{_shown(self.value)} "
        return f"{where}: {value}{self.why}. {self.remedy}."


def _shown(value: object) -> str:
    """Return the value, numbers plain, text in quotation marks and not too long."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return number_text(value)
    text = str(value)
    if len(text) > LONGEST_SHOWN:
        text = text[:LONGEST_SHOWN] + "…"
    return repr(text)


class ScenarioError(ValueError):
    """
    The scenario cannot be used. Lists all problems, not just the first.

    Parameters
    ----------
    problems
        All faults found.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = sorted(problems, key=lambda p: (p.file, p.row or 0))
        count = len(self.problems)
        heading = f"{count} {'fault' if count == 1 else 'faults'} in the input:"
        super().__init__("\n".join([heading, *map(str, self.problems)]))


def nearest(word: str, known: Collection[str], cutoff: float = 0.6) -> str:
    """
    Return the known word most like the one given, or nothing if none is like it.

    Examples
    --------
    >>> nearest("Rice-husk", ["rice_husk", "fish"])
    'rice_husk'
    >>> nearest("gold", ["rice_husk", "fish"])
    ''
    """
    if not word or len(word) > LONGEST_SHOWN:
        return ""
    plain = {name.casefold(): name for name in known}
    exact = {_bare(name): name for name in known}.get(_bare(word))
    if exact is not None or len(plain) > MOST_COMPARED:
        return exact or ""
    like = difflib.get_close_matches(word.casefold(), plain, n=1, cutoff=cutoff)
    return plain[like[0]] if like else ""


def nearest_material(word: str, structure: Mapping[str, bool]) -> str:
    """
    Return the material that is misspelt, or nothing: another material is no remedy.

    The spelling must be close word by word, so the last word, which says what kind of
    material it is, must be close too. Nothing is offered if materials that give
    structure and ones that do not are both close.

    Parameters
    ----------
    word
        Code as typed.
    structure
        Known codes, and whether each keeps a windrow open.

    Examples
    --------
    >>> nearest_material("Rice-husks", {"rice_husk": True, "rice_bran": False})
    'rice_husk'
    >>> nearest_material("coffee_husk", {"rice_husk": True})
    ''
    """
    if not word or len(word) > LONGEST_SHOWN:
        return ""
    same = {_bare(code): code for code in structure}.get(_bare(word))
    if same is not None or len(structure) > MOST_COMPARED:
        return same or ""
    near = [code for code in structure if _misspelt(word.casefold(), code.casefold())]
    if len({structure[code] for code in near}) != 1:
        return ""
    if len(near) > 1:
        near.sort(key=lambda code: -_likeness(word.casefold(), code.casefold()))
    return near[0]


def _misspelt(word: str, code: str) -> bool:
    """Whether both may be the same code, misspelt or cut short after two words."""
    typed, parts = re.split(r"[\W_]+", word), re.split(r"[\W_]+", code)
    if len(typed) == len(parts):
        pairs = zip(typed, parts, strict=True)
        return all(_likeness(*pair) >= ALIKE for pair in pairs)
    if len(typed) > 1 and typed == parts[: len(typed)]:
        return True
    whole = _likeness(word, code) >= NEARLY_SAME
    return whole and _likeness(typed[-1], parts[-1]) >= ALIKE


def _likeness(one: str, other: str) -> float:
    return difflib.SequenceMatcher(None, one, other).ratio()


def _bare(word: str) -> str:
    """Return letters and digits alone, so that M-2 is m02."""
    return re.sub(r"(?<!\d)0+(?=\d)|[\W_]", "", word.casefold())


def choose_from(word: str, known: Collection[str]) -> str:
    """
    Return the remedy for an unknown word: the nearest one, or the list of all.

    Examples
    --------
    >>> choose_from("fsh", ["husk", "fish"])
    "Write 'fish' if you meant that"
    >>> choose_from("gold", ["husk", "fish"])
    'Use one of: husk, fish'
    """
    like = nearest(word, known)
    if like:
        return f"Write {like!r} if you meant that"
    if not known:
        return "Leave it blank"
    some = list(known)[:12]
    more = f" and {len(known) - len(some)} more" if len(known) > len(some) else ""
    return f"Use one of: {in_list(some)}{more}"
