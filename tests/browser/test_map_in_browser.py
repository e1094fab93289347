"""The map in a real browser: offline, quiet, accessible, alive, printable."""

import numpy as np
import pypdfium2
import pytest
from accessibility import faults
from support.chromium import SIZES, WIDE

READY = "window.loamhaul && window.loamhaul.ready > 0"
A4 = (841.89, 595.28)  # landscape [pt]
VIEWS = {
    "year": "",
    "month": "loamhaul.setPeriod(3)",
    "yard": "loamhaul.select(document.querySelector('.place.yard').dataset.id)",
    "flows": "loamhaul.set({haulage: 'flows'})",
    "names": "loamhaul.set({siteNames: true, sourceNames: true, marketNames: true})",
    "worth": "loamhaul.set({colour: 'worth'})",
    "tables": "document.getElementById('show-tables').click()",
}


def opened(show, file, *size):
    """Open a map and wait until it is drawn."""
    window = show(file, *size)
    window.page.wait_for_function(READY, timeout=20_000)
    return window


def drawn(page):
    """Shapes of the haulage and the yards on the map, as text."""
    return page.evaluate(
        "[...document.querySelectorAll('.layer-roads, .layer-flows, .layer-yards')]"
        ".map((g) => g.outerHTML.replace(/aria-label=\"[^\"]*\"/g, '')).join('')"
    )


def focused(page, attribute):
    return page.evaluate("(key) => document.activeElement.getAttribute(key)", attribute)


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_nothing_is_asked_for_and_nothing_complains(show, pages, size):
    window = opened(show, pages["map.html"], *size)
    for script in VIEWS.values():
        window.page.evaluate(f"() => {{ {script} }}")
    window.page.wait_for_timeout(200)
    assert window.asked == [window.address]
    assert window.complaints == []


def test_the_policy_in_the_file_stops_what_would_be_loaded(show, pages):
    """The test above can fail: a picture put in by hand is refused, and heard of."""
    window = opened(show, pages["map.html"])
    window.page.evaluate(
        "() => document.body.append(Object.assign(new Image(), "
        "{src: 'http://192.0.2.1/x.png'}))"
    )
    window.page.wait_for_timeout(200)
    assert any("Content Security Policy" in said for said in window.complaints)


@pytest.mark.parametrize("size", [WIDE, SIZES[1]], ids=str)
@pytest.mark.parametrize("view", VIEWS)
def test_axe_finds_nothing(show, pages, size, view):
    page = opened(show, pages["map.html"], *size).page
    page.evaluate(f"() => {{ {VIEWS[view]} }}")
    assert faults(page) == []


@pytest.mark.parametrize("name", ["map.html", "nasty_map.html"])
def test_the_page_is_never_wider_than_a_phone(show, pages, name):
    page = opened(show, pages[name], 360, 740).page
    for script in VIEWS.values():
        page.evaluate(f"() => {{ {script} }}")
        wide = page.evaluate("document.scrollingElement.scrollWidth")
        assert wide <= 360, script


OUTSIDE = """() => {
  const box = loamhaul.pane.root.getBoundingClientRect();
  return [...document.querySelectorAll("g.place")].filter((place) => {
    const { x, y } = place.getBoundingClientRect();
    return x < box.left || x > box.right || y < box.top || y > box.bottom;
  }).length;
}"""


@pytest.mark.slow
def test_the_whole_district_is_shown_at_every_size_until_somebody_moves(show, pages):
    """A frame of another page may get its size after the map is drawn."""
    page = show(pages["map.html"], 1366, 900).page
    frames = "() => new Promise(done => setTimeout(done, 300))"
    for wide, high in ((900, 420), (1366, 768), (700, 380)):
        page.set_viewport_size({"width": wide, "height": high})
        page.evaluate(frames)
        assert page.evaluate(OUTSIDE) == 0
    page.evaluate("loamhaul.pane.map.zoomIn(2, { animate: false })")
    zoom = page.evaluate("loamhaul.pane.map.getZoom()")
    page.set_viewport_size({"width": 1280, "height": 720})
    page.evaluate(frames)
    assert page.evaluate("loamhaul.pane.map.getZoom()") == zoom


def test_a_month_is_another_picture(show, pages):
    page = opened(show, pages["map.html"]).page
    year, seen = drawn(page), page.locator("#hint").inner_text()
    page.click("#strip [data-period='3']")
    april = drawn(page)
    assert april != year
    assert page.locator("#hint").inner_text() != seen
    page.evaluate("loamhaul.setPeriod(9)")
    assert drawn(page) not in (year, april)
    page.evaluate("loamhaul.setPeriod(-1)")
    assert drawn(page) == year


def test_the_month_shown_has_the_plans_tonnes(show, pages, planned):
    """What the page says of April is what the plan's table says."""
    page = opened(show, pages["map.html"]).page
    hauls = planned.plan.hauls
    for place, period in enumerate(planned.scenario.periods["period"]):
        tonnes = hauls.loc[hauls["period"] == period, "tonnes"].sum()
        page.evaluate(f"loamhaul.setPeriod({place})")
        said = page.locator("#hint").inner_text()
        number = float(said.split(": ")[1].split(" t ")[0].replace(",", ""))
        assert number == pytest.approx(tonnes, rel=6e-3), said


def test_a_loss_is_said_as_one(show, pages, planned):
    """What one more tonne costs is so much lost, never less than nothing saved."""
    page = opened(show, pages["map.html"]).page
    page.evaluate("loamhaul.set({colour: 'worth'})")
    said = page.evaluate(
        "[...document.querySelectorAll('.place.source')]"
        ".map((g) => g.getAttribute('aria-label').split('one more tonne: ')[1])"
    )
    worth = planned.plan.worth[planned.plan.worth["kind"] == "supply"]
    assert (worth["value"] < -0.01).any()
    assert any(text.endswith(" lost") for text in said)
    assert any(text.endswith(" saved") for text in said)
    assert not [text for text in said if text.startswith(("−", "-"))]


def test_the_search_finds_yards_sources_and_markets(show, pages, planned):
    page = opened(show, pages["map.html"]).page
    for table, code in (
        ("yards", "yard"),
        ("sources", "source"),
        ("markets", "market"),
    ):
        row = planned.scenario.tables[table].iloc[-1]
        page.fill("#find", row["name"])
        page.press("#find", "Enter")
        card = page.locator("#card")
        assert card.is_visible()
        assert row["name"] in card.inner_text(), code
    page.fill("#find", "no such place")
    assert "No place" in page.locator("#hits").inner_text()


def sheets(page):
    """Print the page; size [pt] and picture (2 px a point) of every sheet."""
    document = pypdfium2.PdfDocument(
        page.pdf(prefer_css_page_size=True, print_background=True)
    )
    try:
        return [
            (
                sheet.get_size(),
                sheet.render(scale=2, rev_byteorder=True).to_numpy()[:, :, :3].copy(),
            )
            for sheet in document
        ]
    finally:
        document.close()


def near(image, *colours, tolerance=10):
    """Share of an image's pixels near one of some colours [1]."""
    found, counts = np.unique(
        image.astype(np.uint32) @ np.array([1 << 16, 1 << 8, 1], dtype=np.uint32),
        return_counts=True,
    )
    there = np.column_stack([found >> 16, found >> 8 & 255, found & 255]).astype(int)
    wanted = np.array([[int(c[i : i + 2], 16) for i in (1, 3, 5)] for c in colours])
    away = np.abs(there[:, None, :] - wanted).max(axis=2)
    return float(counts[(away <= tolerance).any(axis=1)].sum() / counts.sum())


def colours_of(page, selector, attribute):
    """Colours that the elements of a selector are drawn with."""
    found = page.evaluate(
        "([selector, key]) => [...document.querySelectorAll(selector)]"
        ".map((e) => e.getAttribute(key))",
        [selector, attribute],
    )
    return sorted({colour for colour in found if colour and colour[0] == "#"})


@pytest.mark.parametrize("size", [WIDE, SIZES[1]], ids=str)
def test_print_is_one_sheet_with_land_roads_and_haulage(show, pages, size):
    """Nothing opaque lies over the land, at whatever size the window is."""
    page = opened(show, pages["map.html"], *size).page
    base = ".leaflet-overlay-pane path"
    lands, roads = colours_of(page, base, "fill"), colours_of(page, base, "stroke")
    ink = {}
    for haulage in ("none", "roads", "flows"):
        page.evaluate(f"loamhaul.set({{haulage: '{haulage}'}})")
        found = sheets(page)
        assert len(found) == 1
        assert found[0][0] == pytest.approx(A4, abs=1)
        drawn_map = found[0][1][140:1120, 60:1120]
        assert near(drawn_map, *lands, tolerance=4) > 0.5
        assert near(drawn_map, *roads) > 0.01
        heads = colours_of(page, ".layer-flows .head", "fill")
        ink[haulage] = (
            near(drawn_map, "#5b4a63"),
            near(drawn_map, *heads or ["#5b4a63"]),
        )
    assert ink["roads"][0] > ink["none"][0] + 0.003
    assert ink["flows"][1] > ink["roads"][1] + 0.003
    page.evaluate(
        "() => { document.querySelector('.leaflet-overlay-pane').hidden = 1 }"
    )
    bare = sheets(page)[0][1][140:1120, 60:1120]
    assert near(bare, *roads) < 0.005
    assert near(bare, *lands, tolerance=4) < 0.4


def test_after_printing_the_page_is_as_it_was(show, pages):
    page = opened(show, pages["map.html"]).page
    page.evaluate("loamhaul.setPeriod(3)")
    page.evaluate("loamhaul.pane.map.zoomIn(1)")
    look = """() => {
      const { map } = loamhaul.pane;
      const all = document.querySelectorAll('body, header, main, .canvas, .strip, '
        + '.panel, #legend, .layer-yards .place, .leaflet-overlay-pane svg');
      const boxes = [...all].map((e) => {
        const { x, y, width, height } = e.getBoundingClientRect();
        return [x, y, width, height].join();
      });
      const at = map.getCenter().toString();
      return [at, map.getZoom(), document.body.className, boxes];
    }"""
    before, shapes = page.evaluate(look), drawn(page)
    during = page.evaluate(
        "new Promise((done) => addEventListener('beforeprint', () =>"
        " setTimeout(() => done(document.body.className)), {once: true}) ||"
        " dispatchEvent(new Event('beforeprint')))"
    )
    assert during == "printing"
    page.evaluate("() => { dispatchEvent(new Event('afterprint')) }")
    page.pdf()
    page.wait_for_timeout(100)
    assert page.evaluate(look) == before
    assert drawn(page) == shapes


@pytest.mark.parametrize("size", [WIDE, SIZES[1]], ids=str)
def test_nasty_names_are_only_text(show, pages, size):
    window = opened(show, pages["nasty_map.html"], *size)
    page = window.page
    ids = page.evaluate(
        "[...document.querySelectorAll('.place[data-id]')].map((e) => e.dataset.id)"
    )
    for wanted in ids[::3]:
        page.evaluate("(id) => loamhaul.select(id)", wanted)
    page.evaluate("loamhaul.set({haulage: 'flows'})")
    page.fill("#find", "script")
    page.press("#find", "Escape")  # the hits lie over what stands below
    page.click("#show-tables")
    for tab in page.locator("[role=tab]").all():
        tab.click()
    page.wait_for_timeout(200)
    assert window.complaints == []
    assert window.asked == [window.address]
    assert page.evaluate("document.images.length") == 0
    assert page.evaluate("document.scripts.length") == 3
    assert "{{ 7 * 7 }}" in page.content()  # no template is worked out


def test_axe_finds_nothing_in_nasty_names(show, pages):
    assert faults(opened(show, pages["nasty_map.html"]).page) == []


def test_every_control_is_reached_by_tab(show, pages):
    """Each control, or in a group of which one is stopped at, its group."""
    page = opened(show, pages["map.html"]).page
    page.evaluate(
        """() => {
        const seen = (e) => e.checkVisibility() && !e.disabled;
        const all = [...document.querySelectorAll(
          'a[href], button, input, select, summary, [role=button], [role=radio]')]
          .filter(seen);
        window.wanted = new Set(all.map((e) =>
          e.type === 'radio' ? 'radio ' + e.name
          : e.getAttribute('role') === 'radio' ? 'strip'
          : e.closest('.layer-sources, .layer-markets') ? 'by search'
          : e));
        window.wanted.delete('by search');
        window.reach = (e) => window.wanted.delete(
          e.type === 'radio' ? 'radio ' + e.name
          : e.getAttribute('role') === 'radio' ? 'strip' : e);
        }"""
    )
    assert page.evaluate("wanted.size") > 15
    page.evaluate("document.activeElement.blur()")
    for _ in range(120):
        page.keyboard.press("Tab")
        page.evaluate("reach(document.activeElement)")
    left = page.evaluate("[...wanted].map((e) => e.outerHTML || e)")
    assert left == []


def test_arrow_keys_move_the_month(show, pages):
    page = opened(show, pages["map.html"]).page
    page.focus("#strip [data-period='-1']")
    for key, period in (("ArrowRight", "0"), ("ArrowRight", "1"), ("ArrowLeft", "0"),
                        ("End", "11"), ("ArrowRight", "-1")):  # fmt: skip
        page.keyboard.press(key)
        assert focused(page, "data-period") == period
        assert page.evaluate("String(loamhaul.pane.state.period)") == period
        assert focused(page, "aria-checked") == "true"


def test_keys_choose_a_yard_and_let_it_go(show, pages):
    page = opened(show, pages["map.html"]).page
    page.focus("g.layer-yards .place")
    page.keyboard.press("Enter")
    assert page.locator("#card").is_visible()
    page.keyboard.press("Escape")
    assert not page.locator("#card").is_visible()
