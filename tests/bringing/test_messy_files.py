"""
Files in the ways in which offices make them: right numbers or a fault, never wrong ones.

Every case is three mills whose clean rows are known. What a file leaves open must be
asked (`asks`), what cannot be read must be a fault that names the cell (`fault`), and
all else must come in with the clean numbers.
"""

import io
from dataclasses import dataclass
from datetime import date

import openpyxl
import pytest
from pyproj import Transformer
from support.brought_in import CLEAN, brought, right

from logistics.bringing.plus_codes import code_of

HEAD = "Mill name,Longitude,Latitude,Rice husk (t per year)"
ROWS = (
    "North mill,-31.1,-0.9,1200",
    "Río mill,-31.2,-1.0,850.5",
    "South mill,-31.15,-0.95,96",
)


@dataclass(frozen=True)
class Case:
    """A file, the answers given, and what must come of it."""

    data: bytes | str
    answers: tuple[str, ...] = ()
    asks: str = ""
    fault: str = ""
    name: str = "mills.csv"


def csv(*rows, head=HEAD):
    return "\n".join([head, *rows]) + "\n"


def amounts(*cells, head=HEAD):
    """The clean rows with other cells of the amount."""
    firsts = [row.rpartition(",")[0] for row in ROWS]
    return csv(*(f'{a},"{b}"' for a, b in zip(firsts, cells, strict=True)), head=head)


def places(*pairs, head="Mill name,X,Y,Rice husk (t)"):
    rows = [r.split(",") for r in ROWS]
    return csv(
        *(f'{r[0]},"{x}","{y}",{r[3]}' for r, (x, y) in zip(rows, pairs, strict=True)),
        head=head,
    )


def one_place(*cells, head="Mill name,GPS,Rice husk (t)"):
    rows = [r.split(",") for r in ROWS]
    return csv(
        *(f'{r[0]},"{c}",{r[3]}' for r, c in zip(rows, cells, strict=True)), head=head
    )


def book(rows, merge=(), formats=(), sheet="Mills"):
    made = openpyxl.Workbook()
    page = made.active
    page.title = sheet
    for row in rows:
        page.append(row)
    for area in merge:
        page.merge_cells(area)
    for cell, form in formats:
        page[cell].number_format = form
    data = io.BytesIO()
    made.save(data)
    return data.getvalue()


TO_METRES = Transformer.from_crs("EPSG:4326", "EPSG:32725", always_xy=True)
METRES = [tuple(f"{v:.3f}" for v in TO_METRES.transform(x, y)) for _, x, y, _ in CLEAN]
TABLE = [list(row) for row in CLEAN]
TITLES = ["Mill name", "Longitude", "Latitude", "Rice husk (t)"]

CASES = {
    # text files: delimiters, encodings, lines
    "plain": Case(csv(*ROWS)),
    "semicolons and decimal commas": Case(
        "Mill name;Longitude;Latitude;Rice husk (t)\nNorth mill;-31,1;-0,9;1200\n"
        "Río mill;-31,2;-1,0;850,5\nSouth mill;-31,15;-0,95;96\n"
    ),
    "tabs": Case(csv(*ROWS).replace(",", "\t")),
    "bars": Case(csv(*ROWS).replace(",", "|")),
    "line that names the delimiter": Case("sep=;\n" + csv(*ROWS).replace(",", ";")),
    "cp1252": Case(csv(*ROWS).encode("cp1252")),
    "utf-16": Case(csv(*ROWS).encode("utf-16")),
    "mark at the start": Case(csv(*ROWS).encode("utf-8-sig")),
    "cp850": Case(csv(*ROWS).encode("cp850")),
    "blank lines and spaces": Case(csv(*(f"\n {r} " for r in ROWS))),
    "title above, note below": Case("Survey 2026\n\n" + csv(*ROWS) + "Source: office\n"),
    "a weight whose heading speaks of waste": Case(
        amounts("100", "70.875", "8", head="Mill name,Longitude,Latitude,Husk waste t/month"),
        ("mills.csv:columns.amount.decimal=.",),
    ),
    "total below": Case(csv(*ROWS, "Total,,,2146.5")),
    "headings again": Case(csv(ROWS[0], HEAD, *ROWS[1:])),
    "decimal comma in a comma file": Case(
        csv(ROWS[0], "Río mill,-31.2,-1.0,850,5", ROWS[2]), fault="has 5 cells"
    ),
    "open quotation mark": Case(csv(ROWS[0], '"Río mill,-31.2,-1.0,850.5'), fault="never closed"),
    # numbers
    "thousands with a comma": Case(amounts("1,200", "850.5", "96")),
    "thousands with a point": Case(amounts("1.200", "850,5", "96")),
    "blanks for thousands": Case(amounts("1 200", "850.5", "96")),
    "narrow blanks": Case(amounts("1\u202f200", "850,5", "96")),
    "apostrophes": Case(amounts("1'200", "850.5", "96")),
    "nothing shows the sign": Case(
        amounts("1.200", "850.500", "96"), asks="columns.amount.decimal"
    ),
    "the sign is told": Case(
        amounts("1,200", "850.5", "96"), ("mills.csv:columns.amount.decimal=.",)
    ),
    "both signs": Case(
        amounts("1200.5", "850,5", "96"), asks="columns.amount.decimal"
    ),
    "one cell against the others": Case(
        amounts("1200.5", "850.5", "96,25"), fault="row 4, column 'Rice husk (t per year)': '96,25'"
    ),
    "range": Case(amounts("1200", "800-900", "96"), fault="'800-900' is not one plain number"),
    "about": Case(amounts("1200", "ca. 850.5", "96"), fault="'ca. 850.5' is not one plain number"),
    "words": Case(amounts("1200", "many", "96"), fault="'many' is not a number"),
    "date": Case(amounts("1200", "12/03/2026", "96"), fault="'12/03/2026'"),
    "nothing known": Case(amounts("1200", "n/a", "96"), fault="row 3, column 'amount'"),
    "figures of another script": Case(amounts("١٢٠٠", "٨٥٠٫٥", "٩٦")),
    "spreadsheet error": Case(amounts("1200", "#REF!", "96"), fault="'#REF!'"),
    # units
    "units in the cells": Case(amounts("1200 t", "850,500 kg", "96 tonnes", head=HEAD.replace(" (t per year)", "")),
                               ("mills.csv:columns.amount.decimal=.",)),
    "kg in the heading": Case(amounts("1200000", "850500", "96000", head=HEAD.replace("(t per year)", "[kg]"))),
    "a cell without the unit of the others": Case(
        amounts("1200 t", "850.5", "96 t", head=HEAD.replace(" (t per year)", ""))
    ),
    "no unit anywhere": Case(
        amounts("1200", "850.5", "96", head=HEAD.replace(" (t per year)", "")),
        asks="columns.amount.unit",
    ),
    "mixed units and a bare cell": Case(
        amounts("1200 t", "850500 kg", "96", head=HEAD.replace(" (t per year)", "")),
        asks="columns.amount.unit",
    ),
    "a week": Case(amounts("23.0136986301", "16.3109589041", "1.8410958904", head=HEAD.replace("(t per year)", "(t/week)"))),
    "week in words, unit in the cells": Case(
        amounts("23.0136986301 t", "16.3109589041 t", "1.8410958904 t", head=HEAD.replace("(t per year)", "per week"))
    ),
    "a harvest": Case(amounts("1200", "850.5", "96", head=HEAD.replace("per year", "per harvest")), asks="columns.amount.unit"),
    "a quarter": Case(amounts("300 t", "212 t", "24 t", head=HEAD.replace("(t per year)", "Jan-Mar")), asks="columns.amount.unit"),
    "twice a month": Case(amounts("50", "35", "4", head=HEAD.replace("(t per year)", "(t) twice a month")), asks="columns.amount.unit"),
    "bags that say what they hold": Case(amounts("24000", "17010", "1920", head=HEAD.replace("(t per year)", "(bags of 50 kg)"))),
    "bags that do not": Case(
        amounts("24000 bags", "17010 bags", "1920 bags", head=HEAD.replace(" (t per year)", "")),
        asks="told.bag_kg",
    ),
    "bags, told": Case(
        amounts("24000 bags", "17010 bags", "1920 bags", head=HEAD.replace(" (t per year)", "")),
        ("mills.csv:told.bag_kg=50",),
    ),
    "quintals": Case(amounts("12000 qq", "8505 qq", "960 qq"), asks="told.quintal_kg"),
    "quintals, told": Case(amounts("12000 qq", "8505 qq", "960 qq"), ("mills.csv:told.quintal_kg=100",)),
    "trucks a week": Case(
        amounts("4.6027397260 trucks/week", "3.2621917808 trucks/week", "0.3682191781 trucks/week"),
        ("mills.csv:told.load_t=5",),
    ),
    "trucks, not told": Case(amounts("3 trucks/week", "2 trucks/week", "1 trucks/week"), asks="told.load_t"),
    "a unit of something else": Case(amounts("1200 t", "850.5 km", "96 t"), fault="'850.5 km' has a unit that cannot be used"),
    # places
    "degrees, minutes, seconds": Case(
        csv('North mill,"31°06\'00""W","0°54\'00""S",1200', 'Río mill,"31°12\'00""W","1°00\'00""S",850.5',
            'South mill,"31°09\'00""W","0°57\'00""S",96')
    ),
    "degrees and decimal minutes": Case(
        csv("North mill,W 31 06.0,S 0 54.0,1200", "Río mill,W 31 12.0,S 1 00.0,850.5", "South mill,W 31 09.0,S 0 57.0,96")
    ),
    "minutes of 60": Case(csv('North mill,"31°60\'W","0°54\'S",1200', *ROWS[1:]), fault="minutes or seconds of 60"),
    "pair in a cell": Case(one_place("-0.9, -31.1", "-1.0, -31.2", "-0.95, -31.15")),
    "pair of a form": Case(one_place("-0.9 -31.1 12 4.5", "-1.0 -31.2 0 4.0", "-0.95 -31.15 0 4.0")),
    "plus codes": Case(one_place(*(code_of(x, y, 15) for _, x, y, _ in CLEAN))),
    "short plus codes": Case(
        one_place(*(f"{code_of(x, y, 15)[4:]} Eddershoal" for _, x, y, _ in CLEAN)), asks="told.near"
    ),
    "short plus codes, near told": Case(
        one_place(*(f"{code_of(x, y, 15)[4:]} Eddershoal" for _, x, y, _ in CLEAN)), ("mills.csv:told.near=-0.9, -31.0",)
    ),
    "no place": Case(one_place("a", "b", "c", head="Mill name,Remark,Rice husk (t)"), fault="column 'lon'"),
    "other order of columns": Case(
        csv(*(",".join(row.split(",")[place] for place in (3, 2, 0, 1)) for row in ROWS),
            head="Rice husk (t per year),Latitude,Mill name,Longitude")
    ),
    "one point at 0, 0": Case(csv("North mill,0,0,1200", *ROWS[1:]), fault="is at 0, 0"),
    "one row swapped": Case(csv("North mill,-0.9,-31.1,1200", *ROWS[1:], "Far mill,-31.1,-0.92,5"), fault="looks swapped"),
    "minus lost": Case(csv("North mill,31.1,-0.9,1200", *ROWS[1:], "Far mill,-31.1,-0.92,5"), fault="lacks a minus"),
    "metres, system asked": Case(
        places(("266210.9", "9900455.3"), ("255084.3", "9889388.0"), ("260647.6", "9894921.7"), head="Mill name,Easting,Northing,Rice husk (t)"),
        asks="told.crs",
    ),
    "metres, system in the heading": Case(
        places(*METRES, head="Mill name,Easting UTM 25S,Northing UTM 25S,Rice husk (t)")
    ),
    "metres, system told": Case(
        places(*METRES, head="Mill name,Easting,Northing,Rice husk (t)"), ("mills.csv:told.crs=EPSG:32725",)
    ),
    # rows and names
    "same mill twice": Case(csv(*ROWS, "north  mill,-31.3,-0.8,700"), fault="one place twice would count double"),
    "accent apart": Case(csv(*ROWS, "Rio mill,-31.25,-0.8,700"), fault="one place twice would count double"),
    "points 30 m apart": Case(csv(*ROWS, "Old mill,-31.1002,-0.9,700"), fault="lies 22 m from"),
    "two columns of amounts": Case(
        csv(*(f"{r},1" for r in ROWS), head="Mill name,Longitude,Latitude,Tonnes,Tons"),
        ("mills.csv:values.material=rice_husk",), asks="columns.amount.heading"
    ),
    "row left out": Case(csv(*ROWS, "Bad mill,-31.3,-0.8,many"), ("mills.csv:leave_out=5",)),
    # languages
    "Spanish": Case(csv(*ROWS, head="Nombre del molino,Longitud,Latitud,Cascarilla de arroz (toneladas por año)")),
    "French": Case(csv(*ROWS, head="Nom du moulin,Longitude,Latitude,Quantité de balle de riz (tonnes/an)")),
    "Indonesian": Case(csv(*ROWS, head="Nama penggilingan,Bujur,Lintang,Jumlah sekam padi (ton/tahun)")),
    "Arabic": Case(csv(*ROWS, head="اسم المطحنة,خط الطول,خط العرض,كمية قشر الأرز (طن)"), ("mills.csv:values.material=rice_husk",)),
    # workbooks
    "workbook": Case(book([TITLES, *TABLE]), name="m.xlsx"),
    "workbook, two rows of headings": Case(
        book([["Survey"], [], ["Mill", "Location", None, "Rice husk"], ["name", "Longitude", "Latitude", "t/yr"], *TABLE], merge=["B3:C3"]),
        name="m.xlsx",
    ),
    "workbook, units below": Case(
        book([["Mill name", "Longitude", "Latitude", "Rice husk"], [None, "deg", "deg", "(t)"], *TABLE]), name="m.xlsx"
    ),
    "workbook, number merged over rows": Case(
        book([TITLES, TABLE[0], TABLE[1], [*TABLE[2][:3], None]], merge=["D3:D4"]), name="m.xlsx",
        fault="row 4, column 'Rice husk (t)'",
    ),
    "workbook, formula never counted": Case(
        book([TITLES, *TABLE[:2], [*TABLE[2][:3], "=90+6"]]), name="m.xlsx", fault="is a formula without a stored result"
    ),
    "workbook, amount as a date": Case(
        book([TITLES, *TABLE[:2], [*TABLE[2][:3], date(2026, 4, 6)]]), name="m.xlsx", fault="'2026-04-06'"
    ),
    "workbook, months": Case(
        book([["Rice husk by month (t)"], ["Mill name", "Longitude", "Latitude", "Jan", "Feb", "Mar", "Apr"],
              *[[n, x, y, t / 2, t / 4, t / 4, 0] for n, x, y, t in CLEAN]], sheet="Mills"),
        ("m.xlsx:values.material=rice_husk", *(f"m.xlsx:columns.month_{m}.unit=t" for m in (1, 2, 3, 4))), name="m.xlsx",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_right_numbers_or_a_fault_that_names_the_cell(case, tmp_path):
    file = tmp_path / case.name
    data = case.data.encode() if isinstance(case.data, str) else case.data
    file.write_bytes(data)
    found = brought([file], *case.answers)
    if case.asks:
        assert [q.key for q in found.questions if q.key != "values.season"] == [
            case.asks
        ]
        assert found.rows == {}
    elif case.fault:
        assert case.fault in found.told
        assert found.rows == {}
    else:
        assert found.told == ""
        assert found.questions == []
        assert right(found.rows)


def test_there_are_sixty():
    assert len(CASES) >= 60
