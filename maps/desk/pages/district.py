"""
The district: its tables as a grid with the map beside it.

What answers is imported with the first question, not when the desk starts: it brings
the tables' whole machinery with it.
"""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from maps.desk.grid.faults import EditFault, NotSaved, StaleEdit
from maps.desk.looks import page
from maps.desk.opened import desk_of

LEAFLET = {"leaflet.js": "text/javascript", "leaflet.css": "text/css"}


def folder_of(request: Request) -> Path:
    """Folder of the scenario that an address names."""
    return desk_of(request).shelf.scenario(request.path_params["scenario"])


def district(request: Request) -> Response:
    """Show the page; the script asks for the rest."""
    name = request.path_params["scenario"]
    folder_of(request)
    return page(request, "desk_district.html.j2", scenario=name, here="district")


def library_file(request: Request) -> Response:
    """Send the map library that is installed."""
    name = request.path_params["name"]
    if name not in LEAFLET:
        raise HTTPException(404, "There is no such file")
    package = resources.files("js_lib_leaflet") / "static" / "js_lib_leaflet"
    kind = f"{LEAFLET[name]}; charset=utf-8"
    day = {"cache-control": "private, max-age=86400"}
    return Response((package / name).read_bytes(), media_type=kind, headers=day)


async def read(request: Request) -> Response:
    """Answer a question about the tables."""
    return await run_in_threadpool(_answered, request, {})


async def change(request: Request) -> Response:
    """Do what was sent."""
    return await run_in_threadpool(
        _answered, request, {"sent": await sent_object(request)}
    )


def _answered(request: Request, more: dict[str, Any]) -> Response:
    from maps.desk.grid.answers import NoTable, answer

    folder = folder_of(request)
    area = request.query_params.get("area_m2", "")
    asked = {"what": "table", "area_m2": area, **request.path_params, **more}
    try:
        return JSONResponse(answer(folder, asked))
    except (StaleEdit, NotSaved) as fault:
        return JSONResponse({"fault": str(fault)}, 409)
    except EditFault as fault:
        return JSONResponse({"fault": f"{fault}."}, 422)
    except NoTable as fault:
        return JSONResponse({"fault": f"{fault}."}, 404)


async def sent_object(request: Request) -> Any:
    """Read a body of JSON: an object."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip()
    try:
        if kind != "application/json":
            raise ValueError
        sent = json.loads(await request.body())
        if not isinstance(sent, dict):
            raise ValueError
    except (ValueError, RecursionError):
        raise HTTPException(415, "This is not what the page sends") from None
    return sent


API = "/s/{scenario}/api/district"
ROUTES = [
    Route("/s/{scenario}/district", district),
    Route("/lib/{name}", library_file),
    Route(f"{API}/tables/{{table}}", read),
    Route(f"{API}/tables/{{table}}/{{what}}", read),
    Route(f"{API}/tables/{{table}}/{{what}}", change, methods=["POST"]),
    Route(f"{API}/{{what}}", read),
    Route(f"{API}/{{what}}", change, methods=["POST"]),
]
