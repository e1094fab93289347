"""A new scenario is whole, explained, and passes the check as it is."""

import re

import pytest

from logistics.scenario.faults import ScenarioError
from logistics.scenario.scenario import read_scenario
from logistics.scenario.schema import columns_of, settings_columns, tables
from logistics.scenario.starter import EXAMPLES, new_scenario, notes, settings_template


def test_new_scenario_passes_the_check(tmp_path):
    written = new_scenario(tmp_path / "new")
    assert all(file.is_file() for file in written)
    scenario = read_scenario(tmp_path / "new")
    assert "invented" in scenario.settings.name
    assert len(scenario.sources) == 3
    assert len(scenario.periods) == 12
    assert not list((tmp_path / "new").glob("*.part"))


def test_nothing_is_overwritten(tmp_path):
    new_scenario(tmp_path)
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}
    for kind in ("csv", "xlsx"):
        with pytest.raises(ScenarioError, match="already exists"):
            new_scenario(tmp_path, kind)
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before


def test_one_file_in_the_way_is_enough(tmp_path):
    (tmp_path / "trucks.csv").write_text("mine")
    with pytest.raises(ScenarioError, match=r"trucks\.csv: already exists"):
        new_scenario(tmp_path)
    assert [file.name for file in tmp_path.iterdir()] == ["trucks.csv"]


def test_a_file_is_no_folder(tmp_path):
    (tmp_path / "x").write_text("mine")
    with pytest.raises(ScenarioError, match="is a file, not a folder"):
        new_scenario(tmp_path / "x")
    with pytest.raises(ValueError, match="csv or xlsx"):
        new_scenario(tmp_path / "y", "ods")


def test_headings_are_those_of_the_table(tmp_path):
    new_scenario(tmp_path)
    for table in tables():
        heading = (tmp_path / f"{table}.csv").read_text().split("\n")[0]
        assert heading == ",".join(c.name for c in columns_of(table))


def test_notes_explain_every_column():
    told = {(line[0], line[1]) for line in notes()[1:]}
    assert told == {(t, c.name) for t in tables() for c in columns_of(t)}


def test_template_explains_every_setting():
    text = settings_template()
    for name, column in settings_columns().items():
        assert column.meaning in text
        assert re.search(rf"^(# )?{name.rpartition('.')[2]} =", text, re.MULTILINE)


def test_every_commented_setting_may_be_taken_in(tmp_path):
    """Taking the # away from all settings with a default changes nothing."""
    new_scenario(tmp_path)
    before = read_scenario(tmp_path).settings
    file = tmp_path / "scenario.toml"
    text = re.sub(r"^# (\w+ = (?!\()\S)", r"\1", file.read_text(), flags=re.MULTILINE)
    file.write_text(text)
    assert text.count("\n# ") < settings_template().count("\n# ") - 30
    assert read_scenario(tmp_path).settings == before


def test_examples_use_known_columns():
    for table, rows in EXAMPLES.items():
        known = {c.name for c in columns_of(table)}
        assert all(set(row) <= known for row in rows)
