"""The Python interface: what it promises, and that it answers as the commands do."""

import ast
import inspect
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from support.places import DATA, SMALL
from typer.testing import CliRunner

import loamhaul
from logistics.scenario import with_settings, with_table
from maps.commands import app
from maps.outputs import OUTPUTS
from maps.studies.comparison import ANSWERS

pytestmark = pytest.mark.slow

DISTRICT = loamhaul.example_scenario()
BAD = sorted(path.name for path in (DATA / "bad").iterdir() if path.is_dir())


@pytest.fixture(scope="module")
def planned():
    return loamhaul.plan(DISTRICT)


def test_every_promised_name_is_there_and_no_other():
    homes = [name for names in loamhaul._HOMES.values() for name in names]
    assert sorted(homes) == loamhaul.__all__
    for name in loamhaul.__all__:
        assert name in dir(loamhaul)
        assert getattr(loamhaul, name).__name__ == name
    with pytest.raises(AttributeError, match="no attribute 'fly'"):
        loamhaul.fly  # noqa: B018


@pytest.mark.parametrize("name", loamhaul.__all__)
def test_every_promise_is_explained(name):
    """Functions with an example, which is run with those of all other modules."""
    given = getattr(loamhaul, name)
    text = inspect.getdoc(given)
    assert len(text) > 30
    if inspect.isfunction(given):
        assert ">>>" in text
        for argument in inspect.signature(given).parameters:
            assert argument in text
        for part in ("Returns", "Raises"):
            assert part in text or name in {
                "check",
                "tables",
                "example_scenario",
                "write_scenario",
            }


def test_importing_it_loads_nothing_heavy():
    code = "import sys; import loamhaul; dir(loamhaul); loamhaul.__all__; "
    code += "print(sorted({m.split('.')[0] for m in sys.modules}))"
    folder = Path(loamhaul.__file__).parents[1]
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(folder)},
    )
    loaded = set(ast.literal_eval(done.stdout))
    assert "loamhaul" in loaded
    assert not loaded & {"logistics", "maps", "numpy", "pandas", "pydantic", "rich"}


@pytest.mark.parametrize("name", BAD)
def test_check_tells_all_faults_and_raises_nothing(name):
    found = loamhaul.check(DATA / "bad" / name)
    with pytest.raises(loamhaul.ScenarioError) as error:
        loamhaul.read_scenario(str(DATA / "bad" / name))
    assert set(found["kind"]) == {"fault"}
    assert found["why"].tolist() == [p.why for p in error.value.problems]
    assert found["remedy"].tolist() == [p.remedy for p in error.value.problems]


def test_check_tells_that_there_is_no_scenario(tmp_path):
    found = loamhaul.check(tmp_path / "nowhere")
    assert found["kind"].tolist() == ["fault"]
    assert found["why"].tolist() == ["does not exist"]
    assert found["row"].isna().all()
    assert set(loamhaul.check(tmp_path)["kind"]) == {"fault"}


def test_check_tells_what_is_impossible():
    """Fish alone has no structure and too much water."""
    sources = DISTRICT.tables["sources"]
    fish = with_table(DISTRICT, "sources", sources[sources["source"] == "pier"])
    found = loamhaul.check(fish)
    assert found.loc[0, "kind"] == "impossible"
    assert found.loc[0, "why"].startswith("No yard can compost anything")


def test_check_warns_as_the_command_does(tmp_path):
    sources = DISTRICT.tables["sources"].assign(lon=[-30.52, -30.40, -30.99])
    near = with_settings(DISTRICT, {"travel.lane_limit_km": 20})
    far = with_table(near, "sources", sources)
    found = loamhaul.check(far)
    assert set(found["kind"]) == {"warning"}
    assert "herd" in set(found["value"])
    loamhaul.write_scenario(far, tmp_path)
    said = CliRunner().invoke(app, ["check", str(tmp_path)]).output
    assert f"{len(found)} warning" in said
    for why in found["why"]:
        assert why in said


def test_check_tells_of_a_site_that_must_take_part_and_cannot(tmp_path):
    """Yard A stands by a road of its own that leads nowhere."""
    yards = DISTRICT.tables["yards"].assign(decision=["open", "free"])
    loamhaul.write_scenario(with_table(DISTRICT, "yards", yards), tmp_path)
    (tmp_path / "roads.csv").write_text(
        "road,name,class,wkt\n"
        'r1,Long Road,gravel,"LINESTRING (-30.52 0.58, -30.42 0.55, -30.40 0.50)"\n'
        'r2,Lone Lane,gravel,"LINESTRING (-30.48 0.50, -30.481 0.50)"\n'
    )
    found = loamhaul.check(tmp_path)
    assert set(found["kind"]) == {"fault"}
    assert "yard_a" in set(found["value"])
    with pytest.raises(loamhaul.ScenarioError, match="yard_a"):
        loamhaul.plan(loamhaul.read_scenario(tmp_path))


def test_check_tells_of_yards_that_the_land_rules_refuse():
    yards = DISTRICT.tables["yards"].assign(water_table_m=[0.1, 9.0])
    found = loamhaul.check(with_table(DISTRICT, "yards", yards))
    refused = found[found["kind"] == "refused"]
    assert refused["value"].tolist() == ["yard_a"]
    assert refused["file"].tolist() == ["yards.csv"]


@pytest.mark.thorough
def test_plan_is_that_of_the_command(planned, tmp_path):
    loamhaul.write_scenario(DISTRICT, tmp_path / "d")
    done = CliRunner().invoke(app, ["plan", str(tmp_path / "d")])
    assert done.exit_code == 0, done.output
    theirs = pd.read_csv(tmp_path / "d" / "out" / "plan.csv" / "yards.csv")
    ours = loamhaul.tables(planned)["yards"]
    assert theirs["yard"].tolist() == ours["yard"].tolist()
    assert theirs["status"].tolist() == ours["status"].tolist()
    files = loamhaul.write_outputs(planned, tmp_path / "out")
    assert [file.name for file in files] == list(OUTPUTS)
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == sorted(OUTPUTS)


def test_settings_reach_the_plan_and_leave_the_scenario():
    before = DISTRICT.settings
    made = loamhaul.plan(
        DISTRICT, gap_pct=2, seconds=50, goal="co2e", settings={"solve.seed": 3}
    )
    solve = made.scenario.settings.solve
    assert (solve.gap, solve.seconds, solve.seed) == (0.02, 50, 3)
    assert made.summary["goal"] == "co2e"
    assert DISTRICT.settings == before


@pytest.mark.slow
def test_changes_are_made_in_order():
    made = loamhaul.plan(
        DISTRICT, changes=["scale_fuel:percent=100", "scale_fuel:percent=-50"]
    )
    price = made.scenario.settings.finance.fuel_price_per_l
    assert price == pytest.approx(DISTRICT.settings.finance.fuel_price_per_l)


@pytest.mark.parametrize(
    "wrong",
    [
        {"gap_pct": 51},
        {"goal": "fame"},
        {"settings": {"solve.gapp": 1}},
        {"changes": "scale_fule:percent=40"},
        {"changes": "mill_closes"},
    ],
    ids=str,
)
def test_what_cannot_be_asked_is_a_scenario_error(wrong):
    with pytest.raises(loamhaul.ScenarioError) as found:
        loamhaul.plan(DISTRICT, **wrong)
    assert isinstance(found.value.problems[0], loamhaul.Problem)


@pytest.mark.slow
def test_changes_of_the_folder_are_compared(tmp_path):
    folder = tmp_path / "d"
    loamhaul.new_scenario(str(folder))
    (folder / "changes").mkdir()
    text = 'title = "Dear fuel"\n[[change]]\ndo = "scale_fuel"\npercent = 40\n'
    (folder / "changes" / "fuel.toml").write_text(text)
    found = loamhaul.compare(loamhaul.read_scenario(folder))
    assert [one.change.title for one in found.outcomes] == ["Dear fuel"]
    overview = loamhaul.tables(found)["overview"]
    assert overview["answer"].tolist() == list(ANSWERS.values())


def test_a_comparison_without_changes_is_refused():
    with pytest.raises(loamhaul.ScenarioError, match="names no change"):
        loamhaul.compare(DISTRICT)


def test_progress_is_told():
    seen = []
    loamhaul.compare(DISTRICT, "scale_fuel:percent=40", progress=seen.append)
    assert {state.gap is None or state.gap >= 0 for state in seen} == {True}


@pytest.mark.slow
def test_rounds_are_written_as_by_the_command(planned, tmp_path):
    found = loamhaul.rounds(planned, "m01", iterations=10)
    assert found.driven.period == "m01"
    (folder,) = loamhaul.write_outputs(found, tmp_path)
    assert folder == tmp_path / "rounds_m01"
    assert (folder / "rounds.xlsx").exists()


def test_rounds_of_no_period_are_refused(planned):
    with pytest.raises(
        loamhaul.ScenarioError, match=r"'m1' is not a period. Write 'm01'"
    ):
        loamhaul.rounds(planned, "m1")


def test_rounds_that_break_a_rule_are_not_shown(planned, monkeypatch):
    import loamhaul.planning as module

    real = module.drive

    def broken(*given, **how):
        return replace(real(*given, **how), faults=("a truck flies",))

    monkeypatch.setattr(module, "drive", broken)
    with pytest.raises(loamhaul.AuditError, match="broke rules: a truck flies"):
        loamhaul.rounds(planned, "m01", iterations=10)


def test_a_file_in_place_of_the_folder_is_told(planned, tmp_path):
    (tmp_path / "out").write_text("mine")
    with pytest.raises(NotADirectoryError):
        loamhaul.write_outputs(planned, str(tmp_path / "out"))


def test_a_scenario_reads_back_the_same(tmp_path):
    small = loamhaul.read_scenario(SMALL)
    loamhaul.write_scenario(small, str(tmp_path))
    again = loamhaul.read_scenario(tmp_path)
    assert again.settings == small.settings
    for name, table in small.tables.items():
        pd.testing.assert_frame_equal(again.tables[name], table)
