"""Answers of survey exports: choices, points and keys, just as the servers write them."""

import pytest

from logistics.bringing.sheets import ReadSheet
from logistics.bringing.survey_columns import tail_of, tidied


def columns(*rows, head):
    """What stands in the columns of an export, after it was tidied."""
    whole = [["_id", *head], *([str(n), *row] for n, row in enumerate(rows))]
    made = tidied(ReadSheet("f.csv", "", whole, list(range(1, len(whole) + 1))))
    return dict(zip(made.rows[0], zip(*made.rows[1:], strict=True), strict=True))


def test_ticks_beside_the_cell_that_has_all_go():
    found = columns(
        ["m01 m03", "1", "0", "1"],
        ["", "0", "0", "0"],
        head=["g/wet", "g/wet/m01", "g/wet/m02", "g/wet/m03"],
    )
    assert found == {"g/wet": ("m01 m03", "")}


def test_ticks_alone_become_one_cell_for_questions_that_are_known():
    head = ["g/closed_periods/m01", "g/closed_periods/m02"]
    assert columns(["TRUE", "False"], ["1", "1"], head=head) == {
        "g/closed_periods": ("m01", "m01 m02")
    }


def test_a_cell_without_an_answer_takes_the_ticks():
    head = ["closed_periods", "closed_periods/m01", "closed_periods/m02"]
    found = columns(["n/a", "0", "1"], head=head)
    assert found == {"closed_periods": ("m02",)}


@pytest.mark.parametrize(
    ("cells", "head"),
    [
        (["1", "0"], ["g/fenced", "g/drained"]),  # two questions of one group
        (["m01", "0", "1"], ["g/wet", "g/wet/m01", "g/wet/m02"]),  # they disagree
        (["1", "3"], ["g/closed_periods/m01", "g/closed_periods/m02"]),
    ],
)
def test_what_is_no_tick_stays(cells, head):
    found = columns(cells, head=head)
    assert list(found)[-1] == head[-1]


def test_a_point_in_one_cell_becomes_four_columns():
    found = columns(["-0.9 -31.1 12 4.5"], [""], head=["g/gps"])
    assert found["g/gps-Latitude"] == ("-0.9", "")
    assert found["g/gps-Longitude"] == ("-31.1", "")
    assert found["g/gps-Accuracy"] == ("4.5", "")


def test_a_point_goes_where_its_parts_stand():
    head = ["g/gps", "g/_gps_latitude", "g/_gps_longitude"]
    found = columns(["-0.9 -31.1 12 4.5", "-0.9", "-31.1"], head=head)
    assert list(found) == head[1:]


def test_book_keeping_goes_and_is_told():
    whole = [["_id", "name", "_uuid", "photo_URL", "_gps_latitude"], ["1"] * 5]
    made = tidied(ReadSheet("f.csv", "", whole, [1, 2]))
    assert made.rows[0] == ["name", "_gps_latitude"]
    told = "has book-keeping that no table needs: _id, _uuid, photo_URL"
    assert made.said == (told,)


def test_other_sheets_are_left_alone():
    sheet = ReadSheet("f.csv", "", [["name", "wet/m01"], ["a", "1"]], [1, 2])
    assert tidied(sheet) is sheet


@pytest.mark.parametrize(
    ("heading", "tail"),
    [
        ("sources/how_much/amount", "amount"),
        ("how_much-amount", "amount"),
        ("amount", "amount"),
        ("Quantité (t/an)", "Quantité (t/an)"),
        ("t per ha/yr", "t per ha/yr"),
        ("gate-Latitude", "gate-Latitude"),
    ],
)
def test_groups_are_taken_off_headings(heading, tail):
    assert tail_of(heading) == tail
