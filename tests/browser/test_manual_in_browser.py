"""The manual in a real browser: offline, quiet, accessible, searched by keyboard."""

import pypdfium2
import pytest
from accessibility import faults
from support.chromium import SIZES
from support.manual import html

A4 = (595.28, 841.89)  # upright [pt]
SHOWN = "[...document.querySelectorAll('main section')].filter((e) => e.offsetHeight)"


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    """The manual, written once."""
    path = tmp_path_factory.mktemp("manual") / "manual.html"
    path.write_text(html(), encoding="utf-8")
    return path


def shown(page) -> list[str]:
    """Codes of the sections that can be seen."""
    return page.evaluate(f"{SHOWN}.map((e) => e.id)")


@pytest.mark.thorough
@pytest.mark.parametrize("size", SIZES, ids=str)
def test_it_is_quiet_accessible_and_never_too_wide(show, file, size):
    window = show(file, *size)
    window.page.wait_for_timeout(200)
    assert window.asked == [window.address]
    assert window.complaints == []
    assert faults(window.page) == []
    assert window.page.evaluate("document.scrollingElement.scrollWidth") <= size[0]


def test_search_leaves_the_sections_with_all_words(show, file):
    page = show(file).page
    everything = shown(page)
    page.keyboard.press("/")
    page.keyboard.type("discount RATE")
    found = shown(page)
    assert "money-the-year" in found
    assert 0 < len(found) < len(everything) / 4
    for text in page.evaluate(f"{SHOWN}.map((e) => e.textContent.toLowerCase())"):
        assert "discount" in text or "rate" in text
    rows = page.evaluate(
        "[...document.querySelectorAll('#money-the-year tbody tr')]"
        ".filter((e) => e.offsetHeight).map((e) => e.textContent)"
    )
    assert rows
    assert all("discount" in row.lower() for row in rows)
    assert page.inner_text("#found") == f"{len(found)} sections"
    page.keyboard.press("Escape")
    assert shown(page) == everything


def test_the_contents_follow_the_search(show, file):
    page = show(file).page
    page.fill("#words", "mix.cn_low")
    links = page.evaluate(
        "[...document.querySelectorAll('nav li a')].filter((e) => e.offsetHeight)"
        ".map((e) => e.hash)"
    )
    assert "#compost-the-mix" in links
    assert "#cautions" not in links


def test_enter_goes_from_hit_to_hit_and_round_again(show, file):
    page = show(file).page
    page.fill("#words", "discount")
    found, seen = shown(page), []
    for _ in range(len(found) + 1):
        page.focus("#words")
        page.keyboard.press("Enter")
        seen.append(page.evaluate("document.activeElement.id"))
    assert seen == [*found, found[0]]


def test_nothing_found_is_said(show, file):
    page = show(file).page
    page.fill("#words", "zzzyx")
    assert shown(page) == []
    assert page.is_visible("#nothing")
    assert page.is_disabled("#next")


def test_a_link_to_what_is_put_away_brings_it_back(show, file):
    page = show(file).page
    page.fill("#words", "manual.html")
    assert "start-start" not in shown(page)
    page.click("#index-start a[href='#start']")
    assert page.is_visible("#start")
    assert page.input_value("#words") == ""


def test_contents_fold_on_a_phone_and_open_when_asked_for(show, file):
    page = show(file, *SIZES[1]).page
    assert not page.is_visible("nav li a")
    page.click("#search a")
    assert page.is_visible("nav li a")
    page.click("nav a[href='#rounds']")
    assert not page.is_visible("nav li a")


def test_it_prints_whole_on_upright_sheets(show, file):
    page = show(file).page
    made = page.pdf(prefer_css_page_size=True, print_background=True)
    document = pypdfium2.PdfDocument(made)
    texts = [sheet.get_textpage().get_text_bounded() for sheet in document]
    assert all(sheet.get_size() == pytest.approx(A4, abs=1) for sheet in document)
    assert all(len(text.split()) > 5 for text in texts)
    assert "Exit codes" in texts[0]  # the contents, unfolded
    assert "mix.cn_low" in "".join(texts)
    document.close()
