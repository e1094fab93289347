"""How refused yards are shown: tables, geodata, map, terminal; and with none at all."""

import io

import pandas as pd
import pytest
from rich.console import Console
from support.fake_result import HOSTILE, result

from logistics.land.screening import COLUMNS, no_screening
from maps.geo.geopackage import layers
from maps.geo.map_contents import map_data
from maps.geo.web_map import map_html
from maps.report.report import report_html
from maps.shared.place_names import yard_status
from maps.tables import siting as sitingtables
from maps.tables.all_tables import tables
from maps.tables.terminal import show

ROWS = (
    ("shore", "homes", "", "dwellings", "Ulm", 212.0, 300.0, "m", "refuse", "too near"),
    ("shore", "slope_low", "", "slope", "", 1.0, 2.0, "%", "warn", "too flat"),
    ("shore", "well", "", "well", "W", 9.0, 100.0, "m", "refuse", "a well 9 m"),
    ("hill", "homes_spoils", "fish", "dwellings", "", 9.0, 500.0, "m", "refuse", "no"),
)


def screened(rows=ROWS):
    table = pd.DataFrame(rows, columns=list(COLUMNS)) if rows else no_screening()
    made = result()
    made.screening = table
    return made


def printed(shown):
    out = io.StringIO()
    show(shown, Console(file=out))
    return out.getvalue()


def test_status_says_refused_only_of_a_candidate_refused_wholly():
    assert yard_status(screened()) == {"hill": "new", "shore": "refused"}


@pytest.mark.slow
def test_table_has_a_row_a_broken_rule():
    made = tables(screened())["screening"]
    assert made["outcome"].tolist() == ["refused", "warning", "refused", "refused"]
    assert made["for"].tolist() == ["all feedstock"] * 3 + ["Fish waste"]
    assert made["found [unit beside it]"].tolist() == [212, 1, 9, 9]


def test_geodata_carries_status_and_reasons():
    layer = layers(screened())["yards"].set_index("yard")
    assert layer["status"].to_dict() == {"hill": "new", "shore": "refused"}
    assert layer["reasons"].to_dict() == {"hill": "", "shore": "too near; a well 9 m"}


def test_map_gives_refusals_first():
    yards = {yard["code"]: yard for yard in map_data(screened())["yards"]}
    assert yards["shore"]["status"] == "refused"
    assert yards["shore"]["screening"] == [
        ["refused", "too near"],
        ["refused", "a well 9 m"],
        ["warning", "too flat"],
    ]
    assert '"refused"' in map_html(screened())


def test_terminal_counts_them():
    words = " ".join(printed(screened()).split())
    assert "Land screening: 1 candidate refused, 1 candidate kept from some" in words
    assert "sheet screening" in words
    assert "not law" in words


@pytest.mark.slow
@pytest.mark.parametrize("shown", [screened(()), result()])
def test_no_screening_shows_nothing(shown):
    assert sitingtables.screening_line(shown) == ""
    assert tables(shown)["screening"].empty
    assert set(layers(shown)["yards"]["reasons"]) == {""}
    assert "Land screening" not in printed(shown)
    assert "refused" not in {yard["status"] for yard in map_data(shown)["yards"]}


@pytest.mark.slow
def test_report_says_who_is_refused_and_why():
    page = report_html(screened())
    assert "refused by the land screening" in page
    assert "too near; a well 9 m" in page
    assert "refused by the land screening" not in report_html(result())


@pytest.mark.slow
def test_hostile_names_stay_text():
    hostile = screened(((*ROWS[0][:-1], f"near {HOSTILE}"),))
    assert "<script>alert" not in map_html(hostile)
    assert "<script>alert" not in report_html(hostile)
