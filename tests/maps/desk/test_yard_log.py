"""The log of the pads: temperatures and turnings against what was due."""

import pytest

from maps.desk.log_file import LogFault
from maps.desk.yard_log import (
    COLDEST,
    FIRE_C,
    HOTTEST,
    SIGHTS,
    Sight,
    piles_of,
    read_seen,
)

FACTS = {
    "period": "m04",
    "pad": {
        "days": 30,
        "hot_c": 55.0,
        "hot_days": 15,
        "windrows": {"y1": ["m03-2", "m04-1"], "y2": ["m04-1"]},
        "due": [
            {"yard": "y1", "windrow": "m04-1", "what": "turn", "day": 5},
            {"yard": "y1", "windrow": "m04-1", "what": "turn", "day": 9},
            {"yard": "y1", "windrow": "m04-1", "what": "leaves", "day": 12},
        ],
    },
    "names": {"place": {"y1": "Yard A"}},
}


def seen(day, heat=None, turned=False, note="", windrow="m04-1"):
    return Sight("m04", day, "y1", windrow, heat, turned, note)


@pytest.mark.parametrize(
    ("block", "found"),
    [
        ("5\tyard a\tm04-1\t61,5", [seen(5, 61.5)]),
        ("day;yard;windrow;t\n5;y1;m04-1;;yes", [seen(5, turned=True)]),
        ("5,Yard A,m04-1,60,x,=wet", [seen(5, 60.0, True, "'=wet")]),
        (f"30\ty1\tm03-2\t{HOTTEST}", [seen(30, HOTTEST, windrow="m03-2")]),
        (f"1\ty1\tm03-2\t{COLDEST}", [seen(1, COLDEST, windrow="m03-2")]),
    ],
)
def test_a_block_is_read(block, found):
    assert read_seen(block, FACTS) == found


@pytest.mark.parametrize(
    ("block", "words"),
    [
        ("31\ty1\tm04-1\t60", "row 1, day: '31' is not from 1 to 30"),
        ("0\ty1\tm04-1\t60", "row 1, day: '0' is not"),
        ("5\ty9\tm04-1\t60", "row 1, yard: 'y9' is not a yard of the plan"),
        ("5\ty2\tm03-2\t60", "row 1, windrow: 'm03-2' is not on the sheet"),
        (f"5\ty1\tm04-1\t{HOTTEST + 0.1}", "row 1, temperature: '110.1' is not"),
        (f"5\ty1\tm04-1\t{COLDEST - 0.1}", "row 1, temperature: '-30.1' is not"),
        ("5\ty1\tm04-1\t60\tmaybe", "row 1, turned: 'maybe' is neither"),
        ("5\ty1\tm04-1", "row 1, columns: 3 of them"),
        ("5\ty1\tm04-1\t1\tno\t\t7", "row 1, columns: 7 of them"),
        ("5\ty1\tm04-1\t60\n5\tYard A\tm04-1\t61", "windrow: as in row 1"),
        ("day\tyard\twindrow\ttemperature", "no line below the headings"),
    ],
)
def test_a_fault_names_row_column_and_value(block, words):
    with pytest.raises(LogFault) as fault:
        read_seen(block, FACTS)
    assert words in fault.value.lines[0]


def test_the_log_comes_back_and_says_what_it_replaced(tmp_path):
    first = [seen(9, 60.0, True, "wet, warm"), seen(5)]
    assert SIGHTS.add(tmp_path, first) == (2, 0)
    assert SIGHTS.lines(tmp_path) == [first[1], first[0]]
    assert SIGHTS.add(tmp_path, [seen(5, 50.0)]) == (0, 1)
    assert SIGHTS.lines(tmp_path)[0] == seen(5, 50.0)
    path = tmp_path / "log" / "yards.csv"
    path.write_text(path.read_text().replace("50.0", "warm"))
    before = path.read_bytes()
    with pytest.raises(LogFault, match="Mend it or move it"):
        SIGHTS.add(tmp_path, [seen(6)])
    assert path.read_bytes() == before


def test_windrows_are_set_against_what_was_due():
    [due] = piles_of(FACTS, [])
    assert (due.due, due.turned, due.last_c, due.words) == ((5, 9), (), None, "")
    log = [seen(5, 55.0, turned=True), seen(9, FIRE_C), seen(4, 54.9)]
    [pile] = piles_of(FACTS, log)
    assert pile.turned == (5,)
    assert pile.hot_days == 2
    assert pile.last_c == FIRE_C
    assert pile.words == "1 turning not logged"
    [hot] = piles_of(FACTS, [*log, seen(10, FIRE_C + 0.1, turned=True)])
    assert hot.words == "too hot: turn and wet it, with water at hand"
