"""axe-core in an open page."""

from axe_playwright_python.sync_playwright import Axe
from support.chromium import DESK_SIZES

OPTIONS = {
    "rules": {"target-size": {"enabled": True}},
    "resultTypes": ["violations"],
}
"""Targets of 24 px are of WCAG 2.2 and off by itself; only faults are told in full."""


def faults(page, within=None):
    """Rules of axe-core that are broken, each with the elements that break it."""
    found = Axe().run(page, context=within, options=OPTIONS)
    least = 10 if within is None else 3
    assert len(found.response["passes"]) > least, "axe-core looked at nothing"
    return [
        f"{rule['id']} ({rule['impact']}): {node['target']} {node['html'][:160]}"
        for rule in found.response["violations"]
        for node in rule["nodes"]
    ]


def looked_at(page) -> None:
    """Hold that a page of the desk is accessible, and no window of it too wide."""
    page.wait_for_load_state()
    for width, height in reversed(DESK_SIZES):
        page.set_viewport_size({"width": width, "height": height})
        wide = page.evaluate("document.scrollingElement.scrollWidth")
        assert wide <= width, page.url
    assert faults(page) == [], page.url
