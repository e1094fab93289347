"""
Marks on the figures of the report: each leads to where it comes from.

A figure in a sentence is written with `traced`, a setting with `stated`, a sentence of
a table with `quoted`. They put marks about the text that survive escaping; `linked`
turns the marks of the finished page into links to the section "Where each number comes
from".
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from markupsafe import Markup, escape

from maps.report.pieces import plain
from maps.report.plan_facts import Facts
from maps.shared import other_yards
from maps.tables import TABLES, Lineage

START, MIDDLE, END = "\ue000", "\ue001", "\ue002"
"""Signs of no script, which `plain` takes out of every text from data."""
MARK = re.compile(f"{START}([^{MIDDLE}]*){MIDDLE}([^{END}]*){END}")
SENTENCE, COUNT = "words", "rows"
"""Families of what is no figure of the register: a sentence of a table, rows of it."""


def traced(facts: Facts, code: str, text: object) -> str:
    """
    Mark a figure as that of the register.

    Raises
    ------
    LookupError
        If the register has no such figure: one without lineage is not shown.
    """
    if code not in facts.lineage:
        message = (
            f"the report shows a figure without lineage: {code}. Name it in "
            "maps/tables/lineage_figures.py"
        )
        raise LookupError(message)
    return _marked(code, text)


def stated(facts: Facts, setting: str, value: float) -> str:
    """Write a setting with its mark, as short as it was given."""
    return traced(facts, f"setting/{setting}", f"{value:g}")


def quoted(table: str, sentence: object) -> str:
    """Mark a sentence that stands in a table as it is."""
    return _of_table(SENTENCE, table, sentence)


def counted(table: str, text: object) -> str:
    """Mark a number of rows of a table, or of rows that are not listed here."""
    return _of_table(COUNT, table, text)


def room_left(facts: Facts) -> str:
    """Say how much better a plan with other yards could be."""
    words = plain(other_yards(facts.result))
    gap = "gap_value" if facts.result.plan.any_bound is None else "any_gap_value"
    return traced(facts, gap, words) if re.search(r"\d", words) else words


def _of_table(kind: str, table: str, text: object) -> str:
    if table not in TABLES:
        message = f"the report quotes {table}, which is no table of the plan"
        raise LookupError(message)
    return _marked(f"{kind}/{table}", text)


def _marked(code: str, text: object) -> str:
    """Put the marks about a text; markup stays markup."""
    form = Markup("{}{}{}{}{}") if isinstance(text, Markup) else "{}{}{}{}{}"
    return form.format(START, code, MIDDLE, text, END)


def anchor(code: str) -> str:
    """Address of the row of a figure's family in the report."""
    return f"from-{code.partition('/')[0]}"


def linked(page: str, lineage: Mapping[str, Lineage], report: str = "") -> str:
    """
    Turn the marks of a finished page into links; within tags they are taken out.

    Parameters
    ----------
    page
        HTML, escaped.
    lineage
        The register of figures.
    report
        File that says where each comes from; blank for the page itself.
    """
    page = re.sub(r"<[^>]*>", lambda tag: MARK.sub(r"\2", tag.group()), page)

    def link(mark: re.Match[str]) -> str:
        code, text = mark.groups()
        plain_code = code.replace("&#39;", "'").replace("&amp;", "&")
        family, _, key = plain_code.partition("/")
        if plain_code in lineage:
            words = plain(lineage[plain_code].formula.words())
        else:
            words = f"{'sentence' if family == SENTENCE else 'rows'} of {key}"
        return (
            f'<a class="from" href="{report}#{escape(anchor(plain_code))}" '
            f'data-from="{code}" title="{escape(words)}">{text}</a>'
        )

    return MARK.sub(link, page)
