"""The table of columns is whole: all that is read is described."""

import pandas as pd
import pytest

from logistics.scenario.cells import READ, read_value
from logistics.scenario.defaults import library
from logistics.scenario.schema import (
    COLUMNS_FILE,
    SETTINGS,
    column,
    columns_of,
    keys_of,
    plain_name,
    settings_columns,
    tables,
)

ALL = [*(c for table in tables() for c in columns_of(table)), *columns_of(SETTINGS)]


@pytest.mark.parametrize("one", ALL, ids=lambda c: f"{c.table}.{c.name}")
def test_column_is_described(one):
    assert one.kind in READ
    assert len(one.meaning) > 3
    if one.kind in {"number", "percent", "integer"}:
        assert one.low is not None
        assert one.high is not None
        assert one.low < one.high
    if one.kind == "choice":
        assert one.choices
    if one.kind == "percent":
        assert one.name.endswith("_pct")
    if one.refers_to:
        assert one.refers_to in tables()
    if one.default:
        read_value(one.default, one)


def test_every_row_of_the_table_is_a_column():
    assert len(ALL) == len(pd.read_csv(COLUMNS_FILE, dtype=str))
    assert len({(c.table, c.name) for c in ALL}) == len(ALL)


def test_typed_names_do_not_clash():
    for table in tables():
        inside = [c.inside for c in columns_of(table)]
        assert len(set(inside)) == len(inside)


def test_questions_put_to_the_table():
    assert keys_of("calendar") == ("season", "period")
    assert keys_of("policy") == ()
    assert column("sources", "material").refers_to == "materials"
    assert settings_columns()["mix.cn_low"].default == "20"


def test_headings_as_people_type_them():
    assert plain_name("Moisture (%)") == "moisture_pct"
    assert plain_name("\ufeffPayload  T ") == "payload_t"


def test_library_materials_are_physical():
    """Carbon never exceeds what the ash leaves room for; water is no material."""
    frame = library("materials").frame
    assert len(frame) == 16
    assert "water" not in set(frame["material"])
    assert (frame["carbon_pct"] <= (100 - frame["ash_pct"]) / 1.8).all()
    assert (frame["status"] == "default, not local").all()
    assert frame["source"].str.contains("judgement").all()


def test_library_factors_have_unit_and_source():
    frame = library("factors").frame
    assert set(frame["status"]) <= {"read", "memory", "computed", "judgement"}
    assert (frame["source"].str.len() > 10).all()
    values = dict(zip(frame["factor"], frame["value"], strict=True))
    # Check value A17 of the reference sheet: 1 t of wet mix, AR5.
    co2e = (
        values["compost_ch4_g_per_kg_wet"] * values["gwp_ch4"]
        + values["compost_n2o_g_per_kg_wet"] * values["gwp_n2o"]
    )
    assert co2e == pytest.approx(175.6, abs=0.1)
    # Check value A18: 1 t of dry straw burnt, IPCC 2006 x 0.8, AR5.
    burnt = values["burnt_share"] * (
        values["burnt_ch4_g_per_kg_dry"] * values["gwp_ch4"]
        + values["burnt_n2o_g_per_kg_dry"] * values["gwp_n2o"]
    )
    assert burnt == pytest.approx(75.3, abs=0.1)
