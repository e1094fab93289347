"""
The pages of the manual -> one HTML page that opens offline and can be searched.

Like the map, the page loads nothing: pictures, style and script are inside it, and a
content security policy names the digest of script and style.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from mimetypes import guess_type

from markdown_it import MarkdownIt
from markdown_it.token import Token
from markupsafe import Markup

from maps.manual.pages import Page, picture, read_pages
from maps.manual.reference import Commands, with_reference
from maps.shared import STATIC, filled, lean, own_style, policy

LINK = re.compile(r"(\w+)\.md(?:#([\w-]+))?")
PARSER = MarkdownIt("commonmark", {"html": False}).enable("table")
PAIR, WIDE = "pair", "wide"
"""Classes of tables: two columns, which fit a phone, and all others."""


@dataclass(frozen=True, slots=True)
class Passage:
    """
    A heading with what stands below it, up to the next heading.

    Attributes
    ----------
    code
        Name of the place in the page.
    title
        Text of the heading; empty for what stands before the first one.
    level
        Level of the heading in the page: 3 or 4.
    body
        HTML.
    """

    code: str
    title: str
    level: int
    body: Markup


@dataclass(frozen=True, slots=True)
class Chapter:
    """A page as HTML, in sections; the first has no heading of its own."""

    code: str
    title: str
    sections: tuple[Passage, ...]


def manual_html(commands: Commands, version: str) -> str:
    """
    Make the manual's HTML.

    Parameters
    ----------
    commands
        All commands with their options.
    version
        Version of the program, for the head of the page.

    Returns
    -------
    str
        One page; the same pages give the same text.
    """
    chapters = [chapter(page, commands) for page in read_pages()]
    style = own_style("manual.css")
    script = lean((STATIC / "manual.js").read_text(encoding="utf-8"))
    return filled(
        "manual.html.j2",
        chapters=chapters,
        version=version,
        policy=policy([style], [script], images=""),
        style=Markup(style),
        script=Markup(script),
    )


def chapter(page: Page, commands: Commands) -> Chapter:
    """Make one page of the manual into HTML, reference filled in."""
    tokens = PARSER.parse(with_reference(page.text, commands))
    for token in _all(tokens):
        _fit(token)
    for at, token in enumerate(tokens):
        if token.type == "table_open":
            token.attrs["class"] = _kind(tokens[at:])
    sections = tuple(_sections(page.name, tokens))
    return Chapter(page.name, page.title, sections)


def anchor(title: str) -> str:
    """
    Name of the place of a heading, as it stands in links within the pages.

    Examples
    --------
    >>> anchor("What if? (`compare`)")
    'what-if-compare'
    """
    return re.sub(r"[^\w\- ]", "", title.casefold()).replace(" ", "-")


def place(page: str, title: str = "") -> str:
    """
    Name of a place in the one page that holds all.

    >>> place("plan"), place("plan", "exit-codes")
    ('plan', 'plan-exit-codes')
    """
    return f"{page}-{title}" if title else page


def _sections(page: str, tokens: list[Token]) -> Iterator[Passage]:
    """Cut at the headings below the first, which is the title of the page."""
    heads = [at for at, token in enumerate(tokens) if token.type == "heading_open"]
    for at, following in zip(heads, [*heads[1:], len(tokens)], strict=True):
        first = at == heads[0]
        title = "" if first else tokens[at + 1].content.replace("`", "")
        yield Passage(
            code=place(page, anchor(title)) if title else f"{page}-start",
            title=title,
            level=min(4, int(tokens[at].tag[1]) + 1),
            body=_html(tokens[at + 3 : following]),
        )


def _html(tokens: list[Token]) -> Markup:
    """HTML of tokens; Markdown's own HTML is off, so every text is escaped."""
    page = PARSER.renderer.render(tokens, PARSER.options, {})
    wide = f'<table class="{WIDE}">'
    return Markup(
        page.replace(wide, f'<div class="scroll" tabindex="0">{wide}')
        .replace(f'<table class="{PAIR}">', f'<div class="fit"><table class="{PAIR}">')
        .replace("</table>", "</table></div>")
    )


def _kind(tokens: list[Token]) -> str:
    """Class of the table that begins here, by the number of its columns."""
    types = [token.type for token in tokens]
    heads = types[: types.index("thead_close")].count("th_open")
    return PAIR if heads == 2 else WIDE


def _all(tokens: Iterable[Token]) -> Iterator[Token]:
    for token in tokens:
        yield token
        yield from _all(token.children or ())


def _fit(token: Token) -> None:
    """Turn links, pictures and alignment into what the one page can hold."""
    if token.type == "link_open":
        found = LINK.fullmatch(str(token.attrs["href"]))
        if found:
            token.attrs["href"] = "#" + place(found[1], found[2] or "")
    elif token.type == "image":
        path = str(token.attrs["src"])
        data = base64.b64encode(picture(path)).decode("ascii")
        token.attrs["src"] = f"data:{guess_type(path, strict=False)[0]};base64,{data}"
    elif token.attrs.pop("style", "") == "text-align:right":
        token.attrs["class"] = "n"
    elif token.type == "fence":
        token.info = ""
