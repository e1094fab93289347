"""ZIP files, workbooks, names from elsewhere: what is refused, beside what is not."""

import io
import stat
import struct
import sys
import time
import zipfile
from dataclasses import replace

import pytest
from support.places import SMALL

from maps.desk.apart import answer_within, brought_apart
from maps.desk.archive import LIMITS, ZipFault, ZipLimits, pack, unpack
from maps.desk.beginnings import begin, from_share, from_workbook, name_for
from maps.desk.book import order_plan, plans
from maps.desk.share import files_to_share
from maps.desk.shelf import NameFault, NotThere, Shelf, inside, open_shelf, safe_name
from maps.desk.workbooks import check_workbook


def zipped(path, files, **more):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in files.items():
            info = zipfile.ZipInfo(name)
            info.filename = info.orig_filename = name  # as it is, climbing or not
            info.compress_type = zipfile.ZIP_DEFLATED
            for key, value in more.items():
                setattr(info, key, value)
            made.writestr(info, content)
    return path


@pytest.fixture
def target(tmp_path):
    folder = tmp_path / "target"
    folder.mkdir()
    return folder


def refused(tmp_path, target, files, words, limits=LIMITS, **more):
    path = zipped(tmp_path / "a.zip", files, **more)
    with pytest.raises(ZipFault, match=words):
        unpack(path, target, limits)
    assert list(target.rglob("*")) == []
    assert {entry.name for entry in tmp_path.iterdir()} == {"a.zip", "target"}


def test_a_plain_zip_is_unpacked_as_it_is(tmp_path, target):
    path = zipped(tmp_path / "a.zip", {"a.csv": "x\n", "b/c.csv": "y\n"})
    unpack(path, target)
    assert (target / "b" / "c.csv").read_text() == "y\n"


@pytest.mark.parametrize(
    "name",
    [
        "../a.csv",
        "b/../../a.csv",
        "/etc/a.csv",
        "C:/a.csv",
        "b\\..\\..\\a.csv",
        "b//a.csv",
        "./a.csv",
        ".hidden/a.csv",
        "nul.csv",
        "com1.txt/a.csv",
        "a.csv\x00.exe",
        "a.csv:stream.csv",
        "a .csv/ b.csv",
    ],
)
def test_a_name_that_leaves_the_folder_or_is_no_name_is_refused(tmp_path, target, name):
    refused(tmp_path, target, {name: "x"}, "holds a name it may not")


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFIFO, stat.S_IFCHR])
def test_a_link_or_device_is_refused(tmp_path, target, kind):
    attributes = (kind | 0o777) << 16
    words = "a link or a device"
    files = {"a.csv": "/etc/passwd"}
    refused(tmp_path, target, files, words, external_attr=attributes)


@pytest.mark.parametrize("name", ["a.exe", "a.py", "a.desktop", "a", "a.csv.sh"])
def test_a_kind_of_file_that_no_scenario_has_is_refused(tmp_path, target, name):
    refused(tmp_path, target, {name: "x"}, "a kind of file")


def test_two_files_of_one_name_are_refused(tmp_path, target):
    refused(tmp_path, target, {"a.csv": "x", "A.csv": "y"}, "twice")
    words = "below a file"
    refused(tmp_path, target, {"a.csv": "x", "a.csv/b.csv": "y"}, words)


def test_too_many_files_are_refused(tmp_path, target):
    limits = ZipLimits(files=3)
    files = {f"{i}.csv": "x" for i in range(4)}
    refused(tmp_path, target, files, "holds 4 files; 3 are the most", limits)
    files.popitem()
    unpack(zipped(tmp_path / "a.zip", files), target, limits)
    assert len(list(target.iterdir())) == 3


def test_too_deep_folders_are_refused(tmp_path, target):
    refused(tmp_path, target, {"a/b/c/d/e/f.csv": "x"}, "6 deep; 5 is the most")
    unpack(zipped(tmp_path / "a.zip", {"a/b/c/d/f.csv": "x"}), target)


def test_a_bomb_is_refused_before_it_is_unpacked(tmp_path, target):
    """A million equal signs pack a thousand times smaller."""
    files = {"a.csv": "0" * 1_000_001}
    refused(tmp_path, target, files, "times its size")
    unpack(zipped(tmp_path / "a.zip", {"a.csv": "0" * 1_000_000}), target)


def test_many_small_bombs_are_one(tmp_path, target):
    files = {f"{i}.csv": "0" * 300_000 for i in range(4)}
    refused(tmp_path, target, files, r"times its size \(all\)")


def test_what_is_too_large_in_all_is_refused(tmp_path, target):
    limits = replace(LIMITS, whole=100)
    refused(
        tmp_path, target, {"a.csv": "x" * 60, "b.csv": "x" * 41}, "are the most", limits
    )
    path = zipped(tmp_path / "a.zip", {"a.csv": "x" * 60, "b.csv": "x" * 40})
    unpack(path, target, limits)


def test_no_more_is_read_than_was_said(tmp_path, target):
    """Sizes in both headers are written over; the checksum stays that of the whole."""
    path = zipped(tmp_path / "a.zip", {"a.csv": "0" * 900_000})
    raw = bytearray(path.read_bytes())
    size = struct.pack("<I", 900_000)
    while (place := raw.find(size)) >= 0:
        raw[place : place + 4] = struct.pack("<I", 5)
    path.write_bytes(raw)
    with pytest.raises(ZipFault, match=r"damaged|more than it says"):
        unpack(path, target)
    assert sum(f.stat().st_size for f in target.iterdir()) <= 5


def test_a_password_and_other_packings_are_refused(tmp_path, target):
    path = zipped(tmp_path / "a.zip", {"a.csv": "x"})
    raw = bytearray(path.read_bytes())
    place = raw.find(b"PK\x01\x02")
    raw[place + 8] |= 1
    path.write_bytes(raw)
    with pytest.raises(ZipFault, match="password"):
        unpack(path, target)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_LZMA) as made:
        made.writestr("a.csv", "x")
    with pytest.raises(ZipFault, match="packed in a way"):
        unpack(path, target)


def test_what_is_no_zip_is_said_so(tmp_path, target):
    path = tmp_path / "a.zip"
    path.write_bytes(b"PK\x03\x04 but no more")
    with pytest.raises(ZipFault, match="cannot be opened"):
        unpack(path, target)


# Share files


@pytest.fixture
def shelf(tmp_path):
    folder = tmp_path / "shelf"
    folder.mkdir()
    return Shelf(folder)


def small_share(tmp_path, extra=()):
    files = {p.name: p.read_bytes() for p in SMALL.iterdir() if p.is_file()}
    return zipped(tmp_path / "s.zip", files | dict(extra))


def bring(shelf, file):
    return begin(shelf, "brought", lambda folder: from_share(file, folder))


def test_a_shared_scenario_is_the_same_in_another_office(tmp_path, shelf):
    first = shelf.folder / "small"
    first.mkdir()
    for path in SMALL.iterdir():
        (first / path.name).write_bytes(path.read_bytes())
    entry = order_plan(first, {"solve.seconds": 5.0})
    packed = io.BytesIO()
    pack(packed, files_to_share(first, entry))
    again = io.BytesIO()
    pack(again, files_to_share(first, entry))
    assert packed.getvalue() == again.getvalue()
    file = tmp_path / "s.zip"
    file.write_bytes(packed.getvalue())
    place = bring(shelf, file)
    for path in SMALL.iterdir():
        assert (place / path.name).read_bytes() == path.read_bytes()
    assert [one.code for one in plans(place)] == [entry.code]


def test_a_shared_plan_is_never_set_to_work_by_itself(tmp_path, shelf):
    order = ("plans/p1/order.json", '{"at": 1, "asked": {}, "run": "rm -r"}')
    place = bring(shelf, small_share(tmp_path, [order]))
    [entry] = plans(place)
    assert not entry.under_way
    assert "run" not in entry.order


@pytest.mark.parametrize(
    "name",
    [
        "map.html",
        "x/a.csv",
        "changes/a.csv",
        "changes/x/a.toml",
        "plans/a.json",
        "plans/p1/worker.html",
        "plans/p1/first/map.html",
        "plans/p1/inputs/map.html",
    ],
)
def test_a_share_file_holds_nothing_it_should_not(tmp_path, shelf, name):
    with pytest.raises(ZipFault, match="which no share file has"):
        bring(shelf, small_share(tmp_path, [(name, "x")]))
    assert list(shelf.folder.iterdir()) == []


def test_a_zip_without_settings_is_no_share_file(tmp_path, shelf):
    file = zipped(tmp_path / "s.zip", {"sources.csv": "source\n"})
    with pytest.raises(ZipFault, match="no share file"):
        bring(shelf, file)


# Workbooks

SHEET = "xl/worksheets/sheet1.xml"


def workbook(tmp_path, sheet="<row/>", more=()):
    files = {"[Content_Types].xml": "<x/>", "xl/workbook.xml": "<x/>", SHEET: sheet}
    return zipped(tmp_path / "a.xlsx", files | dict(more))


def test_rows_and_cells_of_a_workbook_are_counted(tmp_path):
    sheet = "<row r='1'><c r='A1'/><c>1</c></row><row><c/></row><cols/><rowBreaks/>"
    path = workbook(tmp_path, sheet)
    check_workbook(path, rows=2, cells=3)
    with pytest.raises(ZipFault, match="holds 2 rows; 1 are the most"):
        check_workbook(path, rows=1)
    with pytest.raises(ZipFault, match="holds 3 cells; 2 are the most"):
        check_workbook(path, cells=2)


def test_rows_cut_in_two_by_reading_are_counted_once(tmp_path):
    rows = 40_000
    path = workbook(tmp_path, "".join(f"<row r='{i * 7919}'/>" for i in range(rows)))
    check_workbook(path, rows=rows)
    with pytest.raises(ZipFault, match="holds 40,000 rows"):
        check_workbook(path, rows=rows - 1)


@pytest.mark.parametrize("mark", ["<!DOCTYPE x>", "<!ENTITY a 'b'>"])
def test_definitions_that_may_multiply_are_refused(tmp_path, mark):
    with pytest.raises(ZipFault, match="definitions of its own"):
        check_workbook(workbook(tmp_path, more=[("xl/styles.xml", mark)]))


def test_a_workbook_that_is_a_bomb_is_refused(tmp_path):
    with pytest.raises(ZipFault, match="times its size"):
        check_workbook(workbook(tmp_path, "<row/>" * 400_000))


def test_what_is_no_workbook_is_refused(tmp_path):
    with pytest.raises(ZipFault, match="is not a workbook"):
        check_workbook(zipped(tmp_path / "a.xlsx", {"a.xml": "<x/>"}))


def test_no_formula_of_a_workbook_is_run(tmp_path, shelf):
    """A formula counts as the value it last had; one that never ran is a fault."""
    import openpyxl

    from maps.desk.seen import look

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "sources"
    sheet.append(["source", "lon", "lat", "amount"])
    sheet.append(["a", -30.5, 0.5, '=HYPERLINK("http://192.0.2.1/","x")'])
    sheet.append(["b", -30.4, 0.6, "=cmd|'/c calc'!A0"])
    file = tmp_path / "own.xlsx"
    book.save(file)
    place = begin(shelf, "own", lambda f: from_workbook(file, f, "own"))
    seen = look(place)
    told = [line for line in seen.faults if "amount" in line and "formula" in line]
    assert len(told) == 2
    assert len([p for p in seen.places if p[0] == "source"]) == 2
    assert "west = -30.550" in (place / "scenario.toml").read_text()


# Time


@pytest.mark.parametrize(("seconds", "said"), [(20.0, "read"), (0.4, None)])
def test_a_program_that_takes_longer_than_its_time_is_ended(tmp_path, seconds, said):
    """It waits for a second before it reads: within 20 s, not within 0.4 s."""
    mark = tmp_path / "went on"
    code = (
        f"import time; time.sleep(1); open({str(mark)!r}, 'w'); print('read', end='')"
    )
    command = (sys.executable, "-S", "-c", code)
    assert answer_within(command, "", seconds) == said
    time.sleep(0 if said else 1.2)
    assert mark.exists() is (said is not None)


def test_a_workbook_has_its_time_and_no_more(tmp_path, shelf):
    """The desk's folder is as it was where the time was too short."""
    import openpyxl

    book = openpyxl.Workbook()
    book.active.title = "sources"
    for row in [["source", "lon", "lat"], *(["a", -30.5, 0.5] for _ in range(200))]:
        book.active.append(row)
    file = tmp_path / "own.xlsx"
    book.save(file)
    before = sorted(shelf.folder.rglob("*"))

    def bring(seconds):
        def fill(folder):
            brought_apart("workbook", file, folder, "own", seconds)

        return begin(shelf, "own", fill)

    with pytest.raises(ZipFault, match=r"takes longer than 0\.01 s to read"):
        bring(0.01)
    assert sorted(shelf.folder.rglob("*")) == before
    assert (bring(60.0) / "tables.xlsx").read_bytes() == file.read_bytes()


def test_what_is_wrong_with_a_file_is_told_by_the_program_that_reads_it(
    tmp_path, shelf
):
    strange = zipped(tmp_path / "a.xlsx", {"a.xml": "<x/>"})
    with pytest.raises(ZipFault, match="is not a workbook"):
        begin(shelf, "a", lambda f: brought_apart("workbook", strange, f, "a"))
    with pytest.raises(ZipFault, match="the program that reads it ended"):
        begin(shelf, "a", lambda f: brought_apart("no way", strange, f, "a"))
    assert list(shelf.folder.glob(".new-*")) == []


# Names


@pytest.mark.parametrize(
    "name",
    [
        "",
        " ",
        ".",
        "..",
        ".hidden",
        "~x",
        "a/b",
        "a\\b",
        "a:b",
        "a\x00b",
        "a\nb",
        "a*",
        'a"b',
        "CON",
        "nul.csv",
        "Lpt1.txt",
        "COM¹",
        "a.",
        "a ",
        "x" * 81,
    ],
)
def test_a_name_that_is_none_on_some_system_is_refused(shelf, name):
    with pytest.raises(NameFault):
        safe_name(name)
    with pytest.raises(NameFault):
        shelf.free(name)


@pytest.mark.parametrize(
    "name", ["a", "Ñandú 2027", "console", "com10", "x" * 80, "a.b"]
)
def test_other_names_are_taken_as_they_are(shelf, name):
    assert shelf.free(name) == shelf.folder / name


def test_a_taken_name_is_refused_in_any_letters(shelf):
    (shelf.folder / "Delta").mkdir()
    with pytest.raises(NameFault, match="already"):
        shelf.free("dELTA")


@pytest.mark.parametrize(
    "name",
    ["../../x.xlsx", "C:\\x\\..\\.xlsx", "nul.zip", "a\x00b.zip", "🐟.share.zip"],
)
def test_the_name_of_a_file_brought_in_makes_a_plain_name(name):
    assert safe_name(name_for(name))


# Links


def test_links_lead_nowhere(tmp_path, shelf):
    secret = tmp_path / "secret"
    secret.mkdir()
    (secret / "scenario.toml").write_text("name = 'x'\n")
    (secret / "key.html").write_text("secret")
    own = shelf.folder / "own"
    own.mkdir()
    (own / "scenario.toml").write_text("name = 'x'\n")
    (shelf.folder / "linked").symlink_to(secret)
    (own / "key.html").symlink_to(secret / "key.html")
    (own / "deep").symlink_to(secret)
    (own / "plans").symlink_to(secret)
    assert shelf.names() == ["own"]
    with pytest.raises(NotThere):
        shelf.scenario("linked")
    with pytest.raises(NotThere):
        shelf.scenario("../secret")
    for way in ("key.html", "deep/key.html", "../secret/key.html", "own.toml"):
        with pytest.raises(NotThere):
            inside(own, way)
    assert inside(own, "scenario.toml") == own / "scenario.toml"
    assert plans(own) == []
    with pytest.raises(NotThere):
        order_plan(own, {})


def test_a_single_scenario_shows_nothing_beside_it(tmp_path):
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "scenario.toml").write_text("name = 'x'\n")
    alone = open_shelf(tmp_path / "a")
    assert alone.names() == ["a"]
    with pytest.raises(NotThere):
        alone.scenario("b")
    with pytest.raises(NameFault):
        alone.free("c")
    assert open_shelf(tmp_path).names() == ["a", "b"]
