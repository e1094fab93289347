"""The form for phones: an XLSForm by the standard; its answers come back by `bring`."""

import shutil
import warnings
from pathlib import Path

import pytest
from support.places import ROOT
from support.survey_export import STYLES, answered, form_of, written
from typer.testing import CliRunner

from logistics.bringing import MARK
from logistics.scenario import read_scenario, table_texts
from logistics.scenario.schema import columns_of, keys_of
from maps.commands import app
from maps.forms import questions_for, write_xlsform, xlsform_sheets

DEMO = ROOT / "scenarios" / "brackwater"


@pytest.fixture(scope="module")
def demo():
    return read_scenario(DEMO)


@pytest.fixture(scope="module")
def form(demo, tmp_path_factory):
    path = tmp_path_factory.mktemp("form") / "survey.xlsx"
    write_xlsform(demo, path)
    return path


def test_the_form_is_an_xlsform(form):
    """The reference program for XLSForms turns it into a form without a warning."""
    pyxform = pytest.importorskip("pyxform.xls2xform")
    said: list[str] = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        made = pyxform.convert(str(form), validate=False, warnings=said)
    assert said == []
    assert 'repeat nodeset="/data/sources"' in made.xform


def test_choices_are_those_of_the_scenario(demo, form):
    survey, choices = form_of(form)
    assert choices["material"] == demo.materials["material"].tolist()
    assert choices["periods"] == demo.periods["period"].tolist()
    assert choices["road"] == demo.roads["road"].tolist()
    months = [line for line in survey if line["type"] == "select_multiple periods"]
    assert [line["name"] for line in months] == [
        "ticked_months", "ticked_months", "closed_periods",
    ]  # fmt: skip
    assert sum(line["name"] == MARK for line in survey) == 4


def test_units_and_limits_are_those_of_the_tables(form):
    lines = {line["name"]: line for line in form_of(form)[0]}
    waste = lines["waste_pct"]
    assert waste["label"].endswith("[% of amount]")
    assert waste["constraint"] == ". >= 0 and . <= 100"
    assert waste["relevant"] == "../basis = 'processed'"
    assert lines["price_per_t"]["constraint"] is None  # money follows the currency


def test_every_needed_column_is_asked_or_follows(demo):
    """Codes are made of names, roads are known already."""
    for table, questions in questions_for(demo).items():
        asked = {q.name for q in questions}
        asked |= {"lon", "lat"} if "place" in asked else set()
        asked |= {*keys_of(table), *(["wkt"] if table == "roads" else [])}
        assert {c.name for c in columns_of(table) if c.required} <= asked


def test_the_same_scenario_gives_the_same_form(demo):
    assert xlsform_sheets(demo) == xlsform_sheets(demo)


@pytest.mark.slow
@pytest.mark.parametrize("style", STYLES)
def test_answers_come_back_without_touching_anything(style, form, demo, tmp_path):
    made = answered(form)
    files = written(made, tmp_path, style)
    folder = Path(shutil.copytree(DEMO, tmp_path / "d"))
    done = CliRunner().invoke(app, ["bring", *map(str, files), str(folder), "--yes"])
    assert done.exit_code == 0, done.output
    scenario = read_scenario(folder)
    texts = {t: table_texts(folder)[t] for t in made.entries}
    for table, entries in made.entries.items():
        frame = scenario.table(table)
        key = "road" if table == "roads" else "name"
        records = frame.to_dict("records")
        rows = dict(zip(frame[key], records, strict=True))
        heads = texts[table].headings
        noted = (dict(zip(heads, row, strict=True)) for row in texts[table].rows)
        notes = {row[key]: row for row in noted}
        for number, entry in entries:
            told = {path[-1]: value for path, value in entry.items()}
            row = rows[told[key]]
            if table != "roads":
                assert row["district"] == made.visits[number][("district",)]
            check(table, told, row, notes[told[key]], scenario)


def check(table, told, row, note, scenario):
    """Every answer stands in the row, in the unit it was asked in."""
    for name, value in told.items():
        if name in (MARK, "cautions") or value in ("", ()):
            continue
        if name == "place":
            assert (row["lat"], row["lon"]) == pytest.approx(value[:2], abs=1e-6)
            assert note["note_accuracy_m"] == "4.5"
        elif name == "photo":
            assert note["note_photo"] == value
        elif name == "ticked_months":
            season = scenario.calendar[scenario.calendar["season"] == row["season"]]
            share = season.set_index("period")["share"]
            days = scenario.periods.set_index("period")["days"]
            even = days[list(value)] / days[list(value)].sum()
            assert share[list(value)].to_numpy() == pytest.approx(
                even.to_numpy(), abs=1e-6
            )
        elif name.endswith("_pct"):
            assert row[name.removesuffix("_pct")] == pytest.approx(value / 100)
        elif isinstance(value, float):
            assert row[name] == pytest.approx(value)
        else:
            assert row[name] == value, name
