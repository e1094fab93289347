"""The log: blocks read whole or not at all, in every form that people paste."""

import pytest

from maps.desk.deviation import deviation, picture
from maps.desk.log_book import (
    DELIVERIES,
    MOST_LETTERS,
    MOST_ROWS,
    Delivery,
    cells_of,
    known_of,
    read_block,
)
from maps.desk.log_file import LogFault

FACTS = {
    "period": "m04",
    "calendar": [{"day": d, "date": f"2027-04-{d:02d}"} for d in (1, 2, 3)],
    "planned": {
        "day": [1, 1, 2, 2, 3],
        "kind": ["in", "in", "in", "out", "in"],
        "place": ["mill", "port", "mill", "farm", "mill"],
        "material": ["husk", "fish", "husk", "compost", "straw"],
        "yard": ["y1", "y1", "y2", "y1", "y2"],
        "tonnes": [4.0, 1.0, 4.0, 6.0, 2.0],
    },
    "names": {
        "place": {"mill": "North <b>mill</b>", "port": "Pier", "y1": "Yard A"},
        "material": {"husk": "Rice husk", "fish": "Fish waste"},
        "truck": {},
    },
}
KNOWN = known_of(FACTS)


def line(day, place, tonnes, yard="y1", material="fish", kind="in"):
    return Delivery("m04", day, kind, place, yard, material, tonnes)


@pytest.mark.parametrize(
    "block",
    [
        "1\tPier\t0.9",
        "1;pier;0,9",
        "1,port,0.9",
        "\r\n1\tPORT\tYard A\tfish waste\t0,9\r\n\r\n",
        "tonnes\tplace\tdate\n0.9\tpier\t2027-04-01",
        "Day;Place;Yard;Tonnes\n01.04.2027;Pier;y1;0.9",
        "date,place,tonnes\n1/4/2027,Pier,0.9",
    ],
)
def test_a_line_is_read_in_every_form(block):
    assert read_block(block, KNOWN) == [line(1, "port", 0.9)]


def test_a_market_gets_compost():
    found = read_block("2\tfarm\t5", KNOWN)
    assert found == [line(2, "farm", 5.0, material="compost", kind="out")]


def test_another_yard_than_planned_may_get_a_load():
    assert read_block("1\tport\ty2\t1", KNOWN) == [line(1, "port", 1.0, yard="y2")]


@pytest.mark.parametrize(
    ("block", "words"),
    [
        ("4\tport\t1", "row 1, day: '4' is no working day"),
        ("2027-05-01\tport\t1", "row 1, day: '2027-05-01' is no working day"),
        ("1\tnowhere\t1", "row 1, place: 'nowhere' has no round this month"),
        ("1\tport\tx", "row 1, tonnes: 'x' is not a number from 0 to 100000"),
        ("1\tport\t-1", "row 1, tonnes: '-1' is not a number"),
        ("1\tport\t100001", "row 1, tonnes: '100001' is not a number"),
        ("1\tport\tnan", "row 1, tonnes: 'nan' is not a number"),
        ("1\tmill\t1", "row 1, yard: this place has several"),
        ("1\tmill\ty2\t1", "row 1, feedstock: this place has several"),
        ("1\tport\tnone\t1", "row 1, yard: 'none' is not one of"),
        ("1\tport\ty1\thusk\t1", "row 1, feedstock: 'husk' is not one of"),
        ("1\tport\t1\n1\tPier\t2", "row 2, day and place: as in row 1"),
        ("1\tport", "Give columns day, place, yard, feedstock, tonnes"),
        ("day\tplace\ttonnes", "There is no line below the headings"),
        (" \n", "Nothing was pasted in"),
        ("x" * (MOST_LETTERS + 1), "letters. Paste a month at a time"),
        ("1\tport\t1\n" * (MOST_ROWS + 1), "rows. Paste a month at a time"),
    ],
)
def test_a_fault_names_row_column_and_value(block, words):
    with pytest.raises(LogFault) as fault:
        read_block(block, KNOWN)
    assert words in fault.value.lines[0]


def test_limits_of_a_block_are_kept_to_the_last():
    assert len(cells_of("1\tport\t1\n" * MOST_ROWS)) == MOST_ROWS
    most = "1\tport\t1\n" * 9
    most += "x" * (MOST_LETTERS - len(most) - 1) + "\n"
    with pytest.raises(LogFault, match="cannot be read as a table"):
        cells_of(most)
    assert len(cells_of(("x" * 79 + "\n") * (MOST_LETTERS // 80))) == MOST_LETTERS // 80
    assert read_block("1\tport\t100000", KNOWN)[0].tonnes == 100_000
    assert read_block("1\tport\t0", KNOWN)[0].tonnes == 0


def test_all_faults_are_told_and_nothing_is_used():
    with pytest.raises(LogFault) as fault:
        read_block("1\tport\t1\n9\tport\t1\n1\tx\t1", KNOWN)
    assert [text[:5] for text in fault.value.lines] == ["row 2", "row 3"]


def test_the_log_is_kept_in_order_and_says_what_it_replaced(tmp_path):
    assert DELIVERIES.lines(tmp_path) == []
    one, other = line(2, "port", 1.0), line(1, "port", 2.0)
    assert DELIVERIES.add(tmp_path, [one, other]) == (2, 0)
    assert DELIVERIES.lines(tmp_path) == [other, one]
    better = line(2, "port", 1.5)
    assert DELIVERIES.add(tmp_path, [better, line(3, "port", 1.0)]) == (1, 1)
    assert DELIVERIES.lines(tmp_path)[1] == better
    assert [path.name for path in (tmp_path / "log").iterdir()] == ["delivered.csv"]


@pytest.mark.parametrize(("old", "new"), [("1.0", "much"), ("tonnes", "t"), ("", "x")])
def test_a_log_that_somebody_spoilt_is_not_written_over(tmp_path, old, new):
    DELIVERIES.add(tmp_path, [line(1, "port", 1.0)])
    path = tmp_path / "log" / "delivered.csv"
    path.write_text(path.read_text().replace(old, new) if old else new)
    before = path.read_bytes()
    with pytest.raises(LogFault, match="Mend it or move it"):
        DELIVERIES.add(tmp_path, [line(2, "port", 1.0)])
    assert path.read_bytes() == before


def test_a_log_that_leads_elsewhere_is_refused(tmp_path):
    (tmp_path / "elsewhere").mkdir()
    scenario = tmp_path / "scenario"
    scenario.mkdir()
    (scenario / "log").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(LogFault, match="log is a link"):
        DELIVERIES.add(scenario, [line(1, "port", 1.0)])
    assert list((tmp_path / "elsewhere").iterdir()) == []


def test_a_month_is_set_against_its_plan_up_to_the_last_day_of_the_log():
    log = [line(1, "port", 0.4), line(2, "mill", 5.0, "y2", "husk")]
    found = deviation(FACTS["planned"], log)
    assert found.last == 2
    assert found.days == ((1, 5.0, 0.4), (2, 9.0, 5.4), (3, 11.0, 5.4))
    apart = {(r.place, r.yard, r.material): r.apart for r in found.rows}
    assert apart == pytest.approx(
        {
            ("farm", "y1", "compost"): -6.0,
            ("mill", "y1", "husk"): -4.0,
            ("mill", "y2", "husk"): 1.0,
            ("port", "y1", "fish"): -0.6,
        }
    )
    assert found.rows[0].place == "farm"


def test_the_picture_holds_names_as_text():
    found = deviation(FACTS["planned"], [line(1, "port", 0.4)])
    drawn = str(picture(found, FACTS["names"]))
    assert "North &lt;b&gt;mill" in drawn
    assert "<b>" not in drawn
    assert 'class="real"' in drawn
    empty = str(picture(deviation(FACTS["planned"], []), FACTS["names"]))
    assert "Nothing in the log yet" in empty
