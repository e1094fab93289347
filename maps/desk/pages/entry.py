"""One plan of the book: how it stands, its figures and map, what to do with it."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from maps.desk.book import (
    BEST,
    DROP,
    FIRST,
    OUTPUTS,
    STOP,
    PlanEntry,
    ask,
    delete,
    is_older,
    label,
    make_again,
    order_plan,
    plan_of,
    plans,
    when,
)
from maps.desk.events import read_events
from maps.desk.figures import STATUS, figures
from maps.desk.line import in_line
from maps.desk.looks import address_of, form_of, page, see_other
from maps.desk.opened import OpenedDesk, desk_of

LOOKS = 0.25
"""Time between two looks for new events. [s]"""
SILENCE = 10.0
"""Time after which a line is sent all the same, to notice a caller gone. [s]"""


def _entry_of(request: Request) -> PlanEntry:
    folder = desk_of(request).shelf.scenario(request.path_params["name"])
    return plan_of(folder, request.path_params["code"])


def entry(request: Request) -> Response:
    """Show a plan: under way, finished, failed or interrupted."""
    desk = desk_of(request)
    name = request.path_params["name"]
    folder = desk.shelf.scenario(name)
    found = plan_of(folder, request.path_params["code"])
    seen = desk.looks.at(folder) if found.state == "done" else None
    ahead = [one.code for _, one in in_line(desk.shelf)] if found.under_way else []
    return page(
        request,
        "desk_entry.html.j2",
        scenario=name,
        here="plan",
        entry=found,
        ordered=when(found.ordered),
        older=bool(seen and is_older(found, seen.digest, seen.fingerprint)),
        figures=figures(found.summary) if found.summary else [],
        standing=STATUS.get(str(found.summary.get("status")), ""),
        ahead=ahead.index(found.code) if found.code in ahead else 0,
        mapped=(found.folder / OUTPUTS / "map.html").is_file(),
        part=shown_part(found),
        stopping=(found.folder / STOP).exists(),
        others=[one for one in plans(folder) if one.state == "done" and one != found],
        under_way=found.under_way,
    )


def shown_part(found: PlanEntry) -> str:
    """Folder of the newest map that a plan under way has; empty if it has none."""
    parts = (BEST, FIRST)
    return next((p for p in parts if (found.folder / p / "map.html").is_file()), "")


async def follow(request: Request) -> Response:
    """Send what the worker tells, from where the page has come to."""
    found = await run_in_threadpool(_entry_of, request)
    told = request.headers.get("last-event-id", "0")
    start = int(told) if told.isascii() and told.isdigit() and len(told) < 15 else 0
    return StreamingResponse(
        stream(request, found, start), media_type="text/event-stream"
    )


async def stream(request: Request, found: PlanEntry, start: int) -> AsyncIterator[str]:
    """Yield new events as they come, and where the plan stands when that changes."""
    state, quiet = "", 0.0
    while not await request.is_disconnected():
        events, start = await run_in_threadpool(read_events, found.folder, start)
        parts = [json.dumps(event) for event in events]
        try:
            place = found.folder.parents[1], found.code, found.folder.parent.name
            now = await run_in_threadpool(plan_of, *place)
        except LookupError:
            break
        if now.state != state:
            state = now.state
            parts.append(json.dumps({"kind": "state", "state": state}))
        if parts:
            yield "".join(f"id: {start}\ndata: {part}\n\n" for part in parts)
            quiet = 0.0
        elif quiet >= SILENCE:
            yield ": still here\n\n"
            quiet = 0.0
        if not now.under_way:
            break
        await asyncio.sleep(LOOKS)
        quiet += LOOKS


async def change(request: Request) -> Response:
    """Stop, drop, make again, name, star or delete a plan."""
    form = await form_of(request)
    desk = desk_of(request)
    found = await run_in_threadpool(_entry_of, request)
    wanted = ACTIONS.get(request.path_params["action"])
    if wanted is None:
        raise HTTPException(404, "There is no such action")
    code = await run_in_threadpool(wanted, desk, found, form)
    desk.line.wake()
    name = request.path_params["name"]
    if code is None:
        return see_other(address_of("s", name, "plan"))
    return see_other(address_of("s", name, "plans", code))


Form = dict[str, str]


def _stop(_: OpenedDesk, found: PlanEntry, __: Form) -> str:
    ask(found, STOP)
    return found.code


def _drop(_: OpenedDesk, found: PlanEntry, __: Form) -> str | None:
    if found.state == "waiting":
        delete(found)
        return None
    ask(found, DROP)
    return found.code


def _again(_: OpenedDesk, found: PlanEntry, __: Form) -> str:
    """Make an interrupted plan go on; order another for one that failed."""
    if found.state == "failed":
        asked = found.order.get("asked")
        folder = found.folder.parents[1]
        return order_plan(folder, asked if isinstance(asked, dict) else {}).code
    make_again(found)
    return found.code


def _label(_: OpenedDesk, found: PlanEntry, form: Form) -> str:
    label(found, name=form.get("name"), star=None)
    return found.code


def _star(_: OpenedDesk, found: PlanEntry, form: Form) -> str | None:
    label(found, star=form.get("star") == "yes")
    return None if form.get("back") == "list" else found.code


def _delete(_: OpenedDesk, found: PlanEntry, form: Form) -> None:
    if form.get("sure") != "yes":
        raise HTTPException(422, "Deleting has to be confirmed")
    delete(found)


ACTIONS: dict[str, Callable[[OpenedDesk, PlanEntry, Form], str | None]] = {
    "stop": _stop,
    "drop": _drop,
    "again": _again,
    "label": _label,
    "star": _star,
    "delete": _delete,
}


def ask_delete(request: Request) -> Response:
    """Ask whether a plan is really to be deleted."""
    return page(
        request,
        "desk_delete.html.j2",
        scenario=request.path_params["name"],
        here="plan",
        entry=_entry_of(request),
    )


ROUTES = [
    Route("/s/{name}/plans/{code}", entry),
    Route("/s/{name}/plans/{code}/delete", ask_delete, methods=["GET"]),
    Route("/s/{name}/plans/{code}/{action}", change, methods=["POST"]),
    Route("/s/{name}/api/plans/{code}/events", follow),
]
