"""The page of the settings: a form of the file that every scenario has."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from maps.desk.grid.faults import EditFault, NotSaved, StaleEdit
from maps.desk.looks import page
from maps.desk.pages.district import folder_of, sent_object


def settings(request: Request) -> Response:
    """Show the form as the settings are with their edits."""
    from maps.desk.settings.answers import form

    told = form(folder_of(request))
    return page(
        request,
        "desk_settings.html.j2",
        scenario=request.path_params["scenario"],
        here="district",
        **told,
    )


async def read(request: Request) -> Response:
    """Answer a question about the settings."""
    return await run_in_threadpool(_answered, request, None)


async def change(request: Request) -> Response:
    """Do what was sent."""
    return await run_in_threadpool(_answered, request, await sent_object(request))


def _answered(request: Request, sent: dict[str, Any] | None) -> Response:
    from maps.desk.settings.answers import DONE, READ

    folder: Path = folder_of(request)
    works = READ if sent is None else DONE
    work = works.get(request.path_params["what"])
    if work is None:
        raise HTTPException(404, "There is nothing of that name to ask for")
    try:
        return JSONResponse(work(folder, sent))
    except (StaleEdit, NotSaved) as fault:
        return JSONResponse({"fault": str(fault)}, 409)
    except EditFault as fault:
        return JSONResponse({"fault": f"{fault}."}, 422)


API = "/s/{scenario}/api/settings/{what}"
ROUTES = [
    Route("/s/{scenario}/settings", settings),
    Route(API, read),
    Route(API, change, methods=["POST"]),
]
