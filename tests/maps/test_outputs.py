"""Tables, summary and the way files are put in place."""

import json
import os
from pathlib import Path

import pandas as pd
import pytest
from support.fake_result import HOSTILE, result, table

from maps import outputs
from maps.geo.geopackage import layers
from maps.geo.map_contents import map_data
from maps.outputs import OUTPUTS, write_outputs
from maps.shared import swapping
from maps.shared.output_folder import check_out, whole_set
from maps.tables.all_tables import TABLES, tables
from maps.tables.flows import collected_by_material, collection
from maps.tables.money import budget


def contents(folder):
    """Every file below a folder with its bytes."""
    files = sorted(path for path in Path(folder).rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


@pytest.fixture
def light(monkeypatch):
    """Every output holds but the name of the district: only the places matter."""

    def write(planned, path):
        if path.name == "plan.csv":
            path.mkdir()
            path /= "supply.csv"
        path.write_text(planned.scenario.settings.name, encoding="utf-8")

    for name in OUTPUTS:
        monkeypatch.setitem(outputs.OUTPUTS, name, write)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """All outputs, in a folder of their own in another folder."""
    out = tmp_path_factory.mktemp("written") / "out"
    write_outputs(result(), out)
    return out


def test_all_outputs_are_written(written):
    assert sorted(os.listdir(written)) == sorted(OUTPUTS)
    made = {path.stem for path in (written / "plan.csv").iterdir()}
    assert made == set(TABLES)
    assert os.listdir(written.parent) == ["out"]


@pytest.mark.slow
def test_same_plan_gives_same_bytes(written, tmp_path):
    """A report can be repeated: nothing in the files depends on clock or chance."""
    write_outputs(result(), tmp_path / "b")
    assert contents(written) == contents(tmp_path / "b")


@pytest.mark.parametrize("name", OUTPUTS)
def test_killed_run_leaves_the_old_outputs_whole(tmp_path, light, monkeypatch, name):
    out = tmp_path / "out"
    write_outputs(result(), out)
    before = contents(out)

    def killed(*_):
        raise KeyboardInterrupt

    monkeypatch.setitem(outputs.OUTPUTS, name, killed)
    with pytest.raises(KeyboardInterrupt):
        write_outputs(result(name="Another"), out)
    assert contents(out) == before
    assert os.listdir(tmp_path) == ["out"]


def test_file_that_cannot_be_moved_undoes_the_swap(tmp_path, light, monkeypatch):
    """A workbook held open by a spreadsheet program leaves no mixture behind."""
    out = tmp_path / "out"
    write_outputs(result(), out)
    before = contents(out)
    rename = Path.rename

    def held(self, target):
        if self.name == "plan.gpkg" and self.parent.name == "new":
            raise PermissionError(self.name)
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", held)
    with pytest.raises(PermissionError):
        write_outputs(result(name="Another"), out)
    assert contents(out) == before


def test_other_files_in_the_folder_stay(tmp_path, light):
    (tmp_path / "notes.txt").write_text("mine")
    write_outputs(result(), tmp_path)
    write_outputs(result(name="Another"), tmp_path)
    assert (tmp_path / "notes.txt").read_text() == "mine"
    assert "Another" in (tmp_path / "map.html").read_text(encoding="utf-8")


def kept(folder, command, *names):
    """Write files of a set by a command, and return what then is in the folder."""
    with whole_set(folder, command) as made:
        for name in names:
            (made / name).parent.mkdir(parents=True, exist_ok=True)
            (made / name).write_text("new", encoding="utf-8")
    return contents(folder)


def test_what_a_run_no_longer_writes_goes(tmp_path):
    """An old compare.html beside new tables would tell of another run."""
    kept(tmp_path, "compare", "compare.html", "compare.xlsx", "compare.csv/money.csv")
    found = kept(tmp_path, "compare", "compare.xlsx", "compare.csv/overview.csv")
    assert set(found) == {"compare.xlsx", "compare.csv/overview.csv"}


def test_what_is_not_of_the_set_stays(tmp_path):
    """Notes, other commands' outputs and prints among the tables are the user's."""
    mine = ["compare.pdf", "stress.html", "compare.csv/notes.txt", "sub/compare.html"]
    for name in mine:
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text("mine", encoding="utf-8")
    kept(tmp_path, "compare", "compare.html", "compare.csv/money.csv")
    found = kept(tmp_path, "compare", "compare.xlsx")
    assert found == {**dict.fromkeys(mine, b"mine"), "compare.xlsx": b"new"}


def test_a_folder_of_the_set_left_empty_goes(tmp_path):
    """No empty compare.csv remains of an older run."""
    kept(tmp_path, "compare", "compare.csv/money.csv")
    kept(tmp_path, "compare", "compare.xlsx")
    assert os.listdir(tmp_path) == ["compare.xlsx"]


def test_a_folder_in_place_of_a_file_is_not_taken_away(tmp_path):
    """A folder that somebody called compare.html holds what is not ours."""
    (tmp_path / "compare.html").mkdir()
    with pytest.raises(IsADirectoryError, match="is a folder"):
        kept(tmp_path, "compare", "compare.html")
    assert (tmp_path / "compare.html").is_dir()


def test_an_output_that_no_list_names_is_a_fault_of_ours(tmp_path):
    """It could never be taken away again, so nothing is written."""
    with pytest.raises(RuntimeError, match=r"other\.html must be named in SETS"):
        kept(tmp_path, "compare", "other.html")
    assert not contents(tmp_path)


def test_work_is_done_on_the_disk_of_the_outputs(tmp_path, light, monkeypatch):
    """A folder whose parent may not be written to, or on a disk of its own, is fine."""
    places, make = [], swapping.tempfile.mkdtemp

    def seen(**options):
        places.append(options["dir"])
        return make(**options)

    monkeypatch.setattr(swapping.tempfile, "mkdtemp", seen)
    write_outputs(result(), tmp_path / "out")
    write_outputs(result(), tmp_path / "out")
    assert places == [tmp_path, tmp_path / "out"]


def test_compost_sent_in_a_month_that_makes_none_is_counted():
    """A month with neither fresh compost nor a rest has no row in the plan."""
    planned = result()
    rest = planned.plan.compost.assign(stock_t=0.0)
    rest = rest[rest["period"] != "cool"]
    made = TABLES["compost"](result(compost=rest))
    sent = planned.plan.deliveries["tonnes"].sum()
    assert made["delivered [t]"].sum() == pytest.approx(sent)
    assert list(made["period"]) == ["Dry season", "Wet season", "cool"]


def test_same_names_are_told_apart():
    """Two materials of one name are two columns, two yards two names."""
    planned = result()
    for kind in ("materials", "yards"):
        planned.scenario.tables[kind]["name"] = "Same"
    made = TABLES["yards"](planned)
    assert list(made["name"]) == ["Same (hill)", "Same (shore)"]
    columns = [f"Same ({code}) taken in [t/yr]" for code in ("husk", "fish")]
    assert made[columns].to_numpy().sum() == pytest.approx(450)
    charged = [f"Same ({code}) charged [t]" for code in ("husk", "fish")]
    assert TABLES["mixes"](planned)[charged].to_numpy().sum() == pytest.approx(450)


def test_material_named_like_a_column_is_no_mixture():
    planned = result()
    planned.scenario.tables["materials"]["name"] = ["intake", "charge", "compost made"]
    yards = TABLES["yards"](planned).set_index("yard")
    assert yards.loc["hill", "intake [t/yr]"] == 450
    assert yards.loc["hill", "compost made [t/yr]"] == 240
    assert TABLES["mixes"](planned)["charge [t]"].sum() == pytest.approx(450)


def test_lane_over_two_roads_has_their_mean_length():
    """A road that closes makes a lane longer for a season: km is the mean of trips."""
    planned = result()
    lanes = planned.lanes
    first = lanes["origin"] == lanes["origin"].iloc[0]
    lanes.loc[first & (lanes["period"] == "wet"), "km"] += 30
    year = lanes[first]
    mean = (year["km"] * year["trips"]).sum() / year["trips"].sum()
    drawn = layers(planned)["lanes"].set_index("origin")
    assert drawn.loc[lanes["origin"].iloc[0], "km"] == pytest.approx(mean)
    shown = {lane["from"]: lane["km"] for lane in map_data(planned)["lanes"]}
    assert shown[lanes["origin"].iloc[0]] == pytest.approx(mean, abs=0.06)


def test_file_in_place_of_the_folder_is_told_at_once(tmp_path):
    (tmp_path / "out").write_text("a file")
    with pytest.raises(NotADirectoryError, match="is a file; name a folder"):
        check_out(tmp_path / "out")


def test_outputs_do_not_go_beside_the_tables_of_a_district(tmp_path):
    """The next run would read plan.xlsx and plan.gpkg as tables."""
    (tmp_path / "scenario.toml").write_text('name = "x"')
    with pytest.raises(FileExistsError, match="holds the tables of a district"):
        check_out(tmp_path)
    check_out(tmp_path / "out")
    check_out(tmp_path / "elsewhere" / "out")


def test_summary_is_plain_and_sorted(tmp_path):
    planned = result()
    planned.summary["cn_max"] = float("nan")
    planned.summary["yards_open"] = pd.Series([1]).iloc[0]
    outputs.write_summary(planned, tmp_path / "summary.json")
    text = (tmp_path / "summary.json").read_text(encoding="utf-8")
    read = json.loads(text, parse_constant=lambda name: pytest.fail(name))
    assert list(read) == sorted(read)
    assert read["cn_max"] is None
    assert read["yards_open"] == 1
    assert read["collected_t"]["all"] == 450


@pytest.mark.slow
def test_numbers_of_a_table_carry_their_unit():
    """Every number column says its unit in brackets, ratios and counts apart."""
    plain = {"quantity", "rows checked", "worst breach", "allowed"}
    for name, made in tables(result()).items():
        if name == "shortages":
            continue  # the unit stands in a column of its own
        for heading in made.select_dtypes("number").columns:
            ratio = heading.endswith("C:N")
            assert "[" in heading or ratio or heading in plain, (name, heading)


@pytest.mark.slow
def test_empty_plan_still_gives_every_output(tmp_path):
    """No yard pays: nothing is hauled, and every file says so."""
    planned = result()
    frames = ["lanes", "mixes", "ledger"]
    for frame in frames:
        setattr(planned, frame, getattr(planned, frame).iloc[:0])
    empty = {
        name: value.iloc[:0]
        for name, value in vars(planned.plan).items()
        if isinstance(value, pd.DataFrame) and name != "uncollected"
    }
    planned = result(**empty)
    for frame in frames:
        setattr(planned, frame, getattr(planned, frame).iloc[:0])
    write_outputs(planned, tmp_path / "out")
    yards = pd.read_csv(tmp_path / "out" / "plan.csv" / "yards.csv")
    assert list(yards["status"]) == ["unused", "unused"]
    assert yards["intake [t/yr]"].sum() == 0


def test_tonnes_of_the_tables_add_up():
    planned = result()
    yards = TABLES["yards"](planned).set_index("yard")
    assert yards.loc["hill", "intake [t/yr]"] == 450
    assert yards.loc["hill", "Fish waste taken in [t/yr]"] == 150
    assert yards.loc["hill", "wettest mix [% water]"] == pytest.approx(58)
    year = collection(planned).sum(numeric_only=True)
    assert year["supply"] == pytest.approx(540)
    assert year["collected"] + year["uncollected"] == pytest.approx(year["supply"])
    assert collected_by_material(planned).loc["straw", "supply"] == pytest.approx(90)
    assert budget(planned)["amount [shells/yr]"].sum() == pytest.approx(10_000)


def test_supply_keeps_its_reckoning_in_words():
    row = TABLES["supply"](result()).set_index("source").loc["port"]
    assert row["how the supply was reckoned"].startswith("300 t processed x 50 %")
    assert row["where the figures come from"] == "made up"


def test_defaults_are_flagged():
    table_ = TABLES["assumptions"](result()).set_index("item")
    assert table_.loc["mix.cn_high", "standing"] == "default, not local"
    assert table_.loc["mix.cn_low", "standing"] == "stated by the scenario"
    assert table_.loc["mix.density_high_kg_m3", "value"] == "off"
    assert table_.loc["mix.moisture_low_pct", "value"] == 45
    assert "Run-off" in table_.index


@pytest.mark.slow
def test_names_stay_as_they_are_in_csv(tmp_path):
    outputs.write_tables(result(name=HOSTILE), tmp_path / "t")
    supply = pd.read_csv(tmp_path / "t" / "supply.csv")
    assert supply["name"].iloc[0] == HOSTILE


def test_shortages_are_written(tmp_path):
    short = table(
        limit=["least"],
        what=["least share"],
        where=["fish"],
        when=["year"],
        amount=[12.0],
        unit=["t"],
    )
    made = TABLES["shortages"](result(status="shortage", shortages=short))
    assert made["amount"].iloc[0] == 12
