"""The map: nothing from outside, nothing run that is not ours, names do no harm."""

import hashlib
import json
import re
from html.parser import HTMLParser
from importlib import resources

import pandas as pd
import pytest
from support.fake_result import HOSTILE, result
from support.pages import luminance
from support.places import ROOT

from maps.geo.map_contents import map_data
from maps.geo.web_map import PAGE, SCRIPTS, LocalMap, map_html
from maps.shared.html import digest, lean
from maps.shared.material_looks import FEEDSTOCK_COLOURS, is_colour

LEAFLET = {
    # Leaflet 1.9.4 as packaged in django-js-lib-leaflet 1.9.4.1.
    "leaflet.js": "db49d009c841f5ca34a888c96511ae936fd9f5533e90d8b2c4d57596f4e5641a",
    "leaflet.css": "a7837102824184820dfa198d1ebcd109ff6d0ff9a2672a074b9a1b4d147d04c6",
}


class Page(HTMLParser):
    """Elements, attributes and the text of scripts and styles."""

    def __init__(self, text):
        super().__init__()
        self.elements, self.inside, self.texts = [], None, {"script": [], "style": []}
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag in self.texts:
            self.inside = tag
            self.texts[tag].append("")

    def handle_endtag(self, tag):
        if tag == self.inside:
            self.inside = None

    def handle_data(self, data):
        if self.inside:
            self.texts[self.inside][-1] += data


@pytest.fixture(scope="module")
def page():
    return Page(map_html(result()))


@pytest.fixture(scope="module")
def hostile():
    return Page(map_html(result(name=HOSTILE, story=HOSTILE)))


def test_leaflet_is_the_one_we_looked_at():
    folder = resources.files("js_lib_leaflet") / "static" / "js_lib_leaflet"
    for name, known in LEAFLET.items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == known


def test_map_is_the_same_when_made_twice():
    assert map_html(result()) == map_html(result())


def test_nothing_is_loaded(page):
    """No element and no style names an address; scripts hold no loader of ours."""
    loads = {"src", "href", "srcset", "data", "action", "poster", "background"}
    named = [
        (tag, key, value)
        for tag, attrs in page.elements
        for key, value in attrs.items()
        if key in loads
    ]
    assert named == [("a", "href", "#panel")]  # within the page
    assert not {"link", "iframe", "img", "object", "embed", "base"} & {
        tag for tag, _ in page.elements
    }
    for style in page.texts["style"]:
        assert "url(" not in style
        assert "@import" not in style
    assert "sourceMappingURL" not in "".join(page.texts["script"])


def test_policy_names_every_script_and_style(page):
    policy = next(
        attrs["content"]
        for tag, attrs in page.elements
        if tag == "meta" and "http-equiv" in attrs
    )
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["connect-src"] == "'none'"
    _, *scripts = page.texts["script"]
    assert rules["script-src"].split() == [digest(text) for text in scripts]
    assert rules["style-src"].split() == [digest(text) for text in page.texts["style"]]


def test_no_element_has_an_inline_handler_or_style(hostile):
    for tag, attrs in hostile.elements:
        bad = [key for key in attrs if key.startswith("on") or key == "style"]
        assert not bad, (tag, attrs)


def test_page_has_language_zoom_and_landmarks(page):
    found = dict(page.elements)
    assert found["html"] == {"lang": "en"}
    viewport = next(
        a["content"] for t, a in page.elements if a.get("name") == "viewport"
    )
    assert "user-scalable" not in viewport
    assert "maximum-scale" not in viewport
    assert "main" in found


def test_hostile_names_make_no_element(page, hostile):
    """The same elements as with harmless names; the name comes back as written."""
    assert [tag for tag, _ in hostile.elements] == [tag for tag, _ in page.elements]
    data = json.loads(hostile.texts["script"][0])
    assert data["name"] == HOSTILE
    column = data["columns"]["sources"].index("name")
    assert data["sources"][0][column] == HOSTILE
    assert "<" not in hostile.texts["script"][0]


def test_script_never_writes_markup():
    folder = resources.files("maps") / "static"
    for file in folder.iterdir():
        if file.name.endswith(".js"):
            asks = "" if file.name.startswith("desk") else r"|fetch\("
            text = file.read_text(encoding="utf-8")
            if file.name.startswith("desk"):  # its pages are served: they may ask
                text = text.replace("fetch(", "ask(")
            found = re.findall(
                r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|bindPopup"
                r"|bindTooltip(?!\(words\()|\beval\b|\bFunction\(|XMLHttpRequest|import\("
                + asks,
                text,
            )
            assert found == [], file.name


def test_every_script_is_in_the_page():
    """Every script that is named is a file, and its text is in the page."""
    folder = resources.files("maps") / "static"
    ours = {file.name for file in folder.iterdir() if file.name.endswith(".js")}
    assert set(SCRIPTS) | {PAGE} <= ours
    text = map_html(result())
    for name in (*SCRIPTS, PAGE):
        first = re.search(
            r"^(?:function|const) (\w+)", (folder / name).read_text(), re.M
        )
        assert f" {first[1]}" in text, name


def test_names_that_other_pages_rely_on_are_there(page):
    """The ids that DEVELOPERS.md lists stand in the page or are made by the scripts."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    part = text.split("## The map's page")[1].split("\n## ")[0]
    listed = set(re.findall(r"#([a-z][a-z-]*)", part)) - {"tab-"}
    fixed = {attrs["id"] for _, attrs in page.elements if "id" in attrs}
    made = "".join(page.texts["script"][2:])
    assert len(listed) > 12
    assert [name for name in listed - fixed if f'"{name}"' not in made] == []


def test_comments_do_not_travel_with_the_page(page):
    assert "/*" not in page.texts["script"][2]
    assert lean("a /* kept */ b") == "a /* kept */ b"


def test_data_holds_the_plan():
    data = map_data(result())
    hill = data["yards"][0]
    assert (hill["status"], hill["size"]) == ("new", "Small yard")
    assert hill["cn"] == [28.0, 29.5, 31.0]
    assert hill["moisture"] == [52.0, 55.0, 58.0]
    assert "cn" not in data["yards"][1]
    largest = data["lanes"][0]
    assert (largest["from"], largest["to"], largest["t"]) == (
        "mill",
        "hill",
        [100.0] * 3,
    )
    assert data["sources"][2]["uncollected"] == [30.0] * 3
    assert [m["code"] for m in data["materials"]] == ["husk", "fish", "straw"]


def test_shortages_stand_at_the_head():
    from support.fake_result import table

    short = table(
        how=["together"] * 3,
        limit=["least"] * 3,
        what=["collect every tonne"] * 3,
        where=["port"] * 3,
        when=["dry", "wet", "cool"],
        amount=[12.0] * 3,
        unit=["t"] * 3,
    )
    nothing = {"shortages": short, "gap": float("inf")}
    text = map_html(result(status="shortage", **nothing))
    assert "The demands cannot all be met." in text
    said = "Collect every tonne at Port falls short by 36.0 t in 3 periods together."
    assert text.count(said) == 1
    assert "inf <small>" not in text
    assert "The demands cannot all be met." not in map_html(result())


def test_money_of_a_yard_is_not_that_of_a_market_with_its_code():
    planned = result()
    sold = planned.ledger.iloc[:1].assign(
        account="compost", line="sale", place="hill", amount=-77_777.0
    )
    before = map_data(planned)["yards"][0]["money"]
    planned.ledger = pd.concat([planned.ledger, sold], ignore_index=True)
    assert map_data(planned)["yards"][0]["money"] == before


def test_periods_alike_in_their_first_letters_are_numbered():
    planned = result()
    planned.scenario.tables["periods"]["name"] = ["Week 1", "Week 2", "Week 3"]
    shown = [period["short"] for period in map_data(planned)["periods"]]
    assert shown == ["1", "2", "3"]
    assert map_data(result())["periods"][0]["short"] == "Dry"


def test_proven_gap_is_not_rounded_below_itself():
    """A gap of 0.55 % at the head of the map must not read 0.5 %."""
    text = map_html(result(gap=0.00547))
    assert re.search(r"<dt>Proven gap</dt><dd><span>0\.55</span> <small>%", text)


def test_ends_of_a_window_are_not_rounded_away():
    """A window from 24.5 is drawn with 24.5 beside its edge, not 25."""
    script = (resources.files("maps") / "static" / "charts.js").read_text()
    assert "figure(edge) + unit" in script


def test_haulage_of_a_yard_is_counted_once():
    """The card adds the lanes' haulage to the list of money: it is not in the list."""
    planned = result()
    planned.ledger["place"] = "hill"
    listed = {line for line, _ in map_data(planned)["yards"][0]["money"]}
    haulage = planned.ledger["account"].str.startswith("haulage")
    assert haulage.any()
    assert not listed & set(planned.ledger["line"][haulage])


def test_folium_names_no_address():
    local = LocalMap((0.0, 0.0))
    assert local.default_js == local.default_css == []
    import folium

    assert folium.Map.default_js, "the shared list of folium must stay as it was"


@pytest.mark.parametrize("colour", FEEDSTOCK_COLOURS)
def test_signs_stand_out_from_the_land(colour):
    """WCAG 2.2, success criterion 1.4.11: graphics need a contrast of 3."""
    css = (resources.files("maps") / "static" / "map.css").read_text(encoding="utf-8")
    land = re.search(r"--land: (#\w{6})", css).group(1)
    assert is_colour(colour)
    assert (luminance(land) + 0.05) / (luminance(colour) + 0.05) >= 3
