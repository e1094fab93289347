"""Rules of the house: rooms, their faces and order, sizes, complete words."""

import ast
import importlib
import re
import statistics
import subprocess
import sys
from functools import cache
from pathlib import Path

import networkx
import pytest
from support.places import ROOT
from typer.testing import CliRunner

from logistics.scenario import columns_of, settings_columns
from logistics.scenario.schema import tables
from maps.commands import app

MODULES = sorted([*ROOT.glob("logistics/**/*.py"), *ROOT.glob("maps/**/*.py")])
ROOMS = {
    "logistics.scenario": "",
    "logistics.bringing": "scenario",
    "logistics.changes": "scenario",
    "logistics.roads": "scenario",
    "logistics.composting": "scenario",
    "logistics.land": "scenario roads composting",
    "logistics.ground": "scenario bringing roads land",
    "logistics.costs": "scenario roads composting",
    "logistics.model.problem": "",
    "logistics.model.rules": "model.problem",
    "logistics.model.assembly": "scenario roads composting land costs model.problem",
    "logistics.model.solving": "scenario composting model.problem model.rules",
    "logistics.model": "model.problem model.rules model.assembly model.solving",
    "logistics.diagnosis": "scenario roads composting costs model",
    "logistics.results": "scenario roads composting land costs model diagnosis",
    "logistics.accounts": "scenario roads composting land costs model results",
    "logistics.rounds": "scenario composting land costs model results",
    "logistics.studies": (
        "scenario changes roads composting land costs model diagnosis results accounts"
    ),
    "logistics.years": (
        "scenario changes roads composting land costs model diagnosis results accounts"
        " studies"
    ),
    "maps.disk": "",
    "maps.shared": "disk",
    "maps.tables": "shared",
    "maps.geo": "shared tables",
    "maps.report": "shared tables geo",
    "maps.studies": "shared tables geo report",
    "maps.years": "shared tables geo report",
    "maps.field": "shared tables geo report",
    "maps.forms": "shared",
    "maps.bringing": "disk shared",
    "maps.outputs": "shared tables geo report years",
    "maps.manual": "shared tables",
    "maps.desk": (
        "disk shared tables geo report studies field forms bringing outputs manual"
    ),
    "maps.stick": "shared",
    "maps.commands": (
        "shared tables geo report studies years field forms bringing outputs manual "
        "desk stick"
    ),
    "maps.__main__": "commands",
    "loamhaul": "",
}
"""Each room and which others of its half it may import; `maps` may import all rooms of
`logistics` besides, and the Python interface those of both but the command line."""
INTERFACE = "maps/python/"
"""Folder of the package `loamhaul`."""
HOMES = {
    "pulp": (
        "logistics/model/rules/programme.py",
        "logistics/model/solving/highs.py",
    ),
    "highspy": (
        "logistics/model/problem/warm_start.py",
        "logistics/model/solving/highs.py",
        "logistics/model/solving/matrix.py",
        "logistics/model/solving/silence.py",
        "logistics/model/solving/simplex.py",
    ),
    "rasterio": ("logistics/ground/rasters.py",),
    "scipy.sparse": (
        "logistics/roads/",
        "logistics/model/solving/",
        "logistics/studies/l_shaped.py",
        "logistics/studies/coarse_district.py",
        "logistics/years/",
    ),
    "scipy.optimize": (
        "logistics/model/rules/capacity.py",
        "logistics/diagnosis/feasibility.py",
        "logistics/accounts/",
        "logistics/rounds/located/",
    ),
    "networkx": ("logistics/roads/", "logistics/ground/thinning.py"),
    "pydantic": ("logistics/scenario/settings.py",),
    "pyvrp": ("logistics/rounds/search.py",),
    "openpyxl": (
        "logistics/scenario/xlsx_editor.py",
        "logistics/scenario/xlsx_reader.py",
    ),
    "pyogrio": (
        "logistics/bringing/geo_files.py",
        "logistics/ground/extract_files.py",
        "logistics/scenario/gpkg_reader.py",
        "logistics/roads/importing/files.py",
        "maps/geo/geopackage.py",
        "maps/geo/scenario_layers.py",
    ),
    "geopandas": ("maps/geo/geopackage.py", "maps/geo/scenario_layers.py"),
    "distributed": ("logistics/studies/runs.py",),
    "folium": ("maps/geo/web_map.py",),
    "jinja2": ("maps/geo/web_map.py", "maps/shared/html.py", "maps/desk/looks.py"),
    "starlette": ("maps/desk/",),
    "tomlkit": (
        "logistics/bringing/recipe.py",
        "logistics/scenario/settings_edits.py",
    ),
    "uvicorn": ("maps/desk/serving.py",),
    "xlsxwriter": (
        "maps/tables/budget_estimates.py",
        "maps/tables/budget_workbook.py",
        "maps/tables/lineage_terms.py",
        "maps/tables/plan_workbook.py",
        "maps/tables/sheet.py",
        "maps/years/way_workbook.py",
        "maps/forms/xlsform.py",
        "logistics/scenario/checklist.py",
        "logistics/scenario/workbook.py",
    ),
    "rich": (
        "maps/shared/console.py",
        "maps/tables/",
        "maps/studies/",
        "maps/commands/",
    ),
    "typer": ("maps/commands/",),
    "markdown_it": ("maps/manual/",),
}
"""Heavy libraries and the only modules or rooms that may import them."""
WRITERS = (
    "logistics/scenario/exporting.py",
    "logistics/scenario/starter.py",
    "logistics/scenario/workbook.py",
    "logistics/scenario/writing.py",
    "logistics/changes/files.py",
    "logistics/studies/runs.py",
    "maps/",
)
"""The only places that put files on a disk."""
WRITING = {
    "write_text",
    "write_bytes",
    "mkdir",
    "unlink",
    "rmtree",
    "mkdtemp",
    "NamedTemporaryFile",
    "touch",
    "to_file",
    "to_excel",
    "to_parquet",
    "to_pickle",
    "write_dataframe",
    "symlink_to",
}

FOR_OTHERS: dict[str, str] = {}
"""Public names that nothing here uses, with whom they serve."""


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def module_of(path: Path) -> str:
    name = name_of(path).removeprefix(INTERFACE)
    return name[:-3].replace("/", ".").removesuffix(".__init__")


NAMES = {module_of(path) for path in MODULES}


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def imports(path: Path) -> list[tuple[str, str]]:
    """
    Module and name of every import of a file: lazy ones and those for types too.

    `from scipy import sparse` is ("scipy.sparse", "") as `import scipy.sparse` is, if
    such a module exists.
    """
    found = []
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            found += [(alias.name, "") for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name_of(path)}: name the module in full"
            found += [_from(str(node.module), alias.name) for alias in node.names]
    return found


def _from(module: str, name: str) -> tuple[str, str]:
    """Tell a module in a package from a name in a module."""
    full = f"{module}.{name}"
    if full in NAMES or full in HOMES:
        return full, ""
    return module, name


def room_of(module: str) -> str:
    """Room of a module of ours, the innermost."""
    inside = [r for r in ROOMS if module == r or module.startswith(f"{r}.")]
    return max(inside, key=len, default=module)


def ours(path: Path) -> list[tuple[str, str]]:
    return [
        (module, name)
        for module, name in imports(path)
        if module.split(".")[0] in ("logistics", "maps", "loamhaul")
    ]


def may_import(room: str) -> set[str]:
    half = room.split(".")[0]
    allowed = {f"{half}.{name}" for name in ROOMS[room].split()}
    if half in ("maps", "loamhaul"):
        allowed |= {r for r in ROOMS if r.startswith("logistics.")}
        allowed -= {r for r in ROOMS if r.startswith("logistics.model.")}
    if half == "loamhaul":
        allowed |= {r for r in ROOMS if r.startswith("maps.")}
        allowed -= {"maps.commands", "maps.__main__"}
    return allowed


def test_every_module_is_in_a_room():
    """Loose in the two folders are only what starts and registers."""
    loose = {name_of(p) for p in MODULES if len(p.relative_to(ROOT).parts) == 2}
    assert loose == {
        "logistics/__init__.py",
        "maps/__init__.py",
        "maps/__main__.py",
        "maps/outputs.py",
    }
    assert {room_of(name) for name in NAMES} - {"logistics", "maps"} == set(ROOMS)


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_rooms_are_imported_in_one_direction_and_by_their_face(path):
    """Only rooms to the left, and only names that the room promises."""
    room = room_of(module_of(path))
    for module, name in ours(path):
        other = room_of(module)
        if other == room or module_of(path) in ("logistics", "maps"):
            continue
        assert other in may_import(room), f"{name_of(path)} imports {module}"
        assert module == other, f"{name_of(path)}: import from {other}, not {module}"
        face = importlib.import_module(other)
        if other != "maps.outputs":
            assert name in face.__all__, f"{name_of(path)}: {other} has no {name}"


@pytest.mark.parametrize("package", ["logistics", "maps", "maps/python/loamhaul"])
def test_other_programs_can_check_our_types(package):
    """PEP 561: without the marker a type checker takes all of ours for `Any`."""
    assert (ROOT / package / "py.typed").is_file()


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_nothing_imports_the_tests(path):
    tops = {module.split(".")[0] for module, _ in imports(path)}
    assert not tops & {"tests", "support", "scenarios"}


def test_no_module_imports_itself_by_a_detour():
    """Lazy imports and imports for types count as well."""
    graph = networkx.DiGraph()
    for path in MODULES:
        own = module_of(path)
        graph.add_edges_from((own, m) for m, _ in ours(path) if m in NAMES - {own})
    circles = [c for c in networkx.strongly_connected_components(graph) if len(c) > 1]
    assert circles == []


@pytest.mark.parametrize("room", [r for r in ROOMS if r != "maps.__main__"])
def test_a_face_says_what_it_is_for_and_hides_no_module(room):
    face = importlib.import_module(room)
    assert len(str(face.__doc__).strip()) > 20
    if room == "maps.outputs":
        return
    assert len(face.__all__) == len(set(face.__all__))
    modules = {n.rpartition(".")[2] for n in NAMES if n.rpartition(".")[0] == room}
    for name in set(face.__all__) & modules:
        assert isinstance(getattr(face, name), type(sys)), f"{name} hides a module"


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_heavy_libraries_have_one_home(path):
    for name, _ in imports(path):
        for library, homes in HOMES.items():
            if name == library or name.startswith(f"{library}."):
                assert name_of(path).startswith(homes), f"{name_of(path)}: {name}"


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_files_are_written_in_few_places(path):
    calls = [
        node.func for node in ast.walk(tree_of(path)) if isinstance(node, ast.Call)
    ]
    names = {call.attr for call in calls if isinstance(call, ast.Attribute)}
    if names & WRITING:
        assert name_of(path).startswith(WRITERS), f"{name_of(path)}: {names & WRITING}"


def defined(path: Path) -> dict[str, ast.stmt]:
    """Public names at the top of a module, without what a decorator registers."""
    found: dict[str, ast.stmt] = {}
    for node in tree_of(path).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            by = {ast.unparse(d).split("(")[0] for d in node.decorator_list}
            if by <= {"dataclass", "cache", "lru_cache", "contextmanager"}:
                found[node.name] = node
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            found |= {t.id: node for t in targets if isinstance(t, ast.Name)}
    return {name: node for name, node in found.items() if not name.startswith("_")}


def used_here(path: Path, name: str, own: ast.stmt) -> bool:
    """Tell whether a module uses its own name, outside of what defines it."""
    return any(
        isinstance(node, ast.Name)
        and node.id == name
        and isinstance(node.ctx, ast.Load)
        for top in tree_of(path).body
        if top is not own
        for node in ast.walk(top)
    )


def taken(path: Path) -> set[str]:
    """
    Names that a module imports from us, or takes from a module of ours.

    What a face passes on is not taken by it; what `loamhaul` promises, users take.
    """
    if module_of(path) == "loamhaul":
        return set(importlib.import_module("loamhaul").__all__)
    if path.name == "__init__.py":
        return set()
    inside = {name for _, name in ours(path) if name}
    modules = {
        alias.asname or alias.name
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
        if f"{node.module}.{alias.name}" in NAMES
    }
    return inside | {
        node.attr
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id in modules
    }


def test_what_is_defined_is_used():
    """A name that only tests use serves no user."""
    everywhere = set().union(*(taken(path) for path in MODULES))
    idle = {
        f"{module_of(path)}.{name}"
        for path in MODULES
        for name, node in defined(path).items()
        if name not in everywhere and name != "__all__"
        if not used_here(path, name, node)
    }
    assert idle == set(FOR_OTHERS)


def test_an_idle_name_is_found(tmp_path):
    file = tmp_path / "a.py"
    file.write_text(
        "USED = 1\nIDLE = 2\n@change\ndef registered(): ...\n"
        "def alone(): return alone() + USED\n"
    )
    names = defined(file)
    assert set(names) == {"USED", "IDLE", "alone"}
    assert [n for n in names if used_here(file, n, names[n])] == ["USED"]


def test_an_import_under_another_spelling_is_seen(tmp_path):
    """`from scipy import sparse` names the library that `import scipy.sparse` does."""
    file = tmp_path / "a.py"
    file.write_text("def f():\n    from scipy import sparse\n    import scipy.sparse\n")
    assert imports(file) == [("scipy.sparse", ""), ("scipy.sparse", "")]


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


def test_every_command_helps():
    """That README and manual have every command: `tests/maps/manual/`."""
    names = [c.name or c.callback.__name__ for c in app.registered_commands]
    assert {"new", "check", "plan"} <= set(names)
    for name in names:
        answer = CliRunner().invoke(app, [name, "--help"])
        assert answer.exit_code == 0
        assert f" {name} " in answer.output


def test_code_of_the_constraints_file_is_names_and_versions():
    lines = (ROOT / ".ci" / "constraints.txt").read_text().splitlines()
    assert lines
    assert all(re.fullmatch(r"[A-Za-z0-9_.-]+==[A-Za-z0-9_.!+-]+", x) for x in lines)


def test_a_class_name_stands_for_one_thing():
    """No two modules define a class of one name."""
    homes: dict[str, list[str]] = {}
    for path in MODULES:
        for node in ast.walk(tree_of(path)):
            if isinstance(node, ast.ClassDef):
                homes.setdefault(node.name, []).append(module_of(path))
    assert len(homes) > 100
    assert {name: there for name, there in homes.items() if len(there) > 1} == {}


def test_developers_names_every_room_and_no_file_that_is_not_there():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    lines = set(re.findall(r"^\| `([a-z.]+)` \|", text, re.MULTILINE))
    told = {f"{half}.{name}" for half in ("logistics", "maps") for name in lines}
    told |= {name for name in ("loamhaul",) if f"`import {name}`" in text}
    assert set(ROOMS) - told == {"maps.__main__"}
    every = {name_of(p) for p in ROOT.glob("**/*") if ".venv" not in p.parts}
    for file in re.findall(r"`([\w./]+\.(?:py|md|csv|js))`", text):
        known = [name for name in every if name == file or name.endswith(f"/{file}")]
        assert known, f"DEVELOPERS.md names {file}"
