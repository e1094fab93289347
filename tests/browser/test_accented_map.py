"""The map of a district with accented names, ten feedstocks and French months."""

import pytest
from accessibility import faults
from support.accented import FEEDSTOCKS, MONTHS, PLACES, accented
from support.chromium import SIZES, WIDE

from maps.geo.web_map import write_map
from maps.shared.period_words import short_names

READY = "window.loamhaul && window.loamhaul.ready > 0"
PHONE = SIZES[1]


@pytest.fixture(scope="module")
def map_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("accented") / "map.html"
    write_map(accented(), path)
    return path


@pytest.fixture
def page(show, map_file):
    return opened(show, map_file)


def opened(show, file, *size):
    page = show(file, *size).page
    page.wait_for_function(READY, timeout=20_000)
    return page


FOUND = {
    **{"guell": "Güell", "GÜELL": "Güell", "cour de g": "Cour de Güell"},
    **{"etang": "L’Étang-Salé", "étang salé": "L’Étang-Salé", "lodz": "Łódź"},
    **{"l'etang": "L’Étang-Salé", "thorshofn": "Þórshöfn", "oeuf": "Œuf-en-Ternois"},
    **{"izm": "İzmir", "strom": "Ångström", "s5": "Łódź", "S5": "Łódź"},
    **{"poisson": "L’Étang-Salé", "cafe marc": "Œuf-en-Ternois"},
    **{"drêche south": "İzmir", "nord est shorsh": "", "nord manioc": ""},
}


def test_a_place_is_found_as_people_type_it(page):
    """Without accents, in part, by code, by district and feedstock, in any case."""
    for typed, first in FOUND.items():
        page.fill("#find", typed)
        hits = page.locator("#hits [role=option]:not(.none) > bdi")
        assert (hits.first.inner_text() if hits.count() else "") == first, typed
        said = page.locator("#hits").inner_text()
        assert ("No place of this name" in said) == (not first), typed
    page.fill("#find", "guell")
    page.press("#find", "Enter")
    assert page.locator("#card h2").inner_text() == "Güell"


def test_a_district_finds_all_its_places(page):
    """By name or code; what the short list leaves out is counted."""
    for typed in ("Région du Nord-Est", "regi", "north"):
        page.fill("#find", typed)
        said = page.locator("#hits").inner_text()
        assert "Région du Nord-Est" in said
    page.fill("#find", "r")
    assert page.locator("#hits [role=option]:not(.none)").count() == 8
    assert "more" in page.locator("#hits .none").inner_text()


def test_sources_markets_and_unused_sites_can_be_named(page):
    written = ".layer-labels text.place-name"
    assert page.locator(written).count() == 0
    flags = {"siteNames": ["Cour de l’Île,", "ancien terrain communal"]}  # two lines
    flags |= {"marketNames": ["Orchard"], "sourceNames": [*PLACES[3:6]]}
    for flag, wanted in flags.items():
        page.check(f"#names input[name={flag}]")
        assert set(wanted) <= set(page.locator(written).all_text_contents()), flag
        page.uncheck(f"#names input[name={flag}]")
    assert page.locator(written).count() == 0


SAID = (
    ("yard:shore", "it can beat this one by at most 40 shells a year"),
    ("yard:shore", "--change force_yard:yard=shore"),
    ("yard:hill", "A plan without this yard may be as good as equal"),
    ("yard:hill", "--change close_yard:yard=hill"),
    ("yard:hill", "Région du Nord-Est"),
    ("source:s9", "collecting it would not lower the net cost"),
    ("source:s9", "south"),
    ("market:orchard", "stays at the yards instead"),
)


def test_a_card_says_what_the_plan_knows_of_a_place(page):
    for site, said in SAID:
        page.evaluate("(id) => loamhaul.select(id)", site)
        assert said in page.locator("#card").inner_text(), site


def test_search_comes_before_the_sites_and_the_map_can_be_skipped(page):
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "find"
    page.focus(".skip")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate(
        "document.querySelector('#panel').contains(document.activeElement)"
    )


def test_key_figures_are_whole_on_a_phone(show, map_file):
    page = opened(show, map_file, *PHONE)
    cut = page.evaluate(
        """[...document.querySelectorAll('.figures dt, .figures dd')].filter((e) => {
          const box = e.getBoundingClientRect();
          return e.scrollWidth > e.clientWidth + 1 || box.right > innerWidth;
        }).map((e) => e.textContent)"""
    )
    assert cut == []
    heights = page.evaluate(
        """[...document.querySelectorAll('.figures dd > span')].map((e) => {
          const range = document.createRange();
          range.selectNodeContents(e);
          return new Set([...range.getClientRects()].map((r) => r.top)).size;
        })"""
    )
    assert heights == [1] * 9  # no number is broken over two lines


@pytest.mark.parametrize(
    ("size", "whole"), [((1700, 900), True), (PHONE, False)], ids=str
)
def test_periods_under_the_strip_are_whole_or_short_but_not_cut(
    show, map_file, size, whole
):
    page = opened(show, map_file, *size)
    written = [
        text.strip()
        for text in page.locator("#strip .column > span").all_text_contents()
    ]
    known = MONTHS if whole else short_names(MONTHS)
    step = written[1:].index(next(x for x in written[1:] if x)) + 1
    assert written == [k if i % step == 0 else "" for i, k in enumerate(known)]
    overlap = page.evaluate(
        """(() => {
          const boxes = [...document.querySelectorAll('#strip .column > span')]
            .filter((e) => e.textContent.trim()).map((e) => {
              const range = document.createRange();
              range.selectNodeContents(e);
              return range.getBoundingClientRect();
            });
          return boxes.slice(1).filter((b, i) => boxes[i].top === b.top
            && boxes[i].right > b.left + 1).length;
        })()"""
    )
    assert overlap == 0
    title = page.locator("#strip [data-period='1']").get_attribute("title")
    assert title.startswith("février: ")


def test_every_feedstock_has_a_look_of_its_own(page):
    """In the ring, the strip and the legend: a colour, and all but one a texture."""
    of = "(s) => [...document.querySelectorAll(s)].map((e) => e.getAttribute('fill'))"
    rings = set(page.evaluate(of, ".layer-yards .place path"))
    assert len(rings) == len(FEEDSTOCKS) - 1  # one is not collected
    column = page.evaluate(of, "#strip [data-period='0'] rect")
    assert set(column) >= rings
    assert sum(fill.startswith("url(#") for fill in rings) >= len(rings) - 1
    keyed = set(page.evaluate(of, "#legend .key rect"))
    assert keyed > rings


@pytest.mark.parametrize("size", [WIDE, PHONE], ids=str)
def test_axe_finds_nothing(show, map_file, size):
    page = opened(show, map_file, *size)
    page.evaluate("loamhaul.set({siteNames: true, sourceNames: true})")
    page.fill("#find", "nord")
    page.evaluate("loamhaul.select('yard:shore')")
    assert faults(page) == []
