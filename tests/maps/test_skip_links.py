"""The first thing the Tab key meets on a long page is a link past what is long."""

import re

import pytest
from support.fake_result import result

from maps.geo.web_map import map_html
from maps.report.report import report_html
from maps.studies.comparison_map import comparison_html

PAGES = {
    "map": map_html,
    "report": report_html,
    "comparison": lambda planned: comparison_html(planned, []),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", PAGES)
def test_a_link_skips_to_something_that_takes_the_focus(name):
    page = PAGES[name](result())
    body = page.partition("<body")[2].partition(">")[2].lstrip()
    link = re.match(r'<a class="skip" href="#([\w-]+)">[A-Z][^<]+</a>', body)
    assert link, body[:100]
    (target,) = re.findall(rf'<[^>]* id="{link[1]}"[^>]*>', page)
    assert 'tabindex="-1"' in target
    assert ".skip:focus" in page
