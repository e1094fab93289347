"""Money and month at the desk, in a real browser: prices moved, a truck down, a log."""

import json

import pytest
from accessibility import looked_at
from support.desk_plan import planned_small, with_plan


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    return planned_small(tmp_path_factory.mktemp("planned"))


def test_prices_are_moved_and_a_figure_shows_its_rows(run, opened, result, tmp_path):
    from playwright.sync_api import expect

    with_plan(tmp_path, result)
    window = opened(run(tmp_path))
    page = window.page
    page.goto(f"{page.url}s/small/money")
    net = page.locator("#sums dd span").first
    planned = net.inner_text()
    page.focus("#p-fuel")
    page.keyboard.press("ArrowRight")
    expect(net).not_to_have_text(planned)
    assert page.inner_text("#o-fuel").startswith("+5 %: 1.05 coin/L")
    assert page.inner_text("#anew-words") == "Diesel +5 %"
    page.click("#reset")
    expect(net).to_have_text(planned)
    assert page.is_disabled("#anew-button")
    figure = page.locator("#cut tbody a").first
    figure.focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("#behind table")
    assert figure.inner_text() in page.inner_text("#behind").replace(".00", "")
    looked_at(page)
    page.click("text=Reckon how many trucks to own")
    best = page.locator("#fleet tbody tr", has_text="Heavy truck").locator("strong")
    expect(best).to_have_text("0", timeout=60_000)
    page.click("text=By yard")
    page.wait_for_url("**by=yard**")
    looked_at(page)
    page.focus("#p-fuel")
    page.keyboard.press("ArrowRight")
    page.click("#anew-button:enabled")
    page.wait_for_url("**/plans/**")
    assert "Diesel +5 %" in page.inner_text("h1")
    assert window.complaints == []


def test_a_truck_is_down_and_loads_are_logged(run, opened, result, tmp_path):
    scenario, entry = with_plan(tmp_path, result)
    window = opened(run(tmp_path))
    page = window.page
    month = f"{page.url}s/small/month?period=m04"
    page.goto(month)
    looked_at(page)
    page.click("text=Make the rounds of the month")
    page.wait_for_selector("text=Stop")
    looked_at(page)
    page.click("text=Stop")
    page.wait_for_selector("text=Nothing of it was kept", timeout=120_000)
    looked_at(page)
    page.click("text=Make the rounds of the month")
    page.wait_for_selector("text=Stop")
    page.reload()
    page.wait_for_selector("#day-form", timeout=120_000)
    looked_at(page)
    assert page.frame_locator("iframe").locator("#map").count() == 1
    page.click(".cuts >> text=Today")
    looked_at(page)
    page.select_option("#down-0", index=1)
    page.click("text=Plan these days anew")
    page.wait_for_selector("text=Use these rounds", timeout=120_000)
    assert "Driving hours" in page.inner_text("main")
    looked_at(page)
    page.click("text=Use these rounds")
    page.wait_for_selector("text=planned anew are in force")
    page.click(".cuts >> text=Delivered")
    facts = json.loads((entry.folder / "months" / "m04" / "month.json").read_text())
    planned = facts["planned"]
    row = planned["kind"].index("in")
    page.fill(
        "#block",
        f"day\tplace\ttonnes\n{planned['day'][row]}\t{planned['place'][row]}\t0,5",
    )
    page.click("text=Write into the log")
    page.wait_for_selector("text=1 new line in the log")
    looked_at(page)
    assert (scenario / "log" / "delivered.csv").is_file()
    page.click(".cuts >> text=Stock at hand")
    looked_at(page)
    last = str(facts["calendar"][-1]["day"])
    page.fill("#block", f"{last}\t{planned['place'][row]}\t0")
    page.click("text=Write into the log")
    page.wait_for_selector("text=1 new line in the log")
    page.select_option("select[name=first]", last)
    page.click("text=Plan the rest anew")
    page.wait_for_selector("text=Use these rounds", timeout=120_000)
    assert "no tonne of the plan is lost" in page.inner_text(".account")
    looked_at(page)
    page.click("text=Use these rounds")
    page.click(".cuts >> text=Drivers and plates")
    looked_at(page)
    tour = facts["tours"][0]
    page.fill("#text-trucks", f"AB 12\t{tour['type']}\t{tour['home']}")
    page.click("section:has(#text-trucks) button")
    page.wait_for_selector("text=The table is kept")
    page.fill("#text-drivers", "Ada")
    page.click("section:has(#text-drivers) button")
    page.wait_for_selector("#hours-head")
    looked_at(page)
    page.click(".cuts >> text=Rounds and sheets")
    looked_at(page)
    page.click(".cuts >> text=Yard log")
    page.wait_for_selector("#pile-head")
    looked_at(page)
    assert window.complaints == []
