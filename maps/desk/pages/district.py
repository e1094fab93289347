"""
The district: its tables as a grid with the map beside it.

What answers is imported with the first question, not when the desk starts: it brings
the tables' whole machinery with it.
"""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable, Mapping
from importlib import resources
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from maps.desk.grid.faults import EditFault, NoPlace, NotSaved, StaleEdit
from maps.desk.looks import page
from maps.desk.opened import desk_of

LEAFLET = {"leaflet.js": "text/javascript", "leaflet.css": "text/css"}
Handler = Callable[[Request], Awaitable[Response]]
Answer = Callable[[Any, Path, Mapping[str, Any]], Any]


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


def _answers(work: Answer, *, posted: bool = False) -> Handler:
    """
    Make a handler of what answers a question about a folder.

    Parameters
    ----------
    work
        Function of the module of answers, the folder, and what was asked: names in the
        address, words behind it, and the object that was sent.
    posted
        Whether an object is sent.
    """

    async def handler(request: Request) -> Response:
        folder = folder_of(request)
        asked = {**request.query_params, **request.path_params}
        sent = await _sent(request) if posted else {}
        return await run_in_threadpool(_done, work, folder, {**asked, "sent": sent})

    return handler


def _done(work: Answer, folder: Path, asked: Mapping[str, Any]) -> Response:
    from maps.desk.grid import answers

    try:
        return JSONResponse(work(answers, folder, asked))
    except (StaleEdit, NotSaved) as fault:
        return JSONResponse({"fault": str(fault)}, 409)
    except (EditFault, NoPlace) as fault:
        return JSONResponse({"fault": f"{fault}."}, 422)
    except answers.NoTable as fault:
        return JSONResponse({"fault": f"{fault}."}, 404)


async def _sent(request: Request) -> Any:
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


READ: dict[str, Answer] = {
    "tables": lambda a, folder, _: a.overview(folder),
    "check": lambda a, folder, _: a.check(folder),
    "ground": lambda a, folder, _: a.ground(folder),
    "no-go": lambda a, folder, asked: a.no_go(folder, asked.get("area_m2", "")),
    "tables/{table}": lambda a, folder, asked: a.table(folder, asked["table"]),
    "tables/{table}/both": lambda a, folder, asked: a.both(folder, asked["table"]),
}
DONE: dict[str, Answer] = {
    "save": lambda a, folder, _: a.save(folder),
    "place": lambda a, folder, asked: a.judge(folder, asked["sent"]),
    "tables/{table}/edits": lambda a, folder, asked: a.edit(
        folder, asked["table"], asked["sent"]
    ),
    "tables/{table}/choice": lambda a, folder, asked: a.choose(
        folder, asked["table"], asked["sent"]
    ),
}
API = "/s/{scenario}/api/district"
ROUTES = [
    Route("/s/{scenario}/district", district),
    Route("/lib/{name}", library_file),
    *(Route(f"{API}/{path}", _answers(work)) for path, work in READ.items()),
    *(
        Route(f"{API}/{path}", _answers(work, posted=True), methods=["POST"])
        for path, work in DONE.items()
    ),
]
