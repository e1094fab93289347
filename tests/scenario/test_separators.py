"""Points and commas before three figures: asked about, never read in silence."""

import shutil

import geopandas as gpd
import openpyxl
import pandas as pd
import pytest
from support.places import KORRAVEL, SMALL

from logistics.scenario.cells import read_cells
from logistics.scenario.csv_reader import read_csv
from logistics.scenario.faults import ScenarioError
from logistics.scenario.number_text import CellFault, read_number
from logistics.scenario.scenario import read_scenario
from logistics.scenario.schema import column
from logistics.scenario.separators import decimal_sign

AMOUNT = column("sources", "amount")  # t/yr or ha or head, to 100 million
PAYLOAD = column("trucks", "payload_t")  # to 60 t
OWNED = column("trucks", "owned")  # a whole number
LON = column("sources", "lon")
UNIT = f"if it is in {AMOUNT.unit}"
BARE = f"without the unit {UNIT}"
COMMA = "because the file's other numbers have a decimal comma"
POINT = "because the file's other numbers have a decimal point"


def fault(text, sign, of=AMOUNT):
    with pytest.raises(CellFault) as raised:
        read_number(text, of, sign)
    return raised.value.why, raised.value.remedy


@pytest.mark.parametrize(
    ("text", "sign", "remedy"),
    [
        ("4,200", "", "Write 4200 or 4.2, whichever you meant"),
        ("4,200", ",", f"Write 4.2, {COMMA}; if you meant 4200, write that"),
        ("4,200", ".", f"Write 4200, {POINT}; if you meant 4.2, write that"),
        ("4.200", ",", f"Write 4200, {COMMA}; if you meant 4.2, write that"),
    ],
)
def test_an_open_separator_is_asked_about(text, sign, remedy):
    assert fault(text, sign) == ("could be 4,200 or 4.2", remedy)


@pytest.mark.parametrize(
    ("text", "sign", "remedy"),
    [
        (
            "4.200 t",
            "",
            f"Write 4200 or 4.2 without the unit {UNIT}, whichever you meant",
        ),
        (
            "4.200 t",
            ",",
            f"Write 4200 {BARE}, {COMMA}; if you meant 4.2, write that",
        ),
        (
            "4.200 t",
            ".",
            f"Write 4.2 {BARE}, {POINT}; if you meant 4200, write that",
        ),
        (
            "$4,200",
            ".",
            f"Write 4200 {BARE}, {POINT}; if you meant 4.2, write that",
        ),
    ],
)
def test_an_open_separator_before_a_unit_is_asked_about(text, sign, remedy):
    why = "has a unit in the cell, and could be 4,200 or 4.2"
    assert fault(text, sign) == (why, remedy)


@pytest.mark.parametrize(
    ("text", "number"),
    [("1.234,5 t", "1234.5"), ("1,234,567 t", "1234567"), ("4 200 t", "4200"),
     ("4.25 t", "4.25"), ("4,25 t", "4.25"), ("0,125 t", "0.125")],
)  # fmt: skip
def test_a_number_with_a_unit_that_can_be_one_thing_is_told_so(text, number):
    for sign in ("", ",", "."):
        expected = ("has a unit in the cell", f"Write {number} without the unit {UNIT}")
        assert fault(text, sign) == expected


def test_the_limits_of_a_column_decide_before_the_file_does():
    for sign in ("", "."):
        assert fault("4,200", sign, PAYLOAD) == ("has a decimal comma", "Write 4.2")
        assert read_number("4.200", PAYLOAD, sign) == 4.2
        assert read_number("-30.525", LON, sign) == -30.525
        assert fault("1.200", sign, OWNED)[1] == "Write 1200"
    for text in ("4,200", "4.200"):
        assert read_number(text, PAYLOAD, ",") == 4.2
    assert read_number("1.200", OWNED, ",") == 1200
    assert fault("59,999", "", PAYLOAD)[1] == "Write 59.999"
    assert fault("60,001", "", PAYLOAD)[1].startswith("Write 60001 or 60.001")


def test_four_or_two_figures_are_not_open():
    for text in ("4.2000", "4.20", "0.200", "4200.125", "4.125e3"):
        assert read_number(text, AMOUNT, ",") == float(text)


@pytest.mark.parametrize(
    ("numbers", "sign"),
    [
        (["3,5", "12"], ","),
        (["3.5", "12"], "."),
        (["1.234,5"], ","),
        (["1,234.5"], "."),
        (["1.234.567"], ","),
        (["1,234,567"], "."),
        (["4.200", "4,200", "0.5", "1 200"], "."),
        (["4.200", "4,200", "12"], ""),
        (["3.5", "3,5"], ""),
        (["3.5", "3,5", "0,25"], ","),
        ([], ""),
    ],
)
def test_the_decimal_sign_of_a_file(numbers, sign):
    assert decimal_sign([(text, AMOUNT) for text in numbers]) == sign


def test_a_number_that_limits_settle_shows_the_sign():
    assert decimal_sign([("4,200", PAYLOAD)]) == ","
    assert decimal_sign([("-30.525", LON)]) == "."
    assert decimal_sign([("1.200", OWNED)]) == ","


@pytest.fixture
def folder(tmp_path):
    return shutil.copytree(SMALL, tmp_path / "small")


def faults(folder):
    with pytest.raises(ScenarioError) as raised:
        read_scenario(folder)
    return {(p.column, p.value): p for p in raised.value.problems}


def test_an_office_with_decimal_commas_is_not_led_to_a_thousandth(folder):
    path = folder / "sources.csv"
    frame = pd.read_csv(path, dtype=str, keep_default_na=False)
    for name in ("lon", "lat", "price_per_t"):
        frame[name] = frame[name].str.replace(".", ",")
    frame.loc[0, "amount"] = "4.200 t"
    frame.loc[1, "amount"] = "4.200"
    frame.to_csv(path, index=False)
    found = faults(folder)
    assert found["amount", "4.200"].remedy.startswith("Write 4200, because the file's")
    assert found["amount", "4.200 t"].remedy.startswith("Write 4200 without")


def as_book(folder, table, change):
    """Make a table a workbook with stored numbers, changed by `change(sheet)`."""
    frame = pd.read_csv(folder / f"{table}.csv")
    (folder / f"{table}.csv").unlink()
    frame.to_excel(folder / "book.xlsx", sheet_name=table, index=False)
    book = openpyxl.load_workbook(folder / "book.xlsx")
    change(book[table], list(frame.columns))
    book.save(folder / "book.xlsx")


def test_numbers_stored_in_a_workbook_show_nothing_and_are_not_open(folder):
    def change(sheet, headings):
        sheet.cell(2, headings.index("works_cost") + 1).value = 4.125
        sheet.cell(2, headings.index("machine_cost") + 1).value = "3,5"
        sheet.cell(3, headings.index("machine_cost") + 1).value = "4.200 t"

    as_book(folder, "yard_sizes", change)
    found = faults(folder)
    assert set(found) == {("machine_cost", "4.200 t")}
    assert found["machine_cost", "4.200 t"].remedy.startswith("Write 4200 without")


def test_figures_of_the_library_show_nothing_of_the_file(folder):
    (folder / "materials.csv").write_text(
        'material,moisture_pct,keep_hours\nhusk,,\nsawdust,,1.200\nrice_straw,"14,5",\n'
    )
    found = faults(folder)
    assert ("keep_hours", "1.200") in found
    assert found["keep_hours", "1.200"].remedy.startswith("Write 1200")


def test_numbers_stored_in_a_geopackage_are_not_open(folder):
    frame = pd.read_csv(folder / "trucks.csv")
    (folder / "trucks.csv").unlink()
    frame["fixed_cost_per_year"] = 4.125
    frame["hire_cost_per_hour"] = ["3,5", "4,5 t"]
    points = gpd.points_from_xy([0.5] * len(frame), [0.5] * len(frame))
    layer = gpd.GeoDataFrame(frame, geometry=points, crs=4326)
    layer.to_file(folder / "tables.gpkg", layer="trucks")
    found = faults(folder)
    assert not [column for column, _ in found if column == "fixed_cost_per_year"]
    assert set(found) == {("hire_cost_per_hour", "4,5 t")}
    assert found["hire_cost_per_hour", "4,5 t"].remedy.startswith("Write 4.5 without")


def test_a_district_typed_with_decimal_commas_is_read_as_typed():
    raw, problems = read_csv(KORRAVEL / "sources.csv", "sources")
    assert problems == []
    assert raw is not None
    cells, problems = read_cells(raw)
    assert problems == []
    hens = cells.frame.set_index("source").loc["s06"]
    assert (hens["amount"], hens["kg_per_head_day"]) == (52_000, 0.11)


def test_a_file_with_decimal_commas_is_read_where_its_numbers_are_clear():
    assert read_number("3,5", AMOUNT, ",") == 3.5
    assert read_number("1.234,5", AMOUNT, ",") == 1234.5
    assert read_number("1.234.567", AMOUNT, ",") == 1_234_567
    assert read_number("-120,711", column("sources", "lon"), ",") == -120.711
    for sign in ("", "."):  # one comma among points is a slip
        assert fault("3,5", sign) == ("has a decimal comma", "Write 3.5")
    assert fault("1,450", ",")[0] == "could be 1,450 or 1.45"
    assert fault("3,5,1", ",")[0] == "is not a number"
