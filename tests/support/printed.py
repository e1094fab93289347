"""
What stands on printed pages: words with their places, read by poppler's pdftotext.

`LOAMHAUL_OFFICE=required`, as in .ci/run, makes tests fail where LibreOffice or poppler
is missing; otherwise they are skipped.
"""

import html
import itertools
import os
import re
import shutil
import subprocess
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

PROGRAMS = ("soffice", "pdftotext")
PAGE = re.compile(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', re.DOTALL)
WORD = re.compile(
    r'<word xMin="(-?[\d.]+)" yMin="(-?[\d.]+)" xMax="(-?[\d.]+)" yMax="(-?[\d.]+)">'
    r"(.*?)</word>"
)
TOUCH = 1.5
"""Words that lie over each other by no more than this are side by side. [pt]"""


@cache
def need_office() -> None:
    """Skip or fail where a program is missing."""
    missing = [name for name in PROGRAMS if shutil.which(name) is None]
    if missing and os.environ.get("LOAMHAUL_OFFICE") == "required":
        pytest.fail(f"LOAMHAUL_OFFICE=required, but missing: {', '.join(missing)}")
    if missing:
        pytest.skip(f"not installed, so nothing is printed: {', '.join(missing)}")


@dataclass(frozen=True)
class Word:
    """A word and its box, from the upper left corner. [pt]"""

    left: float
    top: float
    right: float
    bottom: float
    text: str

    def on_line_of(self, other: "Word") -> bool:
        middle = (self.top + self.bottom) / 2
        return other.top < middle < other.bottom


@dataclass(frozen=True)
class Sheet:
    """A printed page."""

    width: float
    height: float
    words: list[Word]

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)

    def outside(self) -> list[str]:
        """Words that lie outside the page, wholly or in part."""
        return [
            w.text
            for w in self.words
            if w.left < 0 or w.top < 0 or w.right > self.width or w.bottom > self.height
        ]

    def over_each_other(self) -> list[tuple[str, str]]:
        """Words printed over their neighbour on the line."""
        found = []
        order = sorted(self.words, key=lambda w: (round(w.top), w.left))
        for one, other in itertools.pairwise(order):
            same = one.on_line_of(other) and other.on_line_of(one)
            if same and one.left < other.left < one.right - TOUCH:
                found.append((one.text, other.text))
        return found

    def lines(self, foot: float = 50) -> list[tuple[float, str]]:
        """Lines above the foot of the page: where each ends [pt], and its words."""
        found: list[list[Word]] = []
        for word in sorted(self.words, key=lambda w: (w.bottom, w.left)):
            if word.bottom > self.height - foot:
                continue
            if found and abs(found[-1][0].bottom - word.bottom) < 3:
                found[-1].append(word)
            else:
                found.append([word])
        return [
            (
                max(w.bottom for w in line),
                " ".join(w.text for w in sorted(line, key=lambda w: w.left)),
            )
            for line in found
        ]


def sheets(pdf: Path) -> list[Sheet]:
    """Read the pages of a PDF."""
    out = subprocess.run(
        ["pdftotext", "-bbox", pdf, "-"],
        check=True,
        capture_output=True,
        text=True,
        timeout=120,
    ).stdout
    return [
        Sheet(
            float(width),
            float(height),
            [
                Word(*map(float, found[:4]), html.unescape(found[4]))
                for found in WORD.findall(body)
            ],
        )
        for width, height, body in PAGE.findall(out)
    ]


def office_pdfs(books: list[Path], out: Path) -> dict[str, Path]:
    """Let LibreOffice print workbooks, all in one start of it."""
    need_office()
    profile = f"-env:UserInstallation={(out / 'profile').resolve().as_uri()}"
    command = ["soffice", profile, "--headless", "--convert-to", "pdf"]
    subprocess.run(
        [*command, "--outdir", out, *books],
        check=True,
        capture_output=True,
        timeout=600,
    )
    return {book.name: out / f"{book.stem}.pdf" for book in books}
