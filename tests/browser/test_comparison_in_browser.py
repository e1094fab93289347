"""Two plans side by side in a real browser: linked, to one scale, right, harmless."""

from dataclasses import replace

import pytest
from accessibility import faults
from support.chromium import SIZES

from logistics.changes.files import ChangeSet, parse_change, read_changes
from logistics.scenario.settings import change_setting
from logistics.studies.comparison import Outcome, by_line, compare, yard_changes
from maps.studies.comparison import write_comparison
from maps.studies.comparison_map import write_comparison_map
from maps.studies.comparison_sheet import write_sheet
from maps.studies.comparison_words import proof

pytestmark = [pytest.mark.slow, pytest.mark.thorough]
READY = "window.loamhaul && window.loamhaul.ready > 0"


@pytest.fixture(scope="module")
def outcomes(planned, demo):
    """One change closes the largest new yard; the other hits one mill."""
    built = planned.scenario.yards.set_index("yard")["existing_size"]
    taken = planned.plan.hauls.groupby("yard")["tonnes"].sum()
    largest = taken[[not built[yard] for yard in taken.index]].idxmax()
    wanted = [
        parse_change(f"close_yard:yard={largest}"),
        read_changes(demo)["mill_closes_in_june"],
    ]
    rough = change_setting(planned.scenario.settings, "solve.gap_pct", 15)
    return compare(replace(planned.scenario, settings=rough), planned, wanted)


@pytest.fixture(scope="module")
def page_file(planned, outcomes, tmp_path_factory):
    path = tmp_path_factory.mktemp("compared") / "compare.html"
    write_comparison_map(planned, outcomes, path)
    return path


@pytest.fixture(scope="module")
def nasty_file(nasty, outcomes, renamed_as, tmp_path_factory):
    """The same page, of a district and changes whose names are attacks."""
    text = "</script><img src=x onerror=alert(1)>\u202e🐟" + "y" * 300
    changed = [
        Outcome(
            ChangeSet(text, text, text, outcome.change.steps),
            replace(outcome.operate, scenario=renamed_as(outcome.operate.scenario)),
            replace(outcome.replan, scenario=renamed_as(outcome.replan.scenario)),
        )
        for outcome in outcomes
    ]
    path = tmp_path_factory.mktemp("nasty") / "compare.html"
    write_comparison_map(nasty, changed, path)
    return path


def opened(show, file, *size):
    window = show(file, *size)
    window.page.wait_for_function(READY, timeout=20_000)
    return window


def views(page):
    return page.evaluate(
        "[loamhaul.now.left.map, loamhaul.now.right.map].map((map) =>"
        " [map.getCenter().lat, map.getCenter().lng, map.getZoom()])"
    )


def lanes(plan):
    """Every lane and material with tonnes in a plan, as the page tells them apart."""
    hauls = plan.hauls[plan.hauls["tonnes"] > 0]
    out = plan.deliveries[plan.deliveries["tonnes"] > 0]
    return {*zip(hauls["source"], hauls["yard"], strict=True)} | {
        *zip(out["yard"], out["market"], strict=True)
    }


@pytest.mark.parametrize(
    ("names", "size"),
    [
        pytest.param("page_file", SIZES[1], marks=pytest.mark.thorough),
        pytest.param("page_file", SIZES[0], marks=pytest.mark.thorough),
        pytest.param("nasty_file", SIZES[1], marks=pytest.mark.thorough),
    ],
    ids=str,
)
def test_it_is_quiet_offline_and_accessible(show, request, names, size):
    window = opened(show, request.getfixturevalue(names), *size)
    page = window.page
    assert faults(page) == []
    page.select_option("#change", "1")
    page.evaluate(
        "loamhaul.select(document.querySelector('#right .place.yard').dataset.id)"
    )
    assert page.locator("#right-card").is_visible()
    assert faults(page, "#right-card") == []
    for mode in ("roads", "all", "none"):
        page.check(f"#haulage input[value={mode}]")
    assert page.evaluate("document.scrollingElement.scrollWidth") <= size[0]
    assert window.complaints == []
    assert window.asked == [window.address]
    assert page.evaluate("document.images.length") == 0


def test_the_card_of_a_yard_that_differs_says_what_is_proven(
    show, planned, outcomes, tmp_path
):
    """What closing it costs may be no more than the proofs leave open."""
    outcome = outcomes[0]
    open_still = replace(outcome.replan.plan, bound=planned.plan.objective)
    equal = replace(outcome, replan=replace(outcome.replan, plan=open_still))
    said = proof(planned, equal.replan)
    assert said.startswith("As good as equal to the base")
    write_comparison_map(planned, [equal], tmp_path / "compare.html")
    page = opened(show, tmp_path / "compare.html").page
    (closed, *_) = yard_changes(planned.plan, outcome.replan.plan)[1]
    page.evaluate("(code) => loamhaul.select(`yard:${code}`)", closed)
    card = page.locator("#left-card").inner_text()
    assert f"The yard is closed by the change. {said}" in card
    assert said in page.locator("#tables").inner_text()


def test_search_comes_before_the_maps(show, page_file):
    page = opened(show, page_file).page
    page.focus("#find")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('#left') !== null")


@pytest.mark.thorough
def test_the_maps_move_together(show, page_file):
    page = opened(show, page_file).page
    for mover in ("left", "right"):
        before = views(page)[0]
        page.evaluate(f"loamhaul.now.{mover}.map.panBy([80, 40], {{animate: false}})")
        page.evaluate(f"loamhaul.now.{mover}.map.zoomIn(1, {{animate: false}})")
        left, right = views(page)
        assert left == pytest.approx(right)
        assert left != pytest.approx(before)
    kept = views(page)[0]
    page.select_option("#change", "1")
    assert views(page)[0] == pytest.approx(kept)
    assert views(page)[1] == pytest.approx(kept)


def test_both_maps_have_one_scale_and_one_period(show, page_file):
    page = opened(show, page_file).page
    for period in (-1, 3):
        page.evaluate(f"loamhaul.setPeriod({period})")
        for pick in ("scale", "state.period"):
            both = page.evaluate(
                f"[loamhaul.now.left.{pick}, loamhaul.now.right.{pick}]"
            )
            assert both[0] == both[1]
    assert "April" in page.locator("#right-words").inner_text()


def test_yards_that_differ_are_ringed_and_listed(show, page_file, planned, outcomes):
    page = opened(show, page_file).page
    for at, outcome in enumerate(outcomes):
        page.select_option("#change", str(at))
        found = yard_changes(planned.plan, outcome.replan.plan)
        text = page.locator("#differences").inner_text()
        kinds = ("opened", "closed", "resized")
        for kind, codes in zip(kinds, found, strict=True):
            assert f"Yards {kind}: {len(codes)}" in text
            for side in ("left", "right"):
                ringed = page.locator(f"#{side} .place[aria-label*='{kind} by the']")
                marked = {e.get_attribute("data-id") for e in ringed.all()}
                assert marked == {f"yard:{code}" for code in codes}
    assert yard_changes(planned.plan, outcomes[0].replan.plan)[1]


def test_lanes_lost_and_gained_are_those_of_the_plans(
    show, page_file, planned, outcomes
):
    page = opened(show, page_file).page
    for at, outcome in enumerate(outcomes):
        page.select_option("#change", str(at))
        before, after = lanes(planned.plan), lanes(outcome.replan.plan)
        for kind, expected in (("lost", before - after), ("gained", after - before)):
            shown = page.evaluate(
                f"loamhaul.now.{kind}.map((x) => [x.start.code, x.end.code])"
            )
            assert {tuple(pair) for pair in shown} == expected
    page.select_option("#change", "0")
    drawn = page.locator("#right .flow").count()
    assert drawn == min(60, page.evaluate("loamhaul.now.gained.length"))


def test_the_tables_say_what_the_ledger_says(show, page_file, planned, outcomes):
    page = opened(show, page_file).page
    for at, outcome in enumerate(outcomes):
        page.select_option("#change", str(at))
        table = page.get_by_role("region", name="Cost of the year by line")
        rows = table.locator("tbody tr").all()
        last = [cell.inner_text() for cell in rows[-1].locator("td").all()]
        totals = by_line(planned, [outcome]).iloc[:, 2:].sum()
        for cell, total in zip(last[2:4], totals, strict=True):
            assert float(cell.replace(",", "")) == pytest.approx(total, abs=0.51)


def test_a_place_is_chosen_on_both_maps(show, page_file, planned):
    page = opened(show, page_file).page
    mill = planned.scenario.sources.iloc[0]
    page.fill("#find", mill["name"])
    page.press("#find", "Enter")
    for side in ("left", "right"):
        assert mill["name"] in page.locator(f"#{side}-card h2").inner_text()
    page.keyboard.press("Escape")
    assert not page.locator("#left-card").is_visible()
    page.select_option("#change", "1")
    page.evaluate("loamhaul.select('lane:0')")
    ids = page.evaluate(
        "[loamhaul.now.left, loamhaul.now.right].map(({ state: { chosen } }) =>"
        " chosen && [chosen.start.code, chosen.end.code, chosen.material].join())"
    )
    assert ids[0] is not None
    assert ids[1] in (None, ids[0])


def test_keys_move_both_maps_through_the_year(show, page_file):
    page = opened(show, page_file).page
    page.focus("#strip [data-period='-1']")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("loamhaul.now.right.state.period") == 0
    page.focus("#change")
    page.keyboard.press("ArrowDown")
    assert page.evaluate("loamhaul.now.at") == 1


def test_it_prints_its_maps_on_one_landscape_sheet(show, page_file):
    import pypdfium2

    page = opened(show, page_file).page
    document = pypdfium2.PdfDocument(
        page.pdf(prefer_css_page_size=True, print_background=True)
    )
    sheets = list(document)
    assert 2 <= len(sheets) <= 6
    assert all(sheet.get_size()[0] > sheet.get_size()[1] for sheet in sheets)
    first = sheets[0].get_textpage().get_text_bounded()
    assert "Base plan" in first
    assert "After: " in first
    assert "Net cost" not in first
    document.close()


def test_the_same_plans_give_the_same_bytes(planned, outcomes, page_file, tmp_path):
    written = write_comparison(planned, outcomes, tmp_path, page=True)
    assert written[0] == "compare.html"
    assert (tmp_path / "compare.html").read_bytes() == page_file.read_bytes()


@pytest.fixture(scope="module")
def sheet_file(planned, outcomes, tmp_path_factory):
    path = tmp_path_factory.mktemp("sheet") / "compare_sheet.html"
    write_sheet(planned, outcomes, path)
    return path


def test_the_sheet_prints_on_one_page_across(show, sheet_file):
    """Base and changes, maps and table, on one A4 page."""
    import pypdfium2

    window = show(sheet_file)
    assert window.complaints == []
    document = pypdfium2.PdfDocument(window.page.pdf(prefer_css_page_size=True))
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx((841.89, 595.28), abs=1)
    text = document[0].get_textpage().get_text_bounded()
    for words in ("Base: no change", "Net cost", "Lose", "Problems"):
        assert words in text
    document.close()


def test_the_sheet_is_open_to_all_on_a_phone(show, sheet_file):
    page = show(sheet_file, *SIZES[1]).page
    assert faults(page) == []
    assert page.evaluate("document.scrollingElement.scrollWidth") <= SIZES[1][0]
