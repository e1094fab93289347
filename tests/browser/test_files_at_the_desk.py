"""A planner drops what she has onto the desk, answers what is asked, and plans."""

import pytest
from accessibility import looked_at
from support.messy import ANSWERS, write_set

pytestmark = pytest.mark.thorough
LONG = 180_000
"""Until files are read or a plan is made. [ms]"""


def test_a_workbook_points_and_a_survey_become_a_district_that_plans(
    run, opened, tmp_path
):
    (tmp_path / "shelf").mkdir()
    files = write_set(tmp_path / "office")
    assert {file.suffix for file in files} == {".xlsx", ".csv", ".gpx"}
    window = opened(run(tmp_path / "shelf"))
    page = window.page
    page.set_default_timeout(LONG)
    page.set_input_files("#file", [str(file) for file in files])
    page.wait_for_url("**/bring/*")
    looked_at(page)
    assert page.locator("text=Yes, write these tables").count() == 0
    page.fill("input[name=name]", "lowland")
    for answer in ANSWERS:
        place, _, value = answer.rpartition("=")
        name = place.replace("yards.gpx", "waypoints")
        field = page.locator(f'[name="a:{name}"]')
        is_list = field.evaluate("one => one.tagName") == "SELECT"
        (field.select_option if is_list else field.fill)(value)
    page.click("text=Take these answers")
    page.wait_for_selector("#write")
    assert page.locator("text=40 added").count() == 1
    looked_at(page)
    page.click("text=Yes, write these tables")
    page.wait_for_url("**/s/lowland/district")
    page.locator("#count", has_text="40 rows").wait_for()
    page.click("text=Files in and out")
    page.wait_for_url("**/copies")
    looked_at(page)
    with page.expect_download() as waits:
        page.click("a.button >> text=Survey for phones")
    assert waits.value.suggested_filename == "lowland survey.zip"
    page.goto(page.url.replace("/copies", "/plan"))
    page.click("summary:text-is('Goal, time, gap and haulage')")
    page.select_option("[name=haulage]", "estimate")
    page.click("button.big")
    page.wait_for_url("**/plans/**")
    page.wait_for_selector("text=Take away", timeout=LONG)
    assert window.complaints == []
