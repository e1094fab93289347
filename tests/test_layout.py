"""Rules of the house: direction of imports, size of modules, complete words."""

import ast
import re
import statistics
import subprocess
from pathlib import Path

import pytest
from support.places import ROOT
from typer.testing import CliRunner

from logistics.scenario.schema import columns_of, settings_columns, tables
from maps.commands.command_line import app

MODULES = sorted([*ROOT.glob("logistics/**/*.py"), *ROOT.glob("maps/**/*.py")])
HOMES = {
    "pulp": ("logistics/model/",),
    "highspy": ("logistics/model/",),
    "folium": ("maps/geo/web_map.py",),
    "jinja2": ("maps/geo/web_map.py", "maps/report/report.py"),
    "scipy.sparse": ("logistics/roads/",),
    "typer": ("maps/commands/",),
    "xlsxwriter": ("maps/tables/", "logistics/scenario/starter.py"),
    "pyvrp": ("logistics/rounds/search.py",),
    "openpyxl": ("logistics/scenario/xlsx_reader.py",),
}


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def imports(path: Path) -> list[str]:
    """Names of the modules that a file imports, anywhere in it."""
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.append(node.module)
    return found


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_data_flows_one_way(path):
    """The engine never imports the maps, and nothing imports the tests."""
    banned = {"tests", "scenarios"}
    if name_of(path).startswith("logistics/"):
        banned.add("maps")
    assert not {name.split(".")[0] for name in imports(path)} & banned


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_heavy_libraries_have_one_home(path):
    for name in imports(path):
        for library, homes in HOMES.items():
            if name == library or name.startswith(f"{library}."):
                assert name_of(path).startswith(homes), f"{name_of(path)}: {name}"


def test_modules_fit_on_a_few_screens():
    lengths = {
        name_of(p): len(p.read_text(encoding="utf-8").splitlines()) for p in MODULES
    }
    assert {k: n for k, n in lengths.items() if n > 350} == {}
    assert statistics.median(lengths.values()) <= 200


def test_top_level_is_what_it_should_be():
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout: the list of files is not known")
    tops = {line.split("/")[0] for line in listed.stdout.splitlines()}
    visible = {top for top in tops if not top.startswith(".")}
    assert visible == {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "LICENSE",
        "logistics",
        "maps",
        "tests",
        "scenarios",
    }


@pytest.mark.parametrize("table", tables())
def test_every_column_is_explained(table):
    for column in columns_of(table):
        assert len(column.meaning) > 2, column.name


@pytest.mark.parametrize("name", settings_columns())
def test_every_setting_is_explained(name):
    assert len(settings_columns()[name].meaning) > 5


def test_every_command_is_in_the_readme_and_helps():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    names = [c.name or c.callback.__name__ for c in app.registered_commands]
    assert {"new", "check", "plan"} <= set(names)
    for name in names:
        assert f"loamhaul {name}" in readme
        answer = CliRunner().invoke(app, [name, "--help"])
        assert answer.exit_code == 0
        for option in re.findall(r"--[a-z]+", answer.output):
            assert option in readme or option == "--help", f"{name} {option}"


def test_code_of_the_constraints_file_is_names_and_versions():
    lines = (ROOT / ".ci" / "constraints.txt").read_text().splitlines()
    assert lines
    assert all(re.fullmatch(r"[A-Za-z0-9_.-]+==[A-Za-z0-9_.!+-]+", x) for x in lines)
