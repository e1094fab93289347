"""Report and the one page in a real browser: offline, quiet, accessible, on A4."""

import pypdfium2
import pytest
from accessibility import faults
from support.chromium import SIZES

A4 = (595.28, 841.89)  # upright [pt]


@pytest.mark.parametrize(
    "name",
    ["report.html", "nasty_report.html", "explain.html", "nasty_explain.html"],
)
def test_nothing_is_asked_for_and_nothing_complains(show, pages, name):
    window = show(pages[name])
    window.page.wait_for_timeout(300)
    assert window.asked == [window.address]
    assert window.complaints == []
    assert window.page.evaluate("document.images.length") == 0
    assert window.page.evaluate("document.scripts.length") == 0


@pytest.mark.parametrize(
    ("name", "size"),
    [
        pytest.param("report.html", SIZES[1], marks=pytest.mark.thorough),
        pytest.param("report.html", SIZES[0], marks=pytest.mark.thorough),
        pytest.param("nasty_report.html", SIZES[1], marks=pytest.mark.thorough),
        ("explain.html", SIZES[1]),
    ],
    ids=str,
)
def test_axe_finds_nothing(show, pages, size, name):
    assert faults(show(pages[name], *size).page) == []


@pytest.mark.parametrize(
    "name",
    ["report.html", "nasty_report.html", "explain.html", "nasty_explain.html"],
)
def test_the_page_is_never_wider_than_a_phone(show, pages, name):
    page = show(pages[name], 360, 740).page
    assert page.evaluate("document.scrollingElement.scrollWidth") <= 360


def test_it_prints_on_upright_sheets_all_with_something_on_them(show, pages):
    document = pypdfium2.PdfDocument(
        show(pages["report.html"]).page.pdf(
            prefer_css_page_size=True, print_background=True
        )
    )
    sizes = [sheet.get_size() for sheet in document]
    assert 6 <= len(sizes) <= 30
    for number, sheet in enumerate(document, 1):
        assert sheet.get_size() == pytest.approx(A4, abs=1)
        text = sheet.get_textpage().get_text_bounded()
        assert len(text.split()) > 15, f"sheet {number} is almost empty"
    document.close()


def test_the_plan_on_one_page_prints_on_one_sheet(show, pages):
    document = pypdfium2.PdfDocument(
        show(pages["explain.html"]).page.pdf(
            prefer_css_page_size=True, print_background=True
        )
    )
    (sheet,) = document
    assert sheet.get_size() == pytest.approx(A4, abs=1)
    text = " ".join(sheet.get_textpage().get_text_bounded().split())
    assert "What to build, and why there" in text
    assert "local codes and licensed practice" in text
    document.close()
