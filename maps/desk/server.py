"""The desk as one application: its pages, behind the guard."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from maps.desk.guard import Guard, RequestLimits
from maps.desk.line import PlanLine
from maps.desk.looks import page, static
from maps.desk.opened import OpenedDesk, OpenedManual
from maps.desk.pages import (
    answers,
    bring,
    copies,
    district,
    entry,
    fleet,
    hands,
    help,
    home,
    money,
    month,
    plan,
    settings,
    study,
    take,
    today,
    tray,
    whatif,
)
from maps.desk.refusals import Key
from maps.desk.shelf import NameFault, NotThere, open_shelf

PAGES = [
    *home.ROUTES,
    *bring.ROUTES,
    *copies.ROUTES,
    *district.ROUTES,
    *settings.ROUTES,
    *plan.ROUTES,
    *answers.ROUTES,
    *tray.ROUTES,
    *whatif.ROUTES,
    *study.ROUTES,
    *money.ROUTES,
    *fleet.ROUTES,
    *month.ROUTES,
    *hands.ROUTES,
    *today.ROUTES,
    *take.ROUTES,
    *entry.ROUTES,
    *help.ROUTES,
]
"""Routes of all pages; a page of a scenario has its tab in `looks.TABS`."""


def make_app(
    folder: Path | None,
    *,
    key: Key,
    limits: RequestLimits | None = None,
    manual: Callable[[], str] = str,
) -> Starlette:
    """
    Assemble the desk of a folder.

    Parameters
    ----------
    folder
        A scenario, a folder of scenarios, or None for the person's own folder.
    key
        What opens it.
    limits
        How much a request may bring.
    manual
        Makes the manual, which Help shows; without one there is no help.

    Raises
    ------
    OSError
        If there is no such folder.
    """
    app = Starlette(
        routes=[Route("/static/{name}", static), *PAGES],
        lifespan=_open,
        middleware=[Middleware(Guard, key=key, limits=limits)],
        exception_handlers={
            HTTPException: _told,
            NotThere: _not_there,
            NameFault: _not_so,
        },
    )
    shelf = open_shelf(folder)
    line = PlanLine(shelf)
    app.state.desk = OpenedDesk(shelf, line, manual=OpenedManual(manual))
    return app


@asynccontextmanager
async def _open(app: Starlette) -> AsyncIterator[None]:
    """Send workers while the desk is open; those at work when it closes go on."""
    line: PlanLine = app.state.desk.line
    line.start()
    try:
        yield
    finally:
        await run_in_threadpool(line.close)
        await run_in_threadpool(app.state.desk.answering.close)
        await run_in_threadpool(app.state.desk.drops.close)


def _told(request: Request, error: Exception) -> Response:
    """Say in words what is wrong with a request."""
    assert isinstance(error, HTTPException)
    return _fault(request, error.status_code, error.detail)


def _not_there(request: Request, error: Exception) -> Response:
    return _fault(request, 404, f"There is no {error} here")


def _not_so(request: Request, error: Exception) -> Response:
    return _fault(request, 422, str(error))


def _fault(request: Request, status: int, words: str) -> Response:
    """Answer a script with JSON and a person with a page."""
    if "/api/" in request.url.path or request.url.path == "/bring":
        return JSONResponse({"fault": f"{words}."}, status)
    return page(request, "desk_fault.html.j2", status=status, words=f"{words}.")
