"""Whatever is done to a planner's files: a clean read or a clean list of faults."""

import csv
import io
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.places import DEMO, SMALL

from logistics.scenario.faults import Problem, ScenarioError
from logistics.scenario.scenario import Scenario, read_scenario

SETTINGS = "scenario.toml"
NASTY = [
    "", " ", "0", "-1", "1e999", "-1e999", "nan", "NaN", "inf", "1e308", "-0", "1e-320",
    "12 t", "1,200", "1.200,5", "0,76", "0.76", "3-Apr", "2024-05-01", "12:30", "#REF!",
    "#N/A", "=A1+B2", "yes", "no", "TRUE", "all", "compost", "fish", "husk", "m01",
    "tonnes", "area", "cropped", "open", "a b c", "a;b", '"', '""', "'", "\\", "\x00",
    "\ufeff", "\ufffd", "\u202e", "é", "米", "🐟", "x" * 200_000, "9" * 400, "1_000",
    "０", "--", "...", "1.2.3", "+", "e5", "0x1F", "1e5", "LINESTRING (0 0)",
    "LINESTRING (-30.5 0.5, nan nan)", "POINT (1e300 1e300)",
    "POLYGON ((0 0, 1 1, 0 0))", "GEOMETRYCOLLECTION (" * 50, "POINT EMPTY",
    "LINESTRING (-30.5 0.5, -30.5 0.5)",
    "%s %d {0}", "<b>", "a\nb", "a\rb", "180", "-181", "91", "100.5", "__", "a__b",
]  # fmt: skip
NASTY_TOML = [
    "", "=", "x", "[", "[mix]", "[[mix]]", "mix = 1", "mix.cn_low = 1", "a = [" * 3000,
    "name = 5", 'name = ""', "[mix]\ncn_low = nan", "[mix]\ncn_low = 1e999", "\x00",
    "[solve]\nseconds = 2024-01-01", "[goal]\nminimise = []", "[policy]\nmax_yards = -1",
    "[mix]\nmoisture_low_pct = 0.4", "[district]\nwest = 181", "[mix]\ncn_low = true",
    '"a b" = 1', "[mix.deep]\na = 1", "[solve]\nseed = 99999999999999999999999",
]  # fmt: skip
ENCODINGS = ["utf-8-sig", "utf-16", "utf-16-be", "utf-32", "cp1252", "latin-1", "cp037"]
TALES = {"examples": 0, "read": 0, "faults": 0}

cell = st.one_of(st.sampled_from(NASTY), st.text(max_size=12))
share = st.floats(0, 1, exclude_max=True)


def pick(items, at: float):
    return items[int(at * len(items))]


def table_of(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8", errors="replace"))))


def bytes_of(rows: list[list[str]]) -> bytes:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue().encode("utf-8", errors="replace")


def change_cell(data, a, b, text):
    rows = table_of(data)
    row = pick(rows, a)
    if row:
        row[int(b * len(row))] = text
    return bytes_of(rows)


def change_column(data, a, b, text):
    rows = table_of(data)
    for row in rows[1:]:
        if row:
            row[int(a * len(row))] = text
    return bytes_of(rows)


def drop_row(data, a, b, text):
    rows = table_of(data)
    del rows[int(a * len(rows))]
    return bytes_of(rows)


def double_row(data, a, b, text):
    rows = table_of(data)
    rows.insert(int(b * len(rows)), list(pick(rows, a)))
    return bytes_of(rows)


def keep_one_row(data, a, b, text):
    rows = table_of(data)
    return bytes_of([rows[0], pick(rows, a)])


def drop_column(data, a, b, text):
    rows = table_of(data)
    place = int(a * len(rows[0]))
    return bytes_of([row[:place] + row[place + 1 :] for row in rows])


def rename_column(data, a, b, text):
    rows = table_of(data)
    rows[0][int(a * len(rows[0]))] = text
    return bytes_of(rows)


def double_column(data, a, b, text):
    return bytes_of([[*row, *row[:3]] for row in table_of(data)])


def flip_bytes(data, a, b, text):
    spoilt = bytearray(data)
    for step in range(1 + int(b * 8)):
        spoilt[int((a + step / 9) % 1 * len(spoilt))] ^= 1 << (step + int(b * 100)) % 8
    return bytes(spoilt)


def encode(data, a, b, text):
    return data.decode("utf-8").encode(pick(ENCODINGS, a), errors="replace")


def truncate(data, a, b, text):
    return data[: int(a * len(data))]


def empty(data, a, b, text):
    return b""


def insert(data, a, b, text):
    at = int(a * len(data))
    return data[:at] + text.encode("utf-8", errors="replace") + data[at:]


def swap_delimiter(data, a, b, text):
    return data.replace(b",", pick([b";", b"\t", b"|", b" ", b",,"], a))


def repeat(data, a, b, text):
    return data * (2 + int(a * 3))


MUTATIONS = [
    change_cell, change_cell, change_cell, change_cell, change_column, drop_row,
    double_row, keep_one_row, drop_column, rename_column, double_column, flip_bytes,
    encode, truncate, empty, insert, swap_delimiter, repeat,
]  # fmt: skip
TOML_MUTATIONS = [flip_bytes, encode, truncate, empty, insert, repeat]


@pytest.fixture(scope="module")
def originals() -> list[dict[str, bytes]]:
    folders = [SMALL, SMALL, SMALL, DEMO if DEMO.is_dir() else SMALL]
    wanted = {".csv", ".toml"}
    return [
        {p.name: p.read_bytes() for p in sorted(folder.iterdir()) if p.suffix in wanted}
        for folder in folders
    ]


def outcome(folder: Path) -> Scenario | list[Problem]:
    try:
        return read_scenario(folder)
    except ScenarioError as error:
        return error.problems


def assert_clean(found: Scenario | list[Problem]) -> None:
    if isinstance(found, Scenario):
        return
    assert found
    for problem in found:
        assert problem.file
        assert problem.why.strip()
        assert problem.remedy.strip()
        str(problem).encode("utf-8")


@pytest.mark.slow
@settings(
    max_examples=250,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
)
@given(data=st.data())
def test_mutated_tables_never_crash(originals, data):
    """One to three mutations of the tables; the answer is always a clean one."""
    TALES["examples"] += 1
    files = dict(pick(originals, data.draw(share)))
    for _ in range(data.draw(st.integers(1, 3))):
        name = pick(sorted(files), data.draw(share))
        a, b = data.draw(share), data.draw(share)
        if name == SETTINGS:
            mutate = data.draw(st.sampled_from(TOML_MUTATIONS))
            text = data.draw(
                st.one_of(st.sampled_from(NASTY_TOML), st.text(max_size=9))
            )
        else:
            mutate, text = data.draw(st.sampled_from(MUTATIONS)), data.draw(cell)
        if files[name].strip():
            files[name] = spoil(mutate, files[name], a, b, text)
    with tempfile.TemporaryDirectory() as folder:
        for name, content in files.items():
            (Path(folder) / name).write_bytes(content)
        found = outcome(Path(folder))
    TALES["read" if isinstance(found, Scenario) else "faults"] += 1
    assert_clean(found)


@pytest.mark.parametrize("text", NASTY, ids=lambda text: ascii(text[:20]))
def test_nasty_value_in_every_column(text, tmp_path):
    """Each nasty value stands once in every column of every table."""
    originals = {p.name: p.read_bytes() for p in SMALL.glob("*.csv")}
    shutil.copytree(SMALL, tmp_path, dirs_exist_ok=True)
    for name, content in originals.items():
        rows = table_of(content)
        for place in range(len(rows[0])):
            rows[1 + place % (len(rows) - 1)][place] = text
        (tmp_path / name).write_bytes(bytes_of(rows))
        assert_clean(outcome(tmp_path))
        (tmp_path / name).write_bytes(content)


def spoil(mutate, data: bytes, a: float, b: float, text: str) -> bytes:
    """Mutate; a file already past mutating (no rows, no UTF-8) stays as it is."""
    try:
        return mutate(data, a, b, text)
    except (IndexError, UnicodeDecodeError, csv.Error):
        return data


@pytest.mark.slow
def test_mutations_were_many_and_of_both_outcomes():
    """The test above saw at least 250 cases, and both clean reads and faults."""
    if not TALES["examples"]:
        pytest.skip("the mutation test did not run")
    assert TALES["examples"] >= 250
    assert TALES["read"] >= 12
    assert TALES["faults"] >= 125


@pytest.fixture(scope="module")
def books(tmp_path_factory) -> dict[str, bytes]:
    import geopandas as gpd
    import pandas as pd
    import xlsxwriter

    folder = tmp_path_factory.mktemp("books")
    with xlsxwriter.Workbook(folder / "t.xlsx") as book:
        sheet = book.add_worksheet("yards")
        for row, line in enumerate(table_of((SMALL / "yards.csv").read_bytes())):
            sheet.write_row(row, 0, line)
    frame = pd.read_csv(SMALL / "yards.csv")
    places = gpd.points_from_xy(frame.pop("lon"), frame.pop("lat"), crs=4326)
    layer = gpd.GeoDataFrame(frame, geometry=places)
    layer.to_file(folder / "t.gpkg", layer="yards")
    return {p.name: p.read_bytes() for p in folder.iterdir()}


@pytest.mark.parametrize("name", ["t.xlsx", "t.gpkg"])
@settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
)
@given(a=share, b=share, mutate=st.sampled_from([flip_bytes, truncate, insert, empty]))
def test_damaged_workbooks_and_geopackages_never_crash(books, name, a, b, mutate):
    """Bytes flipped, cut off or pushed in between: never more than faults."""
    with tempfile.TemporaryDirectory() as folder:
        target = Path(shutil.copytree(SMALL, Path(folder) / "s"))
        (target / "yards.csv").unlink()
        (target / name).write_bytes(mutate(books[name], a, b, "\x01nasty"))
        assert_clean(outcome(target))
