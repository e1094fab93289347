"""Outputs that lie beside the tables are named and never read as tables."""

import shutil
import zipfile

from support.fake_result import result
from support.places import DATA, SMALL

from logistics.scenario.own_outputs import CHECK, own_output
from logistics.scenario.readers import read_tables
from logistics.scenario.starter import new_scenario
from maps.geo import write_geopackage
from maps.outputs import OUTPUTS

OLD = DATA / "made_by_0_1_0" / "compare.xlsx"


def test_outputs_beside_the_tables_are_said_and_not_read(tmp_path):
    """Those of today, a workbook of version 0.1.0 and a folder of tables."""
    folder = shutil.copytree(SMALL, tmp_path / "district")
    before = read_tables(folder)
    for name in ("plan.xlsx", "budget.xlsx", "plan.gpkg", "plan.csv"):
        OUTPUTS[name](result(), folder / name)
    shutil.copy(OLD, folder)
    after = read_tables(folder)
    assert after.problems == []
    assert {n: t.rows for n, t in after.raw.items()} == {
        n: t.rows for n, t in before.raw.items()
    }
    told = [str(one.problem) for one in after.notes if one.check == CHECK]
    assert told == [
        f"{name}: is an output of Loamhaul, not a table, and is not read. Move it to "
        "another folder, such as out."
        for name in ("budget.xlsx", "compare.xlsx", "plan.gpkg", "plan.xlsx")
    ]


def test_a_planners_own_book_is_no_output(tmp_path):
    """The starter; a book with the title Loamhaul alone; layers without lanes."""
    new_scenario(tmp_path / "new", "xlsx")
    (starter,) = (tmp_path / "new").glob("*.xlsx")
    assert not own_output(starter)
    titled = tmp_path / "titled.xlsx"
    with zipfile.ZipFile(OLD) as old, zipfile.ZipFile(titled, "w") as made:
        for name in old.namelist():
            text = old.read(name).replace(b"Loamhaul tables", b"Loamhaul: our tables")
            made.writestr(name, text)
    assert own_output(OLD)
    assert not own_output(titled)


def test_a_damaged_book_is_left_to_its_reader(tmp_path):
    torn = tmp_path / "plan.xlsx"
    torn.write_bytes(OLD.read_bytes()[:3000])
    write_geopackage(result(), tmp_path / "plan.gpkg")
    assert own_output(tmp_path / "plan.gpkg")
    whole = (tmp_path / "plan.gpkg").read_bytes()
    (tmp_path / "plan.gpkg").write_bytes(whole[:300])
    assert not own_output(torn)
    assert not own_output(tmp_path / "plan.gpkg")
    assert not own_output(tmp_path)
