"""The district: its tables as a grid with the map beside it."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from maps.desk.grid.checking import checker_of, placed
from maps.desk.grid.columns import (
    filled_from_library,
    pick_lists,
    shown_columns,
    table_name,
    table_order,
)
from maps.desk.grid.drafts import Draft, StaleEdit, drafts_of
from maps.desk.grid.edits import EditFault
from maps.desk.grid.places import NoPlace, background, places_of, points
from maps.desk.grid.saving import NotSaved, differences, save_all
from maps.desk.looks import page
from maps.desk.opened import desk_of
from maps.shared import leaflet

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
    kind = f"{LEAFLET[name]}; charset=utf-8"
    day = {"cache-control": "private, max-age=86400"}
    return Response(leaflet(name), media_type=kind, headers=day)


def overview(request: Request) -> Response:
    """Every table: rows, draft or not, changed by another program or not."""
    tables = drafts_of(folder_of(request)).all()
    return JSONResponse({"tables": [_brief(tables[name]) for name in table_order()]})


def _brief(one: Draft) -> dict[str, Any]:
    return {
        "table": one.disk.table,
        "name": table_name(one.disk.table),
        "file": one.disk.label,
        "rows": len(one.as_file.rows),
        "version": one.version,
        "edited": one.edited,
        "overtaken": one.overtaken,
        "viewOnly": one.disk.view_only,
    }


def table(request: Request) -> Response:
    """One table as the grid shows it."""
    folder = folder_of(request)
    tables = drafts_of(folder).all()
    one = tables[_known(request.path_params["table"], tables)]
    good = checker_of(folder).good
    texts = {name: draft.text for name, draft in tables.items()}
    name = one.disk.table
    return JSONResponse(
        {
            **_brief(one),
            "firstRow": one.disk.heading_row + 1,
            "columns": shown_columns(one.text, len(one.base.headings), good),
            "picks": pick_lists(name, texts, good),
            "filled": filled_from_library(name, good),
            "cells": one.text.rows,
        }
    )


def _known(name: str, tables: Collection[str]) -> str:
    if name not in tables:
        raise HTTPException(404, "There is no such table")
    return name


def check(request: Request) -> Response:
    """Every fault of the scenario with its drafts."""
    folder = folder_of(request)
    checker = checker_of(folder)
    checked = checker.check()
    faults = placed(checked.problems, checker.drafts.all())
    return JSONResponse({"versions": checked.versions, "faults": faults})


def map_ground(request: Request) -> Response:
    """Land and roads."""
    texts = {n: one.text for n, one in drafts_of(folder_of(request)).all().items()}
    return JSONResponse({**background(texts), "points": points(texts)})


def map_no_go(request: Request) -> Response:
    """Shapes in which a yard of an area would be refused."""
    try:
        area = float(request.query_params.get("area_m2", "0"))
        if not 0 <= area <= 1e7:
            raise HTTPException(422, "An area is from 0 to 10,000,000 m2")
        return JSONResponse(places_of(folder_of(request)).no_go(area))
    except NoPlace as fault:
        return JSONResponse({"refused": [], "partly": [], "fault": f"{fault}."})
    except ValueError:
        raise HTTPException(422, "The area is not a number") from None


def differing(request: Request) -> Response:
    """Tell what differs between a draft and what another program made of its file."""
    tables = drafts_of(folder_of(request)).all()
    one = tables[_known(request.path_params["table"], tables)]
    return JSONResponse(differences(one.base, one.as_file, one.disk))


Doing = Callable[[Path, str, Any], Any]


def _posted(doing: Doing) -> Callable[[Request], Any]:
    """Make a handler of a function of folder, table and what was sent as JSON."""

    async def handler(request: Request) -> Response:
        sent = await _sent(request)
        folder = folder_of(request)
        name = request.path_params.get("table", "")
        if name:
            _known(name, table_order())
        try:
            return JSONResponse(await run_in_threadpool(doing, folder, name, sent))
        except (StaleEdit, NotSaved) as fault:
            return JSONResponse({"fault": str(fault)}, 409)
        except (EditFault, NoPlace) as fault:
            return JSONResponse({"fault": f"{fault}."}, 422)

    return handler


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


def _edit(folder: Path, name: str, sent: Any) -> dict[str, Any]:
    """Keep a batch of edits."""
    match sent:
        case {"version": str(version), "name": str(batch), "edits": list(edits)}:
            drafts = drafts_of(folder)
            return {"version": drafts.add(name, version, batch[:80], edits)}
    message = "These are no edits"
    raise EditFault(message)


def _save(folder: Path, name: str, sent: Any) -> dict[str, Any]:
    return {"files": save_all(checker_of(folder))}


def _choose(folder: Path, name: str, sent: Any) -> dict[str, Any]:
    """Decide between the draft and what another program made of the file."""
    drafts = drafts_of(folder)
    choices = {"mine": drafts.keep_mine, "theirs": drafts.take_theirs}
    if sent.get("keep") not in choices:
        message = "Choose mine or theirs"
        raise EditFault(message)
    choices[sent["keep"]](name)
    return {"version": drafts.table(name).version}


def _judge(folder: Path, name: str, sent: Any) -> dict[str, Any]:
    cells = sent.get("cells")
    if not isinstance(cells, dict) or not all(
        isinstance(text, str) and len(text) < 1000 for text in cells.values()
    ):
        message = "A place needs the cells of its row"
        raise NoPlace(message)
    return places_of(folder).judge(cells)


API = "/s/{scenario}/api/district"
ROUTES = [
    Route("/s/{scenario}/district", district),
    Route("/lib/{name}", library_file),
    Route(f"{API}/tables", overview),
    Route(f"{API}/check", check),
    Route(f"{API}/ground", map_ground),
    Route(f"{API}/no-go", map_no_go),
    Route(f"{API}/save", _posted(_save), methods=["POST"]),
    Route(f"{API}/place", _posted(_judge), methods=["POST"]),
    Route(f"{API}/tables/{{table}}", table),
    Route(f"{API}/tables/{{table}}/both", differing),
    Route(f"{API}/tables/{{table}}/edits", _posted(_edit), methods=["POST"]),
    Route(f"{API}/tables/{{table}}/choice", _posted(_choose), methods=["POST"]),
]
