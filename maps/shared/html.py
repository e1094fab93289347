"""
Pages that load nothing: templates filled, scripts and styles named by their digest.

A content security policy names the digest of every script and style in a page, so that
the browser runs nothing else and loads nothing from anywhere.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterable
from importlib import resources

import jinja2
from markupsafe import Markup

STATIC = resources.files("maps") / "static"


def digest(text: str) -> str:
    """Digest of a script or style as a content security policy writes it."""
    raw = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(raw).decode('ascii')}'"


def policy(
    styles: Iterable[str], scripts: Iterable[str] = (), images: str | None = None
) -> str:
    """
    Content security policy that allows these styles and scripts, nothing else.

    Parameters
    ----------
    styles, scripts
        Their texts as they stand in the page.
    images
        None for a page without pictures of its own. Otherwise pictures in the page
        itself are allowed, and those of this server (of an online map's tiles) if
        one is named.
    """
    rules = ["default-src 'none'"]
    if scripts := list(scripts):
        rules.append("script-src " + " ".join(digest(text) for text in scripts))
    rules.append("style-src " + " ".join(digest(text) for text in styles))
    if images is not None:
        rules.append(f"img-src data: {images}".strip())
    if scripts:
        rules.append("connect-src 'none'")
    return "; ".join([*rules, "base-uri 'none'", "form-action 'none'"])


def script_json(data: object) -> Markup:
    r"""
    Write JSON that is safe inside a script element, whatever the names hold.

    >>> print(script_json({"name": "</script>"}))
    {"name":"\u003c/script\u003e"}
    """
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(text)


def own_script(names: Iterable[str], start: str) -> str:
    """
    Join our scripts into one that keeps its names to itself, without its comments.

    Parameters
    ----------
    names
        Files of `STATIC`, in order.
    start
        What folium has to say: the function that makes Leaflet's map.
    """
    own = "\n".join((STATIC / name).read_text(encoding="utf-8") for name in names)
    return f'(function () {{\n"use strict";\n{lean(start)}\n{lean(own)}\n}})();'


def own_style(*names: str) -> str:
    """Join our styles, files of `STATIC` in order, into one; without what is for us."""
    own = "\n".join((STATIC / name).read_text(encoding="utf-8") for name in names)
    return tight(lean(own))


def tight(style: str) -> str:
    """
    Leave out of a style the spaces that divide nothing.

    >>> tight('a :hover, b { color: red; content: ": {;}"; }')
    'a :hover,b{color:red;content:": {;}"}'
    """
    kept = re.split(r'("[^"]*")', style.strip())
    for place in range(0, len(kept), 2):
        part = re.sub(r"\s*([{};,])\s*|(?<=:)[ ]", r"\1", kept[place])
        kept[place] = part.replace(";}", "}")
    return "".join(kept)


def lean(script: str) -> str:
    r"""
    Leave out of a script the comments that stand alone, and the indentation.

    >>> lean("/* why\n   so */\n  let a;\n")
    'let a;'
    """
    plain = re.sub(
        r"^[ \t]*/\*.*?\*/[ \t]*$", "", script, flags=re.MULTILINE | re.DOTALL
    )
    return "\n".join(line.strip() for line in plain.splitlines() if line.strip())


def filled(template: str, *, trim: bool = False, **values: object) -> str:
    """
    Fill a template of `STATIC`; every text is escaped, no name may be missing.

    Parameters
    ----------
    trim
        Leave out the blank lines and the indentation that blocks of the template make.
    """
    environment = jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=trim,
        lstrip_blocks=trim,
        loader=jinja2.FunctionLoader(
            lambda name: (STATIC / name).read_text(encoding="utf-8")
        ),
    )
    return environment.get_template(template).render(**values)


def style_of_report() -> str:
    """Style that the report and the pages like it share."""
    return (STATIC / "report.css").read_text(encoding="utf-8")


def render(template: str, *, more_style: str = "", **values: object) -> str:
    """Fill a template in the style of the report, and a style on top."""
    style = style_of_report() + more_style
    return filled(
        template, trim=True, policy=policy([style]), style=Markup(style), **values
    )
