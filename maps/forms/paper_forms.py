"""The questions of the survey on paper: one A4 form a table, filled in by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from markupsafe import Markup

from logistics.scenario import Scenario
from maps.forms.form_cautions import ON_SITE
from maps.forms.question_list import (
    GROUPS,
    TITLES,
    WORDS,
    FormQuestion,
    questions_for,
)
from maps.shared import filled, own_style, policy

MOST_TICKS = 12
"""Choices that are printed to be ticked; of more, the answer is written down."""
WIDE = {"name", "place", "road"}
WHO = ("Your name", "Date", "Village or district", "Form number")
WHERE = "Latitude, longitude and accuracy in m, as the phone shows them"
HOW_TO_NAME = "Its name, and from where to where; its code if you have the map"
AMOUNT = {
    "sources": "t, ha or head a year",
    "markets": "t or ha a year",
}
ENTRIES = {"roads": 5}
"""Entries on one sheet, where more than one fits."""
FOOT = (
    "{} a sheet. Write clearly, leave blank what nobody knows, and do not guess. Later "
    "type the sheets into the tables of the district, or into the survey on a phone."
)


def paper_form(table: str, questions: Sequence[FormQuestion], district: str) -> str:
    """
    Write the form of a table as a page that prints on one sheet of A4.

    Parameters
    ----------
    table
        Table.
    questions
        As `questions_for` has them.
    district
        Name of the district.
    """
    style = own_style("paper_form.css")
    named = dict.fromkeys(question.group for question in questions)
    times = ENTRIES.get(table, 1)
    groups = [
        (f"{GROUPS[name]} ({entry})" if times > 1 else GROUPS[name],
         [_shown(q, questions) for q in questions if q.group == name])
        for entry in range(1, times + 1)
        for name in named
    ]  # fmt: skip
    return filled(
        "paper_form.html.j2",
        trim=True,
        policy=policy([style]),
        style=Markup(style),
        title=TITLES[table],
        district=district,
        who=WHO,
        cautions=ON_SITE[table],
        groups=groups,
        foot=FOOT.format(f"Up to {times} entries" if times > 1 else "One place"),
    )


def _shown(
    question: FormQuestion, questions: Sequence[FormQuestion]
) -> Mapping[str, object]:
    """Return what the template prints of a question."""
    ticks = list(question.choices.values())
    if len(ticks) > MOST_TICKS:
        ticks = []
    hint = WHERE if question.kind == "geopoint" else question.hint
    hint = HOW_TO_NAME if question.name == "road" else hint
    return {
        "words": question.words,
        "needs": _needs(question, questions),
        "hint": hint,
        "choices": ticks,
        "example": f"e.g. {question.example}" if question.example else "",
        "unit": AMOUNT.get(question.table, "") if question.name == "amount"
        else question.unit,
        "wide": question.name in WIDE or bool(ticks),
    }  # fmt: skip


def _needs(question: FormQuestion, questions: Sequence[FormQuestion]) -> str:
    """Say when a question is to be answered; blank for always."""
    other, answer = question.needs
    if not other or not answer:
        return ""
    asked = next(q for q in questions if q.name == other)
    return f"Only for: {asked.choices.get(answer, WORDS.get(answer, answer))}"


def write_paper_forms(scenario: Scenario, folder: Path) -> list[str]:
    """Write the form of every table into a folder; return the names of the files."""
    folder.mkdir()
    names = []
    for table, questions in questions_for(scenario).items():
        text = paper_form(table, questions, scenario.settings.name)
        name = f"{table}.html"
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
        names.append(name)
    return names
