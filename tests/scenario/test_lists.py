"""Names with commas of their own stay apart in every sentence that lists names."""

import re

import pytest
from support.places import ROOT

from logistics.scenario import choose_from, in_list
from maps.report.pieces import bdi, listed

NAMES = ["Moulin Dao, Est, Port", "Quai Ferro", "Halle, vieille"]


def test_semicolons_only_where_a_name_has_a_comma():
    assert in_list(NAMES) == "Moulin Dao, Est, Port; Quai Ferro; Halle, vieille"
    assert in_list(NAMES[1:2] * 2) == "Quai Ferro, Quai Ferro"
    assert in_list([]) == ""
    assert in_list(["1,200 t", "3 t"]) == "1,200 t, 3 t"


def test_the_report_lists_alike():
    assert listed(NAMES) == "Moulin Dao, Est, Port; Quai Ferro; and Halle, vieille"
    assert "<bdi>Moulin Dao, Est, Port</bdi>; " in listed([bdi(n) for n in NAMES])
    assert choose_from("xyz", ["a, b", "c"]) == "Use one of: a, b; c"


CODES_OR_FILES = {
    "jobs.py",
    "new_command.py",
    "compare_command.py",
    "stress_command.py",
    "materials_command.py",
    "reference.py",
    "output_folder.py",
    "anew_differences.py",
    "log_book.py",
    "yard_log.py",
    "accepted.py",
    "recipe.py",
}
"""Modules that list codes, files, units or what a program reads alone."""


@pytest.mark.parametrize("room", ["logistics", "maps"])
def test_no_sentence_joins_names_by_itself(room: str):
    joins = re.compile(r"""(", "|', ')\)?\.join\(""")
    found = [
        path.name
        for path in (ROOT / room).rglob("*.py")
        if joins.search(path.read_text(encoding="utf-8"))
    ]
    assert set(found) <= CODES_OR_FILES
