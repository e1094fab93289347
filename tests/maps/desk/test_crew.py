"""Tables of trucks, drivers and days off: read whole or not at all, and kept."""

import pytest

from maps.desk.assigning import Given
from maps.desk.crew import (
    DAYS_OFF,
    DRIVERS,
    LONGEST,
    TRUCKS,
    Crew,
    DayOff,
    Driver,
    NamedTruck,
    crew_of,
    read_days_off,
    read_drivers,
    read_trucks,
)
from maps.desk.crew_view import digest, keep_table, table_text, with_names
from maps.desk.log_book import Delivery
from maps.desk.log_file import LogFault
from maps.desk.stock_log import (
    COUNTS,
    MOST_T,
    StockCount,
    read_counts,
    rest_asked,
    rest_words,
)

FACTS = {
    "period": "m04",
    "calendar": [
        {"day": d, "date": f"2027-04-{d:02d}", "in_period": d} for d in (1, 2, 3)
    ],
    "planned": {
        "day": [1],
        "kind": ["in"],
        "place": ["mill"],
        "material": ["husk"],
        "yard": ["y1"],
        "tonnes": [4.0],
    },
    "pad": {"windrows": {"y1": [], "y2": []}},
    "choices": {"hire": ["light", "heavy"]},
    "countable": {"mill": ["husk"], "y1": ["compost", "husk"]},
    "names": {
        "place": {"y1": "Yard A", "mill": "North mill"},
        "truck": {"light": "Light lorry"},
        "material": {"husk": "Rice husk"},
    },
}
ADA = Driver("Ada", "+50 1", "y1", "light")
LORRY = NamedTruck("AB 12", "light", "y1", "own")


def test_trucks_are_read():
    block = "plate\ttype\tyard\twhose\nAB 12\tlight lorry\tYARD A\nX\theavy\t\thired"
    assert read_trucks(block, FACTS) == [LORRY, NamedTruck("X", "heavy", "", "hired")]
    assert read_trucks("  \n", FACTS) == []


def test_drivers_are_read():
    assert read_drivers("Ada\t+50 1\tYard A\tlight\nBen", FACTS) == [
        ADA,
        Driver("Ben", "", "", ""),
    ]
    assert read_drivers("=1+1", FACTS)[0].name == "'=1+1"


def test_days_off_are_read():
    crew = Crew((LORRY,), (ADA,))
    block = "ada\t1\t2\tleave\nAB 12\t2027-04-03\nall\t2\t2\tholiday"
    assert read_days_off(block, FACTS, crew) == [
        DayOff("m04", "Ada", 1, 2, "leave"),
        DayOff("m04", "AB 12", 3, 3, ""),
        DayOff("m04", "all", 2, 2, "holiday"),
    ]


@pytest.mark.parametrize(
    ("block", "words"),
    [
        ("\tlight\ty1", "row 1, plate: '' has 0 letters"),
        ("P" * (LONGEST["plate"] + 1) + "\tlight\ty1", "21 letters, 1 to 20"),
        ("AB\tlorry\ty1", "row 1, type: 'lorry' is none of light, heavy"),
        ("AB\tlight\ty9", "row 1, yard: 'y9' is none of y1, y2"),
        ("AB\tlight", "row 1, yard: an own truck has one"),
        ("AB\tlight\ty1\tlent", "row 1, whose: 'lent' is none of own, hired"),
        ("AB\tlight\ty1\nab\theavy\ty1", "row 2, plate: as in row 1"),
        ("AB", "row 1, columns: 1 of them"),
        ("AB\tlight\ty1\town\tx", "row 1, columns: 5 of them"),
    ],
)
def test_a_fault_of_a_truck_names_row_column_and_value(block, words):
    with pytest.raises(LogFault) as fault:
        read_trucks(block, FACTS)
    assert words in fault.value.lines[0]


@pytest.mark.parametrize(
    ("block", "words"),
    [
        ("All", "row 1, name: 'all' stands for everybody"),
        ("A" * (LONGEST["name"] + 1), "61 letters"),
        ("Ada\t\ty9", "row 1, yard: 'y9'"),
        ("Ada\t\t\tlight bike", "row 1, types: 'bike'"),
        ("Ada\nADA", "row 2, name: as in row 1"),
    ],
)
def test_a_fault_of_a_driver_names_row_column_and_value(block, words):
    with pytest.raises(LogFault) as fault:
        read_drivers(block, FACTS)
    assert words in fault.value.lines[0]


@pytest.mark.parametrize(
    ("block", "words"),
    [
        ("Eve\t1", "row 1, who: 'Eve' is no driver and no plate"),
        ("Ada\t4", "row 1, day: '4' is no working day"),
        ("Ada\t2\t1", "row 1, last day: '1' lies before the first"),
        ("Ada\t1\nada\t1\t2", "row 2, who and first day: as in row 1"),
    ],
)
def test_a_fault_of_a_day_off_names_row_column_and_value(block, words):
    with pytest.raises(LogFault) as fault:
        read_days_off(block, FACTS, Crew((LORRY,), (ADA,)))
    assert words in fault.value.lines[0]


def kept(folder, name, block):
    seen = digest(table_text(folder, name, FACTS))
    return keep_table(folder, name, block, seen, FACTS)


def test_tables_come_back_as_they_were_typed(tmp_path):
    assert kept(tmp_path, "trucks", "AB 12\tlight\ty1\town") == 1
    assert kept(tmp_path, "drivers", "Ada\t+50 1\ty1\tlight") == 1
    DAYS_OFF.write(tmp_path, [DayOff("m03", "Ada", 1, 9, "")])
    assert kept(tmp_path, "off", "Ada\t1\t2\t=leave") == 1
    crew = crew_of(tmp_path)
    assert crew.trucks == (LORRY,)
    assert crew.drivers == (ADA,)
    assert [o.period for o in crew.off] == ["m03", "m04"]  # other months are left alone
    assert table_text(tmp_path, "off", FACTS) == "Ada\t1\t2\t'=leave"
    assert kept(tmp_path, "off", "") == 0
    assert [o.period for o in crew_of(tmp_path).off] == ["m03"]
    files = sorted(path.name for path in (tmp_path / "crew").iterdir())
    assert files == ["days_off.csv", "drivers.csv", "trucks.csv"]


def test_a_table_that_changed_meanwhile_is_not_written_over(tmp_path):
    seen = digest(table_text(tmp_path, "drivers", FACTS))
    kept(tmp_path, "drivers", "Ben")
    with pytest.raises(LogFault, match="was changed meanwhile"):
        keep_table(tmp_path, "drivers", "Ada", seen, FACTS)
    assert [d.name for d in DRIVERS.lines(tmp_path)] == ["Ben"]


@pytest.mark.parametrize("spoil", ["name\nAda\n", "x", "name,phone,yard,drives\nAda\n"])
def test_a_table_that_somebody_spoilt_is_said_so(tmp_path, spoil):
    kept(tmp_path, "drivers", "Ben")
    (tmp_path / "crew" / "drivers.csv").write_text(spoil)
    with pytest.raises(LogFault, match=r"crew/drivers\.csv cannot be read"):
        crew_of(tmp_path)


def test_a_folder_that_leads_elsewhere_is_refused(tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "s").mkdir()
    (tmp_path / "s" / "crew").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(LogFault, match="crew is a link"):
        TRUCKS.write(tmp_path / "s", [LORRY])
    assert list((tmp_path / "elsewhere").iterdir()) == []


def test_names_on_a_run_sheet_are_text():
    sheet = (
        '<p class="fill" data-truck="y1 &lt;b&gt; owned 1"><span>Plate</span>'
        "<span>Driver</span><span>Date</span></p>"
    )
    bad = "<script>x</script>"
    given = {(2, "y1 <b> owned 1"): Given("", bad, "+50 1")}
    named = with_names(sheet, 2, given)
    assert "<span>Plate</span>" in named  # no plate: a line to write on
    assert "&lt;script&gt;x&lt;/script&gt;, +50 1" in named
    assert "<script>" not in named
    assert named.endswith("<span>Date</span></p>")
    assert with_names(sheet, 1, given) == sheet


@pytest.mark.parametrize(
    ("block", "found"),
    [
        ("1\tmill\t2,5", [StockCount("m04", 1, "mill", "husk", 2.5)]),
        (
            "day\tplace\tfeedstock\tt\n2027-04-02\tyard a\trice husk\t0",
            [StockCount("m04", 2, "y1", "husk", 0.0)],
        ),
        (f"3;y1;compost;{MOST_T:g}", [StockCount("m04", 3, "y1", "compost", MOST_T)]),
    ],
)
def test_counts_are_read(block, found):
    assert read_counts(block, FACTS) == found


@pytest.mark.parametrize(
    ("block", "words"),
    [
        ("4\tmill\t1", "row 1, day: '4' is no working day"),
        ("1\tport\t1", "row 1, place: 'port' is no source or yard"),
        ("1\tmill\tfish\t1", "row 1, feedstock: 'fish' is not counted"),
        ("1\ty1\t1", "row 1, feedstock: this place has several"),
        ("1\tmill\t-1", "row 1, tonnes: '-1' is not a number"),
        (f"1\tmill\t{MOST_T + 1:.0f}", "row 1, tonnes: '100001'"),
        ("1\tmill", "row 1, columns: 2 of them"),
        ("1\tmill\t1\n1\tNorth mill\t2", "row 2, day and place: as in row 1"),
        ("day\tplace\tt", "no line below the headings"),
    ],
)
def test_a_fault_of_a_count_names_row_column_and_value(block, words):
    with pytest.raises(LogFault) as fault:
        read_counts(block, FACTS)
    assert words in fault.value.lines[0]


def test_counts_are_kept(tmp_path):
    one = StockCount("m04", 2, "mill", "husk", 1.0)
    assert COUNTS.add(tmp_path, [one]) == (1, 0)
    assert COUNTS.lines(tmp_path) == [one]


def test_the_rest_is_ordered_with_what_was_known():
    log = [Delivery("m04", d, "in", "mill", "y1", "husk", 1.0) for d in (1, 2, 3)]
    log.append(Delivery("m05", 1, "in", "mill", "y1", "husk", 9.0))
    counts = [StockCount("m04", d, "mill", "husk", 5.0) for d in (2, 3)]
    asked = rest_asked({"first": "2", "all": "on"}, FACTS, log, counts)
    assert asked["hauled"] == [[1, "in", "mill", "husk", "y1", 1.0]]
    assert asked["counted"] == [[2, "mill", "husk", 5.0]]
    assert (asked["first"], asked["last"], asked["fetch_all"]) == (2, 3, True)
    words = rest_words(asked, FACTS)
    assert words[0].startswith("Hauled by the log before day 2: 1.0 t fetched")
    assert words[1] == "Counted on day 2: North mill, Rice husk, 5.0 t"
    for first in ("4", "0", "x", ""):
        with pytest.raises(ValueError, match="is no working day"):
            rest_asked({"first": first}, FACTS, log, counts)
