"""
The survey as an XLSForm, the open standard for forms on phones (xlsform.org).

One visit is one form: enumerator, district, what there is here; then a repeated group
for each table, whose questions bear the names of our columns.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from logistics.bringing import MARK, WORST_ACCURACY_M
from logistics.scenario import CREATED, Scenario
from maps.forms.form_cautions import ON_SITE
from maps.forms.question_list import (
    GROUPS,
    TITLES,
    FormQuestion,
    district_choices,
    questions_for,
)

FORM_ID = "loamhaul_survey"
SURVEY = ("type", "name", "label", "hint", "required", "relevant", "constraint",
          "constraint_message", "appearance", "parameters", "calculation")  # fmt: skip
CHOICES = ("list_name", "name", "label")
SETTINGS = ("form_title", "form_id", "version")
GOOD_ACCURACY_M = 10.0
"""GPS accuracy at which the phone takes the point. [m] (our judgement)"""
LONG_LIST = 12
"""Choices from which a list is searched by typing."""
Line = Mapping[str, str]


def xlsform_sheets(scenario: Scenario) -> dict[str, list[list[str]]]:
    """
    Return the three sheets of the form: survey, choices, settings.

    Parameters
    ----------
    scenario
        Gives what can be chosen.

    Returns
    -------
    dict
        Sheet -> rows of texts, headings first. The same scenario gives the same.
    """
    asked = questions_for(scenario)
    districts = district_choices(scenario)
    lists: dict[str, Mapping[str, str]] = {
        "tables": {table: TITLES[table] for table in asked},
        "district": districts,
    }
    for questions in asked.values():
        for question in questions:
            if question.choices:
                lists[_list_name(question)] = question.choices
    survey = [*_visit(asked, districts)]
    for table, questions in asked.items():
        survey += _repeat(table, questions)
    choices = [
        {"list_name": name, "name": code, "label": plain_label(words)}
        for name, known in lists.items()
        for code, words in known.items()
    ]
    sheets = {"survey": _rows(SURVEY, survey), "choices": _rows(CHOICES, choices)}
    text = json.dumps(sheets, ensure_ascii=True)
    version = int(hashlib.sha256(text.encode("ascii")).hexdigest()[:8], 16)
    title = plain_label(f"Survey: {scenario.settings.name}")
    sheets["settings"] = [list(SETTINGS), [title, FORM_ID, str(version)]]
    return sheets


def plain_label(text: str) -> str:
    r"""
    Return a name as a label that no form program takes for a reference or for mark-up.

    >>> plain_label("Mill ${x} *new*")
    'Mill $ {x} \\*new\\*'
    """
    bare = re.sub(r"\s+", " ", text).replace("${", "$ {")
    return re.sub(r"([*#<])", r"\\\1", bare)


def _rows(headings: Sequence[str], lines: Sequence[Line]) -> list[list[str]]:
    return [list(headings), *([line.get(h, "") for h in headings] for line in lines)]


def _list_name(question: FormQuestion) -> str:
    """Return the name of a list: months are shared, all else is of its column."""
    if question.name in {"ticked_months", "closed_periods"}:
        return "periods"
    shared = {"material", "season", "road"}
    own = question.name in shared
    return question.name if own else f"{question.table}_{question.name}"


def _visit(
    asked: Mapping[str, Sequence[FormQuestion]], districts: Mapping[str, str]
) -> Iterator[Line]:
    """Yield what is asked once a visit."""
    yield {"type": "today", "name": "visit_date"}
    yield {"type": "text", "name": "enumerator", "label": "Your name",
           "required": "yes"}  # fmt: skip
    if districts:
        yield {"type": "select_one district", "name": "district", "label": "District",
               "required": "yes"}  # fmt: skip
    yield {"type": "select_multiple tables", "name": "here", "required": "yes",
           "label": "What is there here?",
           "hint": "Each comes next, as often as you need it"}  # fmt: skip


def _repeat(table: str, questions: Sequence[FormQuestion]) -> Iterator[Line]:
    """Yield the repeated group of a table."""
    yield {"type": "begin_repeat", "name": table, "label": TITLES[table],
           "relevant": f"selected(${{here}}, '{table}')"}  # fmt: skip
    yield {"type": "calculate", "name": MARK, "calculation": "'ours'"}
    yield {"type": "note", "name": "cautions", "label": " ".join(ON_SITE[table])}
    for group in dict.fromkeys(question.group for question in questions):
        yield {"type": "begin_group", "name": group, "label": GROUPS[group]}
        for question in questions:
            if question.group == group:
                yield _survey_line(question)
        yield {"type": "end_group", "name": group}
    yield {"type": "end_repeat", "name": table}


def _survey_line(question: FormQuestion) -> Line:
    """Return the row of a question."""
    line = {
        "type": question.kind,
        "name": question.name,
        "label": plain_label(question.asked),
        "hint": question.hint,
        "required": "yes" if question.required else "",
        "constraint_message": question.limits,
    }
    if question.kind.startswith("select"):
        line["type"] = f"{question.kind} {_list_name(question)}"
        if question.kind == "select_one" and len(question.choices) > LONG_LIST:
            line["appearance"] = "autocomplete"
    if question.limits:
        low, high = question.limits.split()[1], question.limits.split()[3]
        line["constraint"] = f". >= {low} and . <= {high}"
    if question.kind == "geopoint":
        good, worst = f"{GOOD_ACCURACY_M:g}", f"{WORST_ACCURACY_M:g}"
        line["parameters"] = f"capture-accuracy={good} warning-accuracy={worst}"
    if question.kind == "image":
        line["parameters"] = "max-pixels=1600"
    other, answer = question.needs
    if other:
        line["relevant"] = f"../{other} = '{answer}'"
        if not answer:
            line["required"] = "yes"
    return line


def write_xlsform(scenario: Scenario, path: Path) -> None:
    """Write the form as a workbook; every cell is text."""
    import xlsxwriter

    options = {"strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(path, options) as book:
        book.set_properties({"created": CREATED})
        bold = book.add_format({"bold": True})
        for name, rows in xlsform_sheets(scenario).items():
            sheet = book.add_worksheet(name)
            sheet.freeze_panes(1, 0)
            sheet.set_column(0, len(rows[0]) - 1, 24)
            for number, row in enumerate(rows):
                for place, text in enumerate(row):
                    if text:
                        sheet.write_string(
                            number, place, text, None if number else bold
                        )
