"""A feedstock of the library may be used by its code alone, and is told as default."""

import shutil
from math import isnan

import pandas as pd
import pytest
from support.places import SMALL

from logistics.scenario.defaults import library
from logistics.scenario.faults import ScenarioError, nearest_material
from logistics.scenario.library_materials import stock
from logistics.scenario.scenario import read_scenario, write_scenario

LIBRARY = library("materials").frame.set_index("material")
FIGURES = ("moisture", "carbon", "nitrogen", "p2o5", "ash", "loose_kg_m3", "keep_hours")


@pytest.fixture
def folder(tmp_path):
    return shutil.copytree(SMALL, tmp_path / "small")


def edit(folder, table, **values):
    """Write values into the first row of a table."""
    frame = pd.read_csv(folder / f"{table}.csv", dtype=str, keep_default_na=False)
    for name, value in values.items():
        frame.loc[0, name] = value
    frame.to_csv(folder / f"{table}.csv", index=False)


def add_material(folder, **values):
    frame = pd.read_csv(folder / "materials.csv", dtype=str, keep_default_na=False)
    row = {name: values.get(name, "") for name in frame.columns}
    frame = pd.concat([frame, pd.DataFrame([row])])
    frame.to_csv(folder / "materials.csv", index=False)


def faults(folder):
    with pytest.raises(ScenarioError) as raised:
        read_scenario(folder)
    return raised.value.problems


def one(scenario, code):
    return scenario.materials.set_index("material").loc[code]


def used(scenario, code):
    frame = scenario.defaults_used
    rows = frame[(frame["table"] == "materials") & (frame["key"] == code)]
    return dict(zip(rows["column"], rows["value"], strict=True))


@pytest.mark.parametrize("code", LIBRARY.index)
def test_every_code_may_stand_in_sources_alone(folder, code):
    edit(folder, "sources", material=code)
    scenario = read_scenario(folder)
    row = one(scenario, code)
    for name in FIGURES:
        wanted = LIBRARY.loc[code].get(f"{name}_pct")
        wanted = LIBRARY.loc[code, name] if wanted is None else wanted / 100
        assert row[name] == pytest.approx(wanted), name
    assert row["structure"] == LIBRARY.loc[code, "structure"]
    assert row["source"] == LIBRARY.loc[code, "source"]
    listed = used(scenario, code)
    assert listed["moisture_pct"] == LIBRARY.loc[code, "moisture_pct"]
    assert listed["status"] == "default, not local"


def test_a_row_with_the_code_alone_takes_all_figures_and_reads_back(folder, tmp_path):
    add_material(folder, material="poultry_litter")
    scenario = read_scenario(folder)
    assert one(scenario, "poultry_litter")["nitrogen"] == pytest.approx(0.03)
    assert used(scenario, "poultry_litter")["loose_kg_m3"] == 450
    write_scenario(scenario, tmp_path / "again")
    again = read_scenario(tmp_path / "again")
    assert again.materials.equals(scenario.materials)
    assert again.defaults_used.equals(scenario.defaults_used)
    written = pd.read_csv(tmp_path / "again" / "materials.csv").set_index("material")
    assert written.loc["poultry_litter"].isna().all()


def test_the_table_may_be_left_out_if_the_library_has_all(folder):
    (folder / "materials.csv").unlink()
    frame = pd.read_csv(folder / "sources.csv", dtype=str, keep_default_na=False)
    codes = {"husk": "rice_husk", "fish": "fish_waste_mixed", "manure": "cattle_manure"}
    frame["material"] = frame["material"].replace(codes)
    frame.to_csv(folder / "sources.csv", index=False)
    scenario = read_scenario(folder)
    assert set(scenario.materials["material"]) == set(frame["material"])


def test_headings_may_be_the_code_alone(folder):
    frame = pd.read_csv(folder / "sources.csv", dtype=str)
    frame["material"] = "sawdust"
    frame.to_csv(folder / "sources.csv", index=False)
    (folder / "materials.csv").write_text("material\nsawdust\n")
    assert one(read_scenario(folder), "sawdust")["carbon"] == 0.5
    (folder / "materials.csv").write_text("material,name\nsawdust,\nmine,Mine\n")
    (problem,) = faults(folder)
    assert str(problem).startswith(
        "materials.csv, row 3, column 'material': 'mine' has"
    )
    (folder / "materials.csv").write_text("material,moisture_pct\nsawdust,\nmine,50\n")
    assert [p.column for p in faults(folder)] == [
        "carbon_pct",
        "nitrogen_pct",
        "loose_kg_m3",
        "hauled_kg_m3",
    ]


def test_own_figures_stay_and_the_source_tells_them_apart(folder):
    add_material(folder, material="sawdust", moisture_pct="41")
    row = one(read_scenario(folder), "sawdust")
    assert (row["moisture"], row["carbon"]) == (0.41, 0.5)
    assert row["source"].startswith("of the figures left blank: Rynk")
    assert "moisture_pct" not in used(read_scenario(folder), "sawdust")


def test_a_whole_row_of_ones_own_is_left_as_it_stands(folder):
    whole = {"moisture_pct": "60", "carbon_pct": "40", "nitrogen_pct": "2"}
    add_material(
        folder, material="press_mud", loose_kg_m3="700", hauled_kg_m3="720", **whole
    )
    row = one(read_scenario(folder), "press_mud")
    assert isnan(row["keep_hours"])
    assert row["p2o5"] == 0


def test_a_faulty_figure_is_not_papered_over(folder):
    add_material(folder, material="sawdust", moisture_pct="wet")
    (problem,) = faults(folder)
    assert (problem.column, problem.value) == ("moisture_pct", "wet")


def test_a_code_alone_that_nobody_knows_is_one_fault(folder):
    add_material(folder, material="coffee_husk")
    (problem,) = faults(folder)
    assert (problem.column, problem.value) == ("material", "coffee_husk")
    assert "'rice_husk'" not in problem.remedy
    assert "`loamhaul materials`" in problem.remedy


def test_another_material_is_no_spelling(folder):
    edit(folder, "sources", material="coffee_husk")
    (problem,) = faults(folder)
    assert problem.remedy == (
        "Use one of: husk, fish, manure, or add a row to materials: with its figures, "
        "or with only a code of the library (`loamhaul materials` lists them)"
    )
    edit(folder, "sources", material="poultry_liter")
    (problem,) = faults(folder)
    assert problem.remedy == "Write 'poultry_litter' if you meant that"


def test_a_truck_that_carries_what_has_no_row_is_told_to_add_it(folder):
    edit(folder, "trucks", carries="all rice_straw")
    (problem,) = faults(folder)
    assert problem.remedy == (
        "Add a row with only this code to materials: the library has its figures"
    )


@pytest.mark.parametrize(
    ("word", "like"),
    [
        ("rice_huks", "rice_husk"),
        ("ricehusk", "rice_husk"),
        ("RICE-HUSK", "rice_husk"),
        ("fish_waste", "fish_waste_mixed"),
        ("bagase", "bagasse"),
        ("cattle_manur", "cattle_manure"),
        *(
            (word, "")
            for word in ("coffee_husk", "rice_hay", "pig_manure", "wheat_straw")
        ),
        *((word, "") for word in ("rice", "husk", "fish_husk", "maize_straw", "")),
    ],
)
def test_only_a_close_spelling_of_the_same_kind_is_offered(word, like):
    structure = LIBRARY["structure"].to_dict()
    assert nearest_material(word, structure) == like


def test_no_code_of_the_library_is_the_spelling_of_another():
    structure = LIBRARY["structure"].to_dict()
    for code in structure:
        rest = {name: kind for name, kind in structure.items() if name != code}
        assert nearest_material(code, rest) == ""


def test_close_codes_that_differ_in_structure_are_not_offered():
    both = {"rice_husk": True, "rice_tusk": False}
    assert nearest_material("rice_usk", both) == ""
    assert nearest_material("rice_usk", {"rice_husk": True}) == "rice_husk"


def test_the_library_lacks_no_required_figure():
    assert len(stock()) == len(LIBRARY) == 16
