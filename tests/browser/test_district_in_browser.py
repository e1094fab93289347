"""The district page in a real browser: the grid, the map beside it, drafts, saving."""

import shutil

import pytest
from accessibility import faults
from support.district_page import DistrictPage, served
from support.places import DEMO

from maps.desk.grid.drafts import drafts_of

SIZES = ((1366, 768), (1280, 720), (820, 1180))
HARDEST = SIZES[-1]
MARKED = [
    pytest.param(size, marks=() if size == HARDEST else pytest.mark.thorough)
    for size in SIZES
]


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """A desk with copies of the demo: key and folder."""
    folder = tmp_path_factory.mktemp("desk")
    for name in ("looked_at", "typed", "pasted", "mapped", "shared", "sorted", "late"):
        shutil.copytree(DEMO, folder / name)
    with served(folder) as key:
        yield key, folder


@pytest.fixture
def show(chromium, desk):
    """Open a scenario's district page."""
    opened = []

    def open_page(name, size=SIZES[0], table="sources"):
        opened.append(DistrictPage(chromium, desk[0], name, size, table))
        return opened[-1]

    yield open_page
    for one in opened:
        one.context.close()


@pytest.mark.parametrize("size", MARKED, ids=str)
def test_it_is_quiet_accessible_and_never_too_wide(show, size):
    """axe-core finds nothing, the console is silent, nothing is asked elsewhere."""
    district = show("looked_at", size)
    page = district.page
    assert faults(page) == []
    page.locator("#tab-yards").click()
    page.locator("#verdict:not([hidden])").wait_for()
    assert faults(page) == []
    district.press("F2")
    assert district.complaints == []
    assert {url for url in district.asked if not url.startswith(district.home)} == set()
    assert page.evaluate("document.scrollingElement.scrollWidth") <= size[0]


def test_the_last_table_asked_for_is_shown(show):
    """A table that comes late does not take the place of the one asked for since."""
    page = show("looked_at").page
    late = []
    page.route("**/api/district/tables/markets", lambda one: late.append(one))
    page.locator("#tab-markets").click()
    yards = page.locator("#tab-yards").element_handle()
    page.locator("#tab-yards").click()
    page.locator("#panel[aria-labelledby=tab-yards]").wait_for()
    with page.expect_response("**/api/district/tables/markets") as answer:
        late[0].continue_()
    answer.value.finished()
    page.evaluate("overview()")
    assert page.locator("#panel").get_attribute("aria-labelledby") == "tab-yards"
    assert yards.evaluate("one => one.isConnected"), "a press on the tab would be lost"


def held(page, address: str) -> list:
    """Hold the first request to an address; gives a list that gets its route."""
    late = []

    def hold(route):
        if late:
            route.continue_()
        else:
            late.append(route)

    page.route(address, hold)
    return late


def test_an_answer_older_than_an_edit_is_no_change_by_another(show):
    district = show("late")
    page = district.page
    tables = held(page, "**/api/district/tables")
    district.go(0, "amount")
    page.evaluate("() => { overview(); }")
    while not tables:
        page.wait_for_timeout(20)
    older = tables[0].fetch()
    with page.expect_response("**/edits"):
        page.keyboard.type("41")
        district.press("Enter")
    with page.expect_response(older.url):
        tables[0].fulfill(response=older)
    page.wait_for_timeout(300)
    assert "read anew" not in page.inner_text("#said")
    assert district.cell(0, "amount").inner_text() == "41"


def test_edits_made_while_a_table_is_read_anew_are_kept(show):
    """The second waits for the first to be kept when the table arrives."""
    district = show("late")
    page = district.page
    table = held(page, "**/api/district/tables/sources")
    edits = held(page, "**/edits")
    district.go(0, "amount")
    page.evaluate("() => { load('sources', true); }")
    while not table:
        page.wait_for_timeout(20)
    page.keyboard.type("51")
    district.press("Enter")
    page.keyboard.type("52")
    district.press("Enter")
    with page.expect_response("**/tables/sources"):
        table[0].continue_()
    page.wait_for_timeout(100)
    edits[0].continue_()
    page.wait_for_function("() => sync.idle()")
    page.reload()
    district.checked()
    shown = [district.cell(row, "amount").inner_text() for row in (0, 1)]
    assert shown == ["51", "52"]


def test_typing_is_that_of_a_spreadsheet(show, desk):
    """Keys overwrite, F2 edits, Escape leaves, Tab and Enter move as they do there."""
    district = show("typed")
    page = district.page
    district.go(0, "amount")
    district.press("4", "2", "Tab", "5", "Enter")
    assert district.cell(0, "amount").inner_text() == "42"
    assert district.cell(0, "waste_pct").inner_text() == "5"
    assert page.locator("#where").inner_text().startswith("amount [t/yr or ha or head]")
    assert page.locator("#where").inner_text().endswith("row 3")
    district.press("F2", "End", "0", "Escape")
    assert district.cell(1, "amount").inner_text() == "2600"
    district.press("F2", "End", "0", "ArrowLeft", "1", "Enter")
    assert district.cell(1, "amount").inner_text() == "260010"
    district.press("Control+z", "Control+z", "Control+z")
    assert district.cell(0, "amount").inner_text() == "5200"
    district.press("Control+y")
    assert district.cell(0, "amount").inner_text() == "42"
    district.kept()
    page.reload()
    district.checked()
    district.press("Control+z")
    district.kept("Everything is saved")
    district.press("Control+y", "Control+y", "Control+z", "Control+z")
    assert district.cell(0, "amount").inner_text() == "5200"
    district.kept("Everything is saved")
    assert drafts_of(desk[1] / "typed").edited() == {}


def test_a_fault_is_told_at_its_cell_and_in_the_list_in_the_words_of_check(show, desk):
    """It can be kept as a draft, not saved; mended it is saved as the plain table."""
    district = show("typed")
    page, file = district.page, desk[1] / "typed" / "sources.csv"
    before = file.read_bytes()
    district.go(3, "material")
    page.keyboard.type("fihs")
    district.press("Enter")
    assert district.checked("1 fault") == "1 fault: to be mended before a plan"
    bad = district.cell(3, "material")
    assert bad.get_attribute("aria-invalid") == "true"
    assert "is not a code in the table materials" in bad.get_attribute("title")
    district.go(0, "name")
    page.locator("#save").click()
    district.kept("sources.csv has 1 fault")
    with page.expect_response("**/district/tables"):
        page.evaluate("dispatchEvent(new Event('focus'))")
    page.wait_for_timeout(100)
    assert "sources.csv has 1 fault" in page.inner_text("#kept")
    assert file.read_bytes() == before
    page.locator(".fault-item").click()
    assert page.locator("#where").inner_text() == "material, row 5"
    page.keyboard.type("husk")
    page.locator("#picks li[aria-selected=true]", has_text="rice_husk").wait_for()
    district.press("Enter")
    district.checked("No faults")
    district.press("Control+s")
    district.kept("Saved: sources.csv")
    lines, old = file.read_bytes().split(b"\n"), before.split(b"\n")
    assert [i for i, line in enumerate(lines) if line != old[i]] == [4]
    assert b",rice_husk," in lines[4]


def test_a_block_is_pasted_filled_copied_and_undone(show):
    """Rows are added where the block needs them; one undo takes all of it back."""
    district = show("pasted")
    page = district.page
    rows = page.locator("#count")
    page.locator("#sheet").focus()
    district.press("Control+End", "ArrowDown", "Home")
    district.paste('a\t"first ""one"""\r\nb\t"two\nlines"\r\n')
    page.locator("#said", has_text="Pasted 2 × 2 cells").wait_for()
    assert page.locator("#sheet").get_attribute("aria-rowcount") == "64"
    district.press("Control+End", "ArrowUp", "Home", "ArrowRight")
    assert district.copied() == 'first "one"'
    district.press("Shift+ArrowDown")
    assert district.copied() == 'first "one"\r\n"two\nlines"'
    district.go(0, "price_per_t")
    page.keyboard.type("7")
    district.press("Enter", "ArrowUp")
    district.press("Shift+ArrowDown", "Shift+ArrowDown", "Control+d")
    assert [district.cell(r, "price_per_t").inner_text() for r in (1, 2)] == ["7", "7"]
    district.press("Control+z", "Control+z", "Control+z")
    page.locator("#filter").fill("zzz")
    rows.filter(has_text="0 of 60 rows").wait_for()
    page.locator("#filter").fill("rice_husk north")
    rows.filter(has_text="of 60 rows").wait_for()
    assert district.complaints == []


def test_rows_sorted_and_filtered_are_edited_where_the_file_has_them(show, desk):
    """The view changes, the file's order does not; deleted rows come back."""
    district = show("sorted")
    page = district.page
    text = drafts_of(desk[1] / "sorted").table("sources").text
    amount, name = (text.headings.index(key) for key in ("amount", "name"))
    most = max(range(60), key=lambda row: float(text.rows[row][amount]))
    district.go(0, "amount")
    district.press("ArrowUp", "Enter", "Enter", "ArrowDown")
    assert district.cell(0, "amount").inner_text() == text.rows[most][amount]
    district.press("9", "Enter")
    page.locator("#filter").fill("landing")
    page.locator("#count", has_text="of 60 rows").wait_for()
    district.go(0, "name")
    gone = district.cell(0, "name").inner_text()
    district.press("Control+Delete")
    page.locator("#said", has_text="1 row deleted").wait_for()
    district.kept()
    draft = drafts_of(desk[1] / "sorted").table("sources").text
    kept = [row for row in text.rows if row[name] != gone]
    assert [row[name] for row in draft.rows] == [row[name] for row in kept]
    changed = [
        row[name] for row, old in zip(draft.rows, kept, strict=True) if row != old
    ]
    assert changed == [text.rows[most][name]]
    district.press("Control+z", "Control+z")
    district.kept("Everything is saved")
    assert drafts_of(desk[1] / "sorted").table("sources").text.rows == text.rows
    assert district.complaints == []


def test_a_yard_is_dragged_judged_and_written(show, desk):
    """Choosing a row shows its point; what would refuse a place is told as it moves."""
    district = show("mapped", table="yards")
    page = district.page
    district.go(2, "name")
    grip = page.locator(".chosen-point .grip")
    page.locator("#verdict", has_text="dwellings").wait_for()
    page.wait_for_timeout(300)
    box = grip.bounding_box()
    page.mouse.move(box["x"] + 9, box["y"] + 9)
    page.mouse.down()
    page.mouse.move(box["x"] - 20, box["y"] - 5, steps=4)
    page.mouse.move(box["x"] - 33, box["y"] - 11, steps=4)
    page.locator("#verdict.refused, #verdict.partly").wait_for()
    page.mouse.up()
    district.kept()
    draft = drafts_of(desk[1] / "mapped").table("yards").text
    moved = dict(zip(draft.headings, draft.rows[2], strict=True))
    assert float(moved["lon"]) < -31.135
    page.locator("#add-point").click()
    page.mouse.click(box["x"] + 60, box["y"] + 60)
    district.checked("to be mended")
    assert district.cell(18, "yard").inner_text() == "yard_19"
    page.locator(".fault-item", has_text="area_m2").wait_for()


def test_edits_wait_in_the_page_while_the_desk_is_gone(chromium, tmp_path):
    """The server ends while somebody types; back again, nothing is missing."""
    shutil.copytree(DEMO, tmp_path / "one")
    with served(tmp_path) as key:
        district = DistrictPage(chromium, key, "one")
        district.go(0, "name")
        district.press("A", "Enter")
        district.kept()
    district.press("B", "Enter")
    district.kept("Not kept yet")
    district.press("C", "Enter")
    rows = drafts_of(tmp_path / "one").table("sources").text.rows
    assert [row[1] for row in rows[:2]] != ["A", "B"]
    with served(tmp_path, key):
        district.kept("kept as a draft")
        rows = drafts_of(tmp_path / "one").table("sources").text.rows
        assert [row[1] for row in rows[:3]] == ["A", "B", "C"]
        district.page.reload()
        district.page.locator("#g-2-1", has_text="C").wait_for()
    district.context.close()


def test_what_a_spreadsheet_program_changed_is_shown_and_never_overwritten(show, desk):
    """With edits of one's own both are kept until the planner chooses."""
    district = show("shared")
    page, file = district.page, desk[1] / "shared" / "sources.csv"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("Eddershoal cannery", "Their cannery"), "utf-8")
    page.locator("#sheet").dispatch_event("focus")
    page.evaluate("dispatchEvent(new Event('focus'))")
    page.locator("#sheet", has_text="Their cannery").wait_for()
    district.go(1, "name")
    page.keyboard.type("<b>Mine</b>")
    district.press("Enter")
    district.kept()
    file.write_text(text.replace("Eddershoal cannery", "Later cannery"), "utf-8")
    page.evaluate("dispatchEvent(new Event('focus'))")
    page.locator(".notice", has_text="sources.csv was changed").wait_for()
    page.locator("#save").click()
    district.kept("was changed by another program")
    assert "Later cannery" in file.read_text(encoding="utf-8")
    page.get_by_role("button", name="See both").click()
    page.locator("#both", has_text="Later cannery").wait_for()
    assert "<b>Mine</b>" in page.locator("#both").inner_text()
    page.locator("#both").get_by_role("button", name="Take theirs").click()
    page.locator("#sheet", has_text="Later cannery").wait_for()
    assert "Mine" not in file.read_text(encoding="utf-8")
