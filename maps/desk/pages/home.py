"""The first page: all scenarios with picture, figures and faults; ways to begin one."""

from __future__ import annotations

import time
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from maps.desk.beginnings import (
    begin,
    blank,
    copy,
    demo_folder,
    demos,
    free_name,
)
from maps.desk.book import PlanEntry, is_older, last_done, plans, yards_of
from maps.desk.figures import PlanFigure, ago, figures
from maps.desk.looks import address_of, form_of, page, see_other
from maps.desk.opened import OpenedDesk, desk_of
from maps.desk.seen import Seen
from maps.desk.small_map import small_map

SHOWN = ("Yards in use", "Collected", "Net cost", "Proven gap")
"""Figures on a card."""
FAULTS_SHOWN = 3


@dataclass(frozen=True)
class Card:
    """
    What the first page shows of a scenario.

    Attributes
    ----------
    name
        Name of its folder.
    seen
        What is known of its data; None while it is looked at.
    picture
        Its small map.
    last, planned, older
        Its newest finished plan, how long ago that was ordered, and whether its data
        has changed since.
    figures
        Of that plan.
    under_way
        Plans that wait or are being made.
    """

    name: str
    seen: Seen | None
    picture: Markup
    last: PlanEntry | None
    planned: str
    older: bool
    figures: list[PlanFigure]
    under_way: int


def card_of(name: str, folder: Path, seen: Seen | None) -> Card:
    """Gather what is shown of a scenario."""
    entries = plans(folder)
    last = last_done(entries)
    picture = Markup("")
    if seen is not None:
        opened = [
            ("open", *seen.yards[code]) for code in yards_of(last) if code in seen.yards
        ]
        picture = small_map(seen.places, opened, seen.ground)
    return Card(
        name=name,
        seen=seen,
        picture=picture,
        last=last,
        planned=ago(time.time() - last.ordered) if last else "",
        older=bool(last and seen and is_older(last, seen.digest, seen.fingerprint)),
        figures=[f for f in figures(last.summary) if f.label in SHOWN] if last else [],
        under_way=sum(entry.under_way for entry in entries),
    )


def home(request: Request) -> Response:
    """Show all scenarios; those not looked at yet come later."""
    desk = desk_of(request)
    cards = []
    for name in desk.shelf.names():
        folder = desk.shelf.scenario(name)
        cards.append(card_of(name, folder, desk.looks.known(folder)))
    return page(
        request,
        "desk_home.html.j2",
        cards=cards,
        demos=demos(),
        alone=desk.shelf.only is not None,
        most=FAULTS_SHOWN,
    )


def card(request: Request) -> Response:
    """Look at a scenario and show its card alone."""
    desk = desk_of(request)
    name = request.path_params["name"]
    folder = desk.shelf.scenario(name)
    made = card_of(name, folder, desk.looks.at(folder))
    return page(request, "desk_card.html.j2", card=made, most=FAULTS_SHOWN)


def to_plan(request: Request) -> Response:
    """Lead from the address of a scenario to its first page."""
    desk_of(request).shelf.scenario(request.path_params["name"])
    return RedirectResponse(address_of("s", request.path_params["name"], "plan"), 302)


async def begin_new(request: Request) -> Response:
    """Make a scenario from a blank sheet, a demo or a copy."""
    form = await form_of(request)
    desk = desk_of(request)
    made = await run_in_threadpool(begun, desk, request.path_params["way"], form)
    return see_other(address_of("s", made.name, "plan"))


def begun(desk: OpenedDesk, way: str, form: dict[str, str]) -> Path:
    """
    Make a scenario as a form asks.

    Raises
    ------
    NameFault
        If its name cannot be one, or is taken.
    NotThere
        If the scenario to copy is not there.
    """
    name = form.get("name", "").strip()
    if way == "blank":
        fill = partial(blank, kind=form.get("kind", "csv"), name=name)
        return begin(desk.shelf, name, fill)
    if way == "copy":
        origin = desk.shelf.scenario(form.get("origin", ""))
        return begin(desk.shelf, name, partial(copy, origin))
    demo = demo_folder(form.get("demo", ""))
    if way != "demo" or demo is None:
        raise HTTPException(404, "There is no such demo here")
    name = name or free_name(desk.shelf, demo.name)
    return begin(desk.shelf, name, partial(copy, demo))


ROUTES = [
    Route("/", home),
    Route("/begin/{way}", begin_new, methods=["POST"]),
    Route("/s/{name}", to_plan),
    Route("/s/{name}/card", card),
]
