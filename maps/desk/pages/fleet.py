"""How many trucks to own: a part of the page of the money, reckoned as an errand."""

from __future__ import annotations

from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from maps.desk.anew import order_changed
from maps.desk.book import PlanEntry, plan_of
from maps.desk.errands import FLEET, FLEET_FACTS, OWN, Errand, errand_at, folder_of
from maps.desk.events import last_events, last_of
from maps.desk.looks import address_of, form_of, see_other
from maps.desk.opened import desk_of
from maps.disk import read_json


def fleet_of(entry: PlanEntry) -> tuple[Errand, dict[str, Any]]:
    """Return how the errand of a plan's trucks stands, and what it found."""
    errand = errand_at(folder_of(entry, FLEET, OWN))
    if errand.state != "done":
        return errand, {}
    return errand, checked(read_json(errand.folder / FLEET_FACTS))


def checked(facts: dict[str, Any]) -> dict[str, Any]:
    """Return facts as the page needs them; none if they are not ours."""
    numbers = ("amount", "low", "high")

    def change(one: Any) -> dict[str, Any] | None:
        if one is None:
            return None
        return {k: float(one[k]) for k in numbers} | {"short": bool(one["short"])}

    try:
        rows = [
            {
                **{key: str(row[key]) for key in ("code", "name")},
                **{key: int(row[key]) for key in ("owned", "best")},
                **{key: float(row[key]) for key in ("standing", "hired")},
                **{key: change(row[key]) for key in ("fewer", "more")},
            }
            for row in facts["rows"]
        ]
        return {
            "currency": str(facts["currency"])[:20],
            "net": float(facts["net"]),
            "best": change(facts["best"]),
            "rows": rows,
        }
    except (KeyError, TypeError, ValueError):
        return {}


def entry_of(request: Request) -> PlanEntry:
    """Return the plan that an address names."""
    folder = desk_of(request).shelf.scenario(request.path_params["name"])
    return plan_of(folder, request.path_params["code"])


async def ask(request: Request) -> Response:
    """Order the errand."""
    await form_of(request)
    entry = await run_in_threadpool(entry_of, request)
    if entry.state != "done":
        raise HTTPException(422, "This plan is not finished")
    folder = folder_of(entry, FLEET, OWN)
    await run_in_threadpool(desk_of(request).errands.order, folder, {})
    return see_other(_back(request, entry))


def _back(request: Request, entry: PlanEntry) -> str:
    page = address_of("s", request.path_params["name"], "money")
    return f"{page}?plan={entry.code}#fleet"


def standing(request: Request) -> Response:
    """Send how the errand stands."""
    errand = errand_at(folder_of(entry_of(request), FLEET, OWN))
    count = {}
    if errand.state == "running":
        count = last_of(last_events(errand.folder), "count")
    told = {"state": errand.state, "words": errand.words}
    return JSONResponse(told | {"count": str(count.get("words", ""))})


async def plan_anew(request: Request) -> Response:
    """Order a plan with the trucks that were found best."""
    from maps.desk.fleet import fleet_change

    await form_of(request)
    entry = await run_in_threadpool(entry_of, request)
    _, facts = await run_in_threadpool(fleet_of, entry)
    title, text = await run_in_threadpool(fleet_change, facts) if facts else ("", "")
    if not text:
        raise HTTPException(422, "The plan has these trucks already")
    code = await run_in_threadpool(order_changed, entry, "fleet", title, text)
    desk_of(request).line.wake()
    return see_other(address_of("s", request.path_params["name"], "plans", code))


ROUTES = [
    Route("/s/{name}/plans/{code}/money/fleet", ask, methods=["POST"]),
    Route("/s/{name}/plans/{code}/money/fleet/plan", plan_anew, methods=["POST"]),
    Route("/s/{name}/api/plans/{code}/money/fleet", standing),
]
