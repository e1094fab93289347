"""Pages of the desk: templates filled, and files of ours sent; no script in a page."""

from __future__ import annotations

from functools import cache
from importlib import resources
from urllib.parse import parse_qsl, quote

import jinja2
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

STATIC = resources.files("maps") / "static"
FIELDS = 200
"""Most fields of a form."""
TABS = (
    ("district", "District"),
    ("plan", "Plan"),
    ("answers", "Map and answers"),
    ("whatif", "What if"),
    ("money", "Money"),
    ("month", "Month"),
)
"""Last part of the address, and name, of each page of a scenario."""
HELP = {
    "desk_home.html.j2": "your-scenarios",
    "desk_bring.html.j2": "files-as-you-have-them",
    "desk_copies.html.j2": "files-as-you-have-them",
    "desk_district.html.j2": "district",
    "desk_settings.html.j2": "settings",
    "desk_plan.html.j2": "plan",
    "desk_entry.html.j2": "the-plan-book",
    "desk_compare.html.j2": "the-plan-book",
    "desk_delete.html.j2": "the-plan-book",
    "desk_answers.html.j2": "map-and-answers",
    "desk_whatif.html.j2": "what-if",
    "desk_study.html.j2": "studies",
    "desk_money.html.j2": "money",
    "desk_month.html.j2": "month",
    "desk_today.html.j2": "today",
    "desk_take.html.j2": "take-away",
    "desk_fault.html.j2": "what-the-desk-refuses",
}
"""Template of a page -> heading about it in the manual's `desk.md`."""


@cache
def _environment() -> jinja2.Environment:
    """Templates of `STATIC`; every text is escaped, no name may be missing."""
    made = jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        loader=jinja2.FunctionLoader(
            lambda name: (STATIC / name).read_text(encoding="utf-8")
        ),
    )
    made.filters["part"] = lambda text: quote(str(text), safe="")
    return made


def page(
    request: Request,
    template: str,
    *,
    status: int = 200,
    scenario: str | None = None,
    here: str = "",
    **values: object,
) -> HTMLResponse:
    """
    Fill a page of the desk.

    Parameters
    ----------
    request
        What is answered.
    template
        File of `STATIC` that extends `desk.html.j2`.
    status
        Status code.
    scenario
        Folder name of the scenario that the page is about; its tabs are then shown.
    here
        Last part of the address of the tab that the page belongs to.
    values
        What the template needs besides.
    """
    shared = {
        "scenario": scenario,
        "here": here,
        "tabs": TABS,
        "help_at": f"/help#desk-{HELP[template]}" if template in HELP else "/help",
        "folder": str(request.app.state.desk.shelf.folder),
    }
    html = _environment().get_template(template).render(**shared, **values)
    return HTMLResponse(html, status)


def see_other(address: str) -> RedirectResponse:
    """Send the browser to a page after something was changed."""
    return RedirectResponse(address, status_code=303)


def address_of(*parts: str) -> str:
    """
    Join parts to an address on this desk.

    >>> address_of("s", "North & South", "plan")
    '/s/North%20%26%20South/plan'
    """
    return "/" + "/".join(quote(part, safe="") for part in parts)


async def form_of(request: Request) -> dict[str, str]:
    """Read the fields of a form; of two of one name the last counts."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip()
    if kind != "application/x-www-form-urlencoded":
        raise HTTPException(415, "This is not a form of the desk")
    try:
        text = (await request.body()).decode("utf-8")
        pairs = parse_qsl(text, keep_blank_values=True, max_num_fields=FIELDS)
    except ValueError:
        raise HTTPException(400, "This is not a form of the desk") from None
    return dict(pairs)


KINDS = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}
"""Files of ours that a page may name."""


def static(request: Request) -> Response:
    """Send a script, style or picture of the desk."""
    name = request.path_params["name"]
    kind = KINDS.get(name[name.rfind(".") :])
    known = {file.name for file in STATIC.iterdir()} if kind else set()
    if kind is None or name not in known:
        raise HTTPException(404, "There is no such file")
    return Response((STATIC / name).read_bytes(), media_type=kind)
