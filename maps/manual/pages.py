"""
The pages of the manual, as they are written.

A page is a Markdown file of this folder; `index.md` names them all, in order. To add
a page, write the file and link to it from the list in `index.md`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from importlib import resources

FOLDER = resources.files("maps") / "manual"
INDEX = "index"
LISTED = re.compile(r"^- \[[^\]]+\]\((\w+)\.md\)", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Page:
    """
    One page of the manual.

    Attributes
    ----------
    name
        Name of its file without `.md`.
    text
        Its Markdown.
    """

    name: str
    text: str

    @property
    def title(self) -> str:
        r"""
        First heading of the page.

        >>> Page("land", "# Where a yard may stand\n").title
        'Where a yard may stand'
        """
        return self.text.partition("\n")[0].removeprefix("# ").strip()


def read_pages() -> list[Page]:
    """
    Read all pages in the order in which `index.md` lists them, itself first.

    Examples
    --------
    >>> [page.name for page in read_pages()][:2]
    ['index', 'start']
    """
    first = _read(INDEX)
    return [first, *(_read(name) for name in LISTED.findall(first.text))]


def _read(name: str) -> Page:
    return Page(name, (FOLDER / f"{name}.md").read_text(encoding="utf-8"))


def picture(path: str) -> bytes:
    """Bytes of a picture by its path beside the pages."""
    return FOLDER.joinpath(*path.split("/")).read_bytes()
