"""Files dropped in: what they would become, what is asked, and a yes that writes it."""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from maps.desk.apart import answer_within, brought_apart
from maps.desk.archive import NotOurs, ZipFault
from maps.desk.beginnings import begin, free_name, name_for
from maps.desk.book import digest_of
from maps.desk.drop_job import STAGE
from maps.desk.drops import ENDINGS, Drop
from maps.desk.looks import address_of, form_of, page, see_other
from maps.desk.opened import OpenedDesk, desk_of
from maps.desk.shelf import NameFault, Shelf, edits_wait, safe_name
from maps.disk import read_json, write_json, write_set

BRINGERS = {".xlsx": "workbook", ".xlsm": "workbook"}
BRINGERS |= {".gpkg": "geopackage", ".zip": "share"}
"""Ending of a file that may hold tables of ours -> how a scenario is made of it."""
PROGRAM = (sys.executable, "-P", "-m", "maps.desk.drop_job")
LONGEST = 120.0
"""Time in which what was dropped must have been read. [s]"""
SLOW = "These files take too long to read, so nothing was brought in"
BROKEN = "These files could not be read: the program that reads them ended"
ASKED, TOLD = "asked.json", "told.json"
CHANGED = "This is not what was shown before. Look at it again, then write it"
WAITS = "The scenario has edits that are not saved. Save or undo them first"
MOST_ANSWERS = 400


async def take_in(request: Request) -> Response:
    """
    Take one file that was dropped in.

    One that holds our own tables becomes a scenario at once. All others, and those that
    were dropped together, wait to be looked at.
    """
    desk = desk_of(request)
    told = os.path.basename(request.query_params.get("file", "").replace("\\", "/"))
    kind = os.path.splitext(told)[1].lower()
    if kind not in ENDINGS:
        words = "Drop workbooks, CSV, GPX, KML, GeoJSON, GeoPackage, .osm.pbf files, "
        words += "a shapefile in a .zip, or a share file (.zip)."
        return JSONResponse({"fault": words}, 415)
    wanted = request.query_params.get("with", "")
    drop = await run_in_threadpool(_drop_of, desk, wanted)
    try:
        file = drop.place(safe_name(told))
        with file.open("xb") as target:
            async for piece in request.stream():
                await run_in_threadpool(target.write, piece)
                target.flush()
                drop.check_size()
        into = request.query_params.get("into", "")
        if into:
            desk.shelf.scenario(into)
        alone = not wanted and not into
        made = await run_in_threadpool(_ours, desk.shelf, file) if alone else None
    except (ZipFault, NameFault) as fault:
        desk.drops.end(drop.code)
        named = f"{told[:80]} " if isinstance(fault, ZipFault) else ""
        return JSONResponse({"fault": f"{named}{fault}."}, 422)
    except BaseException:
        desk.drops.end(drop.code)
        raise
    if made is not None:
        desk.drops.end(drop.code)
        return JSONResponse({"address": address_of("s", made.name, "plan")}, 201)
    asked = read_json(drop.folder / ASKED)
    if not asked:
        only = desk.shelf.only or ""
        first = {
            "into": into or only,
            "name": name_for(told),
            "answers": {},
            "more": "",
        }
        write_json(drop.folder / ASKED, first)
    address = address_of("bring", drop.code)
    return JSONResponse({"address": address, "drop": drop.code}, 201)


def _drop_of(desk: OpenedDesk, wanted: str) -> Drop:
    """Return the drop that a file belongs to; a new one for the first of several."""
    return desk.drops.new() if wanted in {"", "new"} else desk.drops.at(wanted)


def _ours(shelf: Shelf, file: Path) -> Path | None:
    """Make a scenario of a file with tables of ours; None if it holds none."""
    way = BRINGERS.get(file.suffix.lower())
    if way is None or shelf.only is not None:
        return None
    name = free_name(shelf, name_for(file.name))
    try:
        return begin(shelf, name, lambda at: brought_apart(way, file, at, name))
    except NotOurs:
        return None


def show(request: Request) -> Response:
    """Show what the files would become."""
    desk = desk_of(request)
    drop = desk.drops.at(request.path_params["code"])
    with drop.turn:
        return _page(request, desk, drop, _told(desk, drop))


def _page(
    request: Request,
    desk: OpenedDesk,
    drop: Drop,
    told: Mapping[str, Any],
    fault: str = "",
) -> Response:
    asked = read_json(drop.folder / ASKED)
    return page(
        request,
        "desk_bring.html.j2",
        status=422 if fault else 200,
        drop=drop.code,
        files=sorted(path.name for path in drop.files.iterdir()),
        asked=asked,
        told=told,
        fault=fault,
        alone=desk.shelf.only is not None,
        scenarios=desk.shelf.names(),
        tables=("sources", "yards", "markets", "trucks", "materials", "yard_sizes",
                "calendar", "districts"),
    )  # fmt: skip


def _told(desk: OpenedDesk, drop: Drop) -> dict[str, Any]:
    """Return the proposal, made anew where an answer or the scenario changed."""
    asked = read_json(drop.folder / ASKED)
    target = desk.shelf.scenario(asked["into"]) if asked.get("into") else None
    told = read_json(drop.folder / TOLD)
    now = digest_of(target) if target else ""
    if told.get("of") == asked and told.get("digest", "") == now:
        return told
    answers = [f"{place}={value}" for place, value in asked["answers"].items()]
    answers += [line.strip() for line in asked["more"].splitlines() if line.strip()]
    where = str(target) if target else ""
    text = json.dumps([str(drop.folder), where, asked["name"], answers])
    said = answer_within(PROGRAM, text, LONGEST)
    try:
        told = {"faults": [SLOW]} if said is None else json.loads(said)
    except ValueError:
        told = {"faults": [BROKEN]}
    told["of"] = asked
    write_json(drop.folder / TOLD, told)
    return told


async def change(request: Request) -> Response:
    """Keep answers, write the tables, or put the drop aside."""
    form = await form_of(request)
    desk = desk_of(request)
    drop = desk.drops.at(request.path_params["code"])

    def changed() -> Response:
        with drop.turn:
            return _changed(request, desk, drop, form)

    return await run_in_threadpool(changed)


def _changed(
    request: Request, desk: OpenedDesk, drop: Drop, form: dict[str, str]
) -> Response:
    what = form.get("do", "look")
    if what == "away":
        desk.drops.end(drop.code)
        return see_other("/")
    asked = read_json(drop.folder / ASKED)
    before = read_json(drop.folder / TOLD)
    write_json(drop.folder / ASKED, _answered(desk, asked, form, anew=what == "anew"))
    told = _told(desk, drop)
    if what != "write":
        return see_other(address_of("bring", drop.code))
    if not told.get("ready"):
        return see_other(address_of("bring", drop.code))
    if {**told, "of": ""} != {**before, "of": ""}:
        return _page(request, desk, drop, told, CHANGED)
    try:
        name = _written(desk, drop, told)
    except NameFault as fault:
        return _page(request, desk, drop, told, str(fault))
    desk.drops.end(drop.code)
    return see_other(address_of("s", name, "district"))


def _answered(
    desk: OpenedDesk, asked: dict[str, Any], form: dict[str, str], *, anew: bool
) -> dict[str, Any]:
    """Put what a form says into what was asked before."""
    into = desk.shelf.only or form.get("into", asked["into"])
    if into:
        desk.shelf.scenario(into)
    kept = {} if anew else dict(asked["answers"])
    for name, value in form.items():
        if not anew and name.startswith("a:") and value.strip():
            kept[name.removeprefix("a:")] = value.strip()
    more = "" if anew else form.get("more", asked["more"])
    name = form.get("name", "").strip() or asked["name"]
    kept = dict(list(kept.items())[:MOST_ANSWERS])
    return {"into": into, "name": name, "answers": kept, "more": more}


def _written(desk: OpenedDesk, drop: Drop, told: Mapping[str, Any]) -> str:
    """Put the files that were shown in place; return the name of their scenario."""
    stage, asked = drop.folder / STAGE, told["of"]
    made = sorted(path for path in stage.iterdir() if path.is_file())
    if not asked["into"]:

        def fill(folder: Path) -> None:
            for path in made:
                shutil.copyfile(path, folder / path.name)

        return begin(desk.shelf, asked["name"], fill).name
    target = desk.shelf.scenario(asked["into"])
    if edits_wait(target):
        raise NameFault(WAITS)
    files = {target / path.name: path.read_bytes() for path in made}
    write_set({
        path: data for path, data in files.items()
        if not path.is_file() or path.read_bytes() != data
    })  # fmt: skip
    return str(asked["into"])


ROUTES = [
    Route("/bring", take_in, methods=["POST"]),
    Route("/bring/{code}", show, methods=["GET"]),
    Route("/bring/{code}", change, methods=["POST"]),
]
