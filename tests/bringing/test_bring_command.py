"""`loamhaul bring`: a messy set to tables, kept recipe, next year's file, nothing lost."""

import csv

import openpyxl
import pytest
from support.brought_in import CLEAN
from support.messy import ANSWERS, buyers, herds, mills, write_set, yards
from typer.testing import CliRunner

from logistics.scenario import read_scenario
from maps.commands import app

HEAD = "Mill name,Longitude,Latitude,Rice husk (t)"
SEASON = ("--answer", "mills.csv:values.season=even")


def bring(*arguments):
    return CliRunner().invoke(app, ["bring", *map(str, arguments)])


def answers(*texts):
    return [part for text in texts for part in ("--answer", text)]


def rows(file):
    with file.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def mill_file(folder, extra="", head=HEAD, name="mills.csv"):
    lines = "".join(f"{n},{x},{y},{t}\n" for n, x, y, t in CLEAN)
    (folder / name).write_text(f"{head}\n{lines}{extra}", encoding="utf-8")
    return folder / name


@pytest.fixture(scope="module")
def messy(tmp_path_factory):
    """The set brought into a new district: what was said, its folder, the files."""
    place = tmp_path_factory.mktemp("messy")
    files = write_set(place / "office")
    before = [file.read_bytes() for file in files]
    asked = bring(*files, place / "lowland")
    done = bring(*files, place / "lowland", *answers(*ANSWERS), "--yes")
    assert [file.read_bytes() for file in files] == before
    return asked, done, place / "lowland", files


def test_first_it_proposes_and_asks(messy):
    asked = messy[0]
    assert asked.exit_code == 1
    for answer in ANSWERS:
        key = answer.rpartition("=")[0].replace("yards.gpx", "waypoints")
        assert f"? {key}\n" in asked.stdout
    assert "Row 33 left out: a total ('TOTAL')." in asked.stdout
    assert "8 questions to answer first" in asked.stdout


def test_then_every_number_is_right(messy):
    _, done, folder, _ = messy
    assert done.exit_code == 0, done.output
    sources = {row["name"]: row for row in rows(folder / "sources.csv")}
    assert len(sources) == len(mills()) + len(herds())
    for name, lon, lat, tonnes in mills():
        row = sources[name]
        assert [float(row[c]) for c in ("lon", "lat", "amount")] == [lon, lat, tonnes]
        assert (row["basis"], row["material"]) == ("tonnes", "rice_husk")
    for name, lon, lat, accuracy, head in herds():
        row = sources[name]
        assert [float(row[c]) for c in ("lon", "lat", "amount")] == [lon, lat, head]
        assert (row["basis"], row["kg_per_head_day"]) == ("animals", "12")
        assert float(row["note_accuracy_m"]) == accuracy
    places = [
        (r["name"], float(r["lon"]), float(r["lat"]))
        for r in rows(folder / "yards.csv")
    ]
    assert places == yards()
    for row, (_, lon, lat, acres, price) in zip(
        rows(folder / "markets.csv"), buyers(), strict=True
    ):
        assert (float(row["lon"]), float(row["lat"])) == (lon, lat)
        assert float(row["amount"]) == pytest.approx(acres * 0.40468564224)
        assert float(row["price_per_t"]) == price
    assert sources["Kelwick mill"]["note_origin"] == "harvest.xlsx, Mills 2026, row 5"


def test_the_scenario_can_be_read_and_nothing_invented_is_left(messy):
    _, done, folder, _ = messy
    scenario = read_scenario(folder)
    assert scenario.settings.name == "lowland"
    assert scenario.settings.district.west == pytest.approx(-31.35, abs=0.01)
    assert "3 of the examples taken out" in done.stdout
    assert not {"mill", "pier", "herd"} & set(scenario.tables["sources"]["source"])


def test_brought_again_nothing_changes(messy):
    _, _, folder, files = messy
    before = {p.name: p.read_bytes() for p in folder.glob("*.csv")}
    again = bring(*files, folder, "--yes")
    assert "sources, rows to write: 40 as before" in again.stdout
    assert {p.name: p.read_bytes() for p in folder.glob("*.csv")} == before


def test_next_year_keeps_codes_and_says_what_changed(tmp_path):
    """Another file, columns in another order, one mill more, one renamed in case only."""
    bring(mill_file(tmp_path), tmp_path / "d", *SEASON, "--yes")
    table = tmp_path / "d" / "sources.csv"
    table.write_text(
        table.read_text(encoding="utf-8").replace("even,,", "even,7,", 1),
        encoding="utf-8",
    )
    lines = "Rice husk (t),Mill name,Latitude,Longitude\n1300,NORTH MILL,-0.9,-31.1\n850.5,Río mill,-1.0,-31.2\n40,New mill,-0.8,-31.3\n"
    (tmp_path / "mills 2027.csv").write_text(lines, encoding="utf-8")
    told = bring(tmp_path / "mills 2027.csv", tmp_path / "d", "--yes")
    assert told.exit_code == 0, told.output
    assert (
        "sources, rows to write: 1 added, 1 changed, 1 as before, 1 in no file kept"
        in told.stdout
    )
    assert "north_mill: amount 1200 → 1300" in told.stdout
    found = {r["source"]: r for r in rows(table)}
    assert list(found) == ["north_mill", "rio_mill", "south_mill", "new_mill"]
    assert (found["north_mill"]["amount"], found["north_mill"]["price_per_t"]) == (
        "1300",
        "7",
    )
    assert found["south_mill"]["note_origin"] == "mills.csv, row 4"
    assert found["north_mill"]["note_origin"] == "mills 2027.csv, row 2"


def test_a_heading_that_is_gone_is_asked_about(tmp_path):
    bring(mill_file(tmp_path), tmp_path / "d", *SEASON, "--yes")
    before = (tmp_path / "d" / "sources.csv").read_bytes()
    told = bring(
        mill_file(tmp_path, head=HEAD.replace("Rice husk", "Straw")),
        tmp_path / "d",
        "--yes",
    )
    assert told.exit_code == 1
    assert (
        "Which column is amount? 'Rice husk (t)' is not there any more" in told.output
    )
    assert (tmp_path / "d" / "sources.csv").read_bytes() == before


def test_twins_are_faults_until_they_are_confirmed(tmp_path):
    file = mill_file(tmp_path, "Old mill,-31.1002,-0.9,700\n")
    told = bring(file, tmp_path / "d", *SEASON, "--yes")
    assert told.exit_code == 1
    assert "lies 22 m from 'North mill' (mills.csv, row 2)" in told.output
    assert not (tmp_path / "d" / "sources.csv").exists()
    sure = answers("mills.csv:both=Old mill = North mill")
    assert bring(file, tmp_path / "d", *SEASON, *sure, "--yes").exit_code == 0
    assert len(rows(tmp_path / "d" / "sources.csv")) == 4
    assert bring(file, tmp_path / "d", "--yes").exit_code == 0


def test_without_a_yes_only_the_recipe_is_written(tmp_path):
    told = bring(mill_file(tmp_path), tmp_path / "d", *SEASON)
    assert told.exit_code == 0
    assert [path.name for path in (tmp_path / "d").iterdir()] == ["bring.toml"]
    assert "Add --yes to write the tables." in told.stdout


def test_a_file_that_cannot_be_written_leaves_all_as_they_were(tmp_path, monkeypatch):
    bring(mill_file(tmp_path), tmp_path / "d", *SEASON, "--yes")
    before = {p.name: p.read_bytes() for p in (tmp_path / "d").iterdir()}
    from pathlib import Path

    replace = Path.replace

    def fail(self, target):
        if target.name == "bring.toml":
            raise PermissionError(13, "Permission denied", str(target))
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", fail)
    told = bring(
        mill_file(tmp_path, "New mill,-31.3,-0.8,4\n"), tmp_path / "d", "--yes"
    )
    assert told.exit_code == 2
    assert {p.name: p.read_bytes() for p in (tmp_path / "d").iterdir()} == before


def test_a_workbook_of_tables_is_written_to_as_well(tmp_path):
    """A scenario made with `new --format xlsx` stays one workbook."""
    CliRunner().invoke(app, ["new", str(tmp_path / "d"), "--format", "xlsx"])
    told = bring(mill_file(tmp_path), tmp_path / "d", *SEASON, "--yes")
    assert told.exit_code == 0, told.output
    book = openpyxl.load_workbook(tmp_path / "d" / "tables.xlsx")
    names = [row[1] for row in book["sources"].iter_rows(min_row=2, values_only=True)]
    assert [name for name in names if name] == [name for name, *_ in CLEAN]
    yards = [row[0] for row in book["yards"].iter_rows(min_row=2, values_only=True)]
    assert yards == ["e.g. yard_a", "e.g. yard_b"]  # never read
    filled = [cell for cell in book["sources"][2] if cell.value]
    assert not any(cell.protection.locked for cell in filled)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["d"], "Name the files first, then the folder of the scenario."),
        (["no.csv", "d"], "There is no file no.csv. Name files, then DIR."),
    ],
)
def test_wrong_usage_is_told(arguments, said):
    told = bring(*arguments)
    assert (told.exit_code, told.stderr) == (2, said + "\n")


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        ("Mils:values.season=even", "--answer: 'Mils' is the name of no sheet"),
        ("mills.csv:colums.x=1", "goes to nothing in mills.csv"),
        ("mills.csv:table=sorces", "is not a table"),
        ("even", "'even' is not an answer"),
    ],
)
def test_an_answer_to_nothing_is_a_fault(answer, said, tmp_path):
    told = bring(mill_file(tmp_path), tmp_path / "d", "--answer", answer)
    assert told.exit_code == 1
    assert said in told.stderr


def test_an_example_that_was_made_ones_own_stays(tmp_path):
    """Only rows as the starter has them give way."""
    bring(mill_file(tmp_path), tmp_path / "d", *SEASON)
    CliRunner().invoke(app, ["new", str(tmp_path / "d")])
    yards = tmp_path / "d" / "yards.csv"
    yards.write_text(
        yards.read_text(encoding="utf-8").replace("Example site A", "Old quarry"),
        encoding="utf-8",
    )
    told = bring(mill_file(tmp_path), tmp_path / "d", "--yes")
    assert "3 of the examples taken out" in told.stdout
    assert [row["name"] for row in rows(yards)] == ["Old quarry", "Example site B"]


def test_a_name_cannot_steer_the_terminal(tmp_path):
    head = HEAD.replace("Rice husk", "Rice husk \x1b[31m")
    told = bring(
        mill_file(tmp_path, "\x1b[2Jmill,-31.3,-0.8,many\n", head=head), tmp_path / "d"
    )
    assert "\x1b" not in told.output
