"""axe-core in an open page."""

from axe_playwright_python.sync_playwright import Axe

OPTIONS = {"rules": {"target-size": {"enabled": True}}}
"""Of WCAG 2.2 and off by itself: targets of 24 px."""


def faults(page):
    """Rules of axe-core that are broken, each with the elements that break it."""
    found = Axe().run(page, options=OPTIONS)
    assert len(found.response["passes"]) > 10, "axe-core looked at nothing"
    return [
        f"{rule['id']} ({rule['impact']}): {node['target']} {node['html'][:160]}"
        for rule in found.response["violations"]
        for node in rule["nodes"]
    ]
