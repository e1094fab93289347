"""Materials are told apart: by all eyes, in grey, whatever the table holds."""

import re

import numpy as np
import pytest
from support import colour_vision
from support.accented import FEEDSTOCKS, accented

from maps.report.report import report_html
from maps.shared.material_looks import (
    COMPOST_COLOUR,
    FEEDSTOCK_COLOURS,
    TEXTURES,
    colours,
    looks,
)


@pytest.mark.parametrize("eyes", colour_vision.EYES)
def test_any_two_of_ten_feedstocks_and_compost_are_told_apart(eyes):
    all_of_them = [*FEEDSTOCK_COLOURS, COMPOST_COLOUR]
    assert len(FEEDSTOCK_COLOURS) == 10
    assert colour_vision.least_apart(all_of_them, eyes)[0] >= 14


def test_neighbours_differ_in_print_in_grey():
    light = [float(colour_vision.lab(c)[0]) for c in FEEDSTOCK_COLOURS]
    assert np.abs(np.diff(light)).min() > 15


def test_every_texture_is_another():
    assert len(TEXTURES) == len(set(TEXTURES)) == len(FEEDSTOCK_COLOURS)


def of_table(used, count=17):
    """Looks where only some materials of a long table arise."""
    planned = accented()
    tables = planned.scenario.tables
    materials = tables["materials"].iloc[[0] * count].reset_index(drop=True)
    tables["materials"] = materials.assign(material=[f"m{k}" for k in range(count)])
    sources = tables["sources"].iloc[[0] * len(used)].reset_index(drop=True)
    tables["sources"] = sources.assign(material=used)
    return planned


@pytest.mark.parametrize(
    "used",
    [
        ["m0", "m10", "m2"],
        [f"m{k}" for k in range(7, 17)],
        [f"m{k}" for k in range(10)],
    ],
)
def test_what_arises_looks_unlike_all_else_that_arises(used):
    planned = of_table(used)
    assert len({looks(planned)[code] for code in used}) == len(used)
    assert len({colours(planned)[code] for code in used}) == len(used)


def test_more_than_ten_share_a_look_as_late_as_can_be():
    used = [f"m{k}" for k in range(14)]
    numbers = looks(of_table(used))
    found = [numbers[code] for code in used]
    assert len(set(found[:10])) == 10
    assert len(set(found[10:])) == 4


def test_one_more_feedstock_leaves_the_others_looks_alone():
    before, after = looks(of_table(["m1", "m5"])), looks(of_table(["m1", "m3", "m5"]))
    assert [before["m1"], before["m5"]] == [after["m1"], after["m5"]]


def test_a_colour_that_is_stated_is_kept():
    planned = accented()
    planned.scenario.tables["materials"]["colour"] = ["#123456"] * len(FEEDSTOCKS)
    found = colours(planned)
    assert found.pop("compost") == COMPOST_COLOUR
    assert set(found.values()) == {"#123456"}
    assert len(set(looks(planned).values())) == len(FEEDSTOCKS)  # textures differ


@pytest.mark.slow
def test_every_chart_of_the_report_gives_a_feedstock_one_look():
    """Also charts that show only some of the feedstocks."""
    page = report_html(accented())
    pattern = re.compile(
        r'<pattern id="([\w-]+)"[^>]*><rect[^>]*fill="(#\w+)"/><path d="([^"]*)"'
    )
    drawn = [found.groups() for found in pattern.finditer(page)]
    of_feedstocks = [row for row in drawn if row[1] in FEEDSTOCK_COLOURS]
    assert len({code.rpartition("-")[0] for code, _, _ in of_feedstocks}) > 2
    for _, colour, texture in of_feedstocks:
        assert texture == TEXTURES[FEEDSTOCK_COLOURS.index(colour)]
