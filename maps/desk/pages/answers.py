"""Map and answers: the plan's map, a card to change it from, and what that does."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from maps.desk.book import (
    INPUTS,
    OUTPUTS,
    PlanEntry,
    is_older,
    plan_of,
    plans,
    yards_of,
)
from maps.desk.changes.named import named
from maps.desk.changes.tray import read_tray
from maps.desk.changes.warm import MAP
from maps.desk.looks import page
from maps.desk.opened import desk_of
from maps.desk.pages.take import sent
from maps.desk.pages.tray import shown
from maps.desk.shelf import inside

if TYPE_CHECKING:
    from logistics.scenario import Scenario

PATIENCE = 1.5
"""Longest that a request waits for an answer before the page asks again. [s]"""
LOOKS = 0.05
"""Time between two looks for the answer. [s]"""


def answers(request: Request) -> Response:
    """Show the map of a plan, its places and the tray."""
    desk, name = desk_of(request), request.path_params["name"]
    folder = desk.shelf.scenario(name)
    done = [e for e in plans(folder) if e.state == "done" and yards_of(e)]
    wanted = request.query_params.get("plan")
    found = next((e for e in done if wanted in (None, e.code)), None)
    values: dict[str, Any] = {"entry": found, "others": done}
    if found is not None:
        read = desk.tables.at(found.folder / INPUTS)
        seen = desk.looks.at(folder)
        desk.answering.warm(found.folder, afresh=True)
        values |= {
            "older": is_older(found, seen.digest, seen.fingerprint),
            "mapped": (found.folder / OUTPUTS / "map.html").is_file(),
            "places": places_of_plan(read.scenario, yards_of(found)),
            "tray": shown(desk, name, read_tray(folder)),
        }
    return page(
        request, "desk_answers.html.j2", scenario=name, here="answers", **values
    )


def places_of_plan(scenario: Scenario | None, yards: dict[str, str]) -> dict[str, Any]:
    """
    List the places of a plan with what may be done at each.

    Returns
    -------
    dict
        groups: heading and places, each with id ("yard:code"), code, kind, name and
        words; sizes and periods: code and name to choose from.
    """
    if scenario is None:
        return {"groups": [], "sizes": [], "periods": []}
    known = named(scenario, "yard")
    sizes = named(scenario, "size")
    used = [
        _place("yard", code, name, f"In use, size {sizes.get(yards[code], '')}", True)
        for code, name in known.items()
        if code in yards
    ]
    unused = [
        _place("yard", code, name, "Not used in this plan", False)
        for code, name in known.items()
        if code not in yards
    ]
    materials = named(scenario, "material")
    table = scenario.sources
    feedstock = dict(zip(table["source"], table["material"], strict=True))
    sources = [
        _place("source", code, name, materials.get(feedstock.get(code, ""), ""), True)
        for code, name in named(scenario, "source").items()
    ]
    markets = [
        _place("market", code, name, "Market for compost", True)
        for code, name in named(scenario, "market").items()
    ]
    headed = (
        ("Yards in use", used),
        ("Sites not used", unused),
        ("Sources", sources),
        ("Markets", markets),
    )
    return {
        "groups": [(title, found) for title, found in headed if found],
        "sizes": list(sizes.items()),
        "periods": list(named(scenario, "period").items()),
    }


def _place(kind: str, code: str, name: str, words: str, used: bool) -> dict[str, Any]:
    identity = f"{kind}:{code}"
    told = {"id": identity, "kind": kind, "code": code, "name": name}
    return told | {"words": words, "used": used}


def _plan_of(request: Request) -> PlanEntry:
    folder = desk_of(request).shelf.scenario(request.path_params["name"])
    found = plan_of(folder, request.path_params["code"])
    if found.state != "done" or not yards_of(found):
        raise HTTPException(422, "Only a finished plan with yards can be asked")
    return found


async def effect(request: Request) -> Response:
    """Tell what the changes in the tray do to a plan whose yards stay."""
    desk = desk_of(request)
    folder = desk.shelf.scenario(request.path_params["name"])
    found = await run_in_threadpool(_plan_of, request)
    tray = await run_in_threadpool(read_tray, folder)
    turns = int(PATIENCE / LOOKS)
    for _ in range(turns):
        standing = await run_in_threadpool(
            desk.answering.ask, found.folder, tray.wishes
        )
        if standing.state in ("answered", "failed", "ready"):
            break
        await asyncio.sleep(LOOKS)
    told = {"state": standing.state, "effect": standing.effect}
    return JSONResponse(told | {"mapped": standing.mapped})


def tried(request: Request) -> Response:
    """Send the map of the last answer."""
    return sent(inside(_plan_of(request).folder, MAP), keep=False)


ROUTES = [
    Route("/s/{name}/answers", answers),
    Route("/s/{name}/answers/{code}/tried.html", tried),
    Route("/s/{name}/api/answers/{code}/effect", effect, methods=["POST"]),
]
