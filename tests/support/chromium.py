"""
Debian's Chromium, driven by Playwright, for tests and benchmarks.

Playwright brings no browser here: the one that is installed is used. Without one the
tests are skipped, or fail if LOAMHAUL_BROWSER is "required", as it is in .ci/run.
"""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

SIZES = ((1280, 800), (360, 740))
"""Windows in which pages are tried: a desk's and a phone's."""

WIDE = pytest.param(SIZES[0], marks=pytest.mark.thorough)
"""The desk's, in the thorough run: the phone is the harder of the two."""
DESK_SIZES = ((1366, 768), (1280, 720), (820, 1180))
"""Windows in which the desk is tried: two of an office, a tablet upright."""

NAMES = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--headless",
    "--no-sandbox",  # needed as root
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def executable() -> str | None:
    """Path of an installed browser."""
    return next(filter(None, map(shutil.which, NAMES)), None)


@contextmanager
def browser() -> Iterator:
    """Start the browser with an empty profile; skip or fail where there is none."""
    path = executable()
    if path is None:
        if os.environ.get("LOAMHAUL_BROWSER") == "required":
            pytest.fail("LOAMHAUL_BROWSER=required, but no Chromium is installed")
        pytest.skip("no Chromium installed, so no page can be opened and looked at")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        try:
            yield started
        finally:
            started.close()


class Watched:
    """
    A page that keeps what it asked for and what it complained about.

    Attributes
    ----------
    page
        Playwright's page.
    asked
        Addresses of all requests.
    complaints
        Errors and warnings of the console, uncaught errors, dialogs opened.
    """

    def __init__(self, browser, file: Path | str, width: int, height: int):
        self.context = browser.new_context(
            viewport={"width": width, "height": height}, reduced_motion="reduce"
        )
        self.page = self.context.new_page()
        self.asked: list[str] = []
        self.complaints: list[str] = []
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("console", self._console)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("dialog", self._dialog)
        self.address = file if isinstance(file, str) else file.resolve().as_uri()
        self.page.goto(self.address)
        if "/open" in self.address:  # the desk leads on to its first page
            self.page.wait_for_url(lambda address: "/open" not in address)

    def _console(self, message) -> None:
        if message.type in ("error", "warning"):
            self.complaints.append(message.text)

    def _dialog(self, dialog) -> None:
        self.complaints.append(f"dialog: {dialog.message}")
        dialog.dismiss()
