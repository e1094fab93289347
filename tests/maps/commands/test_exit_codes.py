"""
One table of exit codes, and the commands that plan keep to it.

A district whose demands cannot be met (no money at all), and one where nothing can be
composted (every site is closed): all commands that plan say so with the same code.
"""

import shutil
from pathlib import Path

import pytest
from support.places import ROOT, SMALL
from typer.testing import CliRunner

from maps.commands.choices import Exit
from maps.commands.command_line import COMMANDS, app

FUEL = ["--change", "scale_fuel:percent=40"]
PLANNING = {
    "plan": ["--estimate"],
    "compare": FUEL,
    "rounds": ["--period", "m01", "--iterations", "10"],
    "sheets": ["--period", "m01"],
    "stress": ["--draws", "0", "--workers", "1"],
    "robust": [*FUEL, "--minutes", "0.1"],
    "frontier": ["--points", "3"],
    "why": ["--up-to", "0"],
    "alternatives": ["--most", "2"],
    "shares": [],
}
WRITE_ALL_THE_SAME = {"plan", "compare", "stress"}
"""Their pages say which demands are not met, and by how much."""
QUICK = {"check", "rounds", "sheets", "why"}
"""Those tried in the slow part; the rest in the thorough one."""
SHEETS = ["run_sheets_day_*.html", "yard_sheets"]


def no_money(folder):
    with (folder / "scenario.toml").open("a", encoding="utf-8") as file:
        file.write("\n[policy]\nbudget_limit = 0\n")


def no_site(folder):
    yards = folder / "yards.csv"
    text = yards.read_text(encoding="utf-8").replace(",small,free,", ",,free,")
    yards.write_text(text.replace(",free,", ",closed,"), encoding="utf-8")


def params(names):
    marks = {name: pytest.mark.slow for name in QUICK}
    return [
        pytest.param(name, marks=marks.get(name, pytest.mark.thorough))
        for name in names
    ]


def call(folder, name):
    words = [name, str(folder), *PLANNING.get(name, [])]
    done = CliRunner().invoke(app, words)
    assert done.exception is None or isinstance(done.exception, SystemExit), (
        done.exception
    )
    return done


def test_all_that_plan_are_tried():
    """All that take --seconds plan."""
    import typer

    of = typer.main.get_command(app).commands
    assert set(PLANNING) == {
        name for name in COMMANDS if "seconds" in {p.name for p in of[name].params}
    }


@pytest.mark.usefixtures("summary_only")
@pytest.mark.parametrize("name", params(PLANNING))
def test_demands_that_cannot_be_met_are_code_3(name, tmp_path, monkeypatch):
    """The base plan alone decides for `stress`: its futures are left out."""
    monkeypatch.setattr("logistics.studies.losses", lambda *_: [])
    folder = Path(shutil.copytree(SMALL, tmp_path / "small"))
    no_money(folder)
    done = call(folder, name)
    assert done.exit_code == Exit.SHORTAGE, done.output
    assert "demands" in done.output
    out = folder / "out"
    assert not [path for one in SHEETS for path in out.rglob(one)]
    assert out.exists() == (name in WRITE_ALL_THE_SAME) or list(out.iterdir()) == []


@pytest.mark.usefixtures("summary_only")
@pytest.mark.parametrize("name", params(["check", *PLANNING]))
def test_where_nothing_can_be_composted_all_say_so_with_code_3(name, tmp_path):
    folder = Path(shutil.copytree(SMALL, tmp_path / "small"))
    no_site(folder)
    done = call(folder, name)
    assert done.exit_code == Exit.SHORTAGE, done.output
    assert "No yard may be built: each is closed" in done.output


def test_merging_says_so_too(tmp_path):
    folder = Path(shutil.copytree(SMALL, tmp_path / "small"))
    no_site(folder)
    done = CliRunner().invoke(app, ["plan", str(folder), "--coarsen", "--estimate"])
    assert done.exit_code == Exit.SHORTAGE
    assert done.stderr.startswith("No yard may be built: each is closed")
    assert not (folder / "out").exists()


@pytest.mark.thorough
def test_the_years_ahead_end_alike(tmp_path):
    folder = Path(shutil.copytree(SMALL, tmp_path / "small"))
    years = "year,capital,recurrent\n2027,900000,0\n2028,900000,0\n"
    (folder / "years.csv").write_text(years, encoding="utf-8")
    done = CliRunner().invoke(app, ["plan", str(folder), "--years", "--seconds", "5"])
    assert done.exit_code == Exit.SHORTAGE, done.output


def test_the_table_of_the_manual_has_every_code():
    """`Exit` and the manual name the same codes, each once."""
    text = (ROOT / "maps" / "manual" / "plan.md").read_text(encoding="utf-8")
    table = text.partition("## Exit codes")[2].partition("\n\n`")[0]
    rows = [line.split("|")[1].strip() for line in table.splitlines() if "|" in line]
    codes = [int(one) for one in rows if one.isdigit()]
    assert codes == sorted(Exit)
