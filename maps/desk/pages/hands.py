"""What the page of a month is told: who is there, what was counted, what to stop."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from maps.desk.book import PlanEntry, plans
from maps.desk.crew_view import CREW_TABLES, keep_table
from maps.desk.errands import MONTHS, TODAY, errand_at, folder_of
from maps.desk.log_book import DELIVERIES
from maps.desk.log_file import LogFault
from maps.desk.looks import address_of, form_of, see_other
from maps.desk.month_view import facts_in, rounds_in_force
from maps.desk.opened import desk_of
from maps.desk.pages.month import (
    FAULTS_SHOWN,
    entry_of,
    errand_folder,
    month_address,
    shown,
)
from maps.desk.shelf import NotThere
from maps.desk.stock_log import COUNTS, rest_asked


async def crew(request: Request) -> Response:
    """Keep a table of drivers, plates or days off."""
    form = await form_of(request)
    if request.path_params["table"] not in CREW_TABLES:
        raise NotThere(request.path_params["table"])
    return await run_in_threadpool(_crew_kept, request, form)


def _crew_kept(request: Request, form: dict[str, str]) -> Response:
    entry, period = entry_of(request), request.path_params["period"]
    table, block = request.path_params["table"], form.get("block", "")
    facts = facts_in(rounds_in_force(entry, period))
    scenario = entry.folder.parents[1]
    try:
        count = keep_table(scenario, table, block, form.get("seen", ""), facts)
    except LogFault as fault:
        told = {
            "faults": fault.lines[:FAULTS_SHOWN],
            "more": len(fault.lines),
            "block": block,
            "table": table,
        }
        entries = [one for one in plans(scenario) if one.state == "done"]
        return shown(request, entries, entry, period, "crew", told, status=422)
    query = urlencode({"table": table, "kept": count})
    place = month_address(request.path_params["name"], entry.code, period, "crew")
    return see_other(f"{place}&{query}")


async def rest(request: Request) -> Response:
    """Ask for the rest of a month to be planned anew from stock at hand."""
    form = await form_of(request)
    return await run_in_threadpool(_rest_ordered, request, form)


def _rest_ordered(request: Request, form: dict[str, str]) -> Response:
    entry, period = entry_of(request), request.path_params["period"]
    place = rounds_in_force(entry, period)
    scenario = entry.folder.parents[1]
    try:
        log, counts = DELIVERIES.lines(scenario), COUNTS.lines(scenario)
        asked = rest_asked(form, facts_in(place), log, counts)
    except ValueError as fault:
        raise HTTPException(422, str(fault)) from None
    if place.parent.name == TODAY:
        asked["base"] = place.name
    code = f"{datetime.now():%Y-%m-%d_%H%M%S_%f}"
    desk_of(request).errands.order(folder_of(entry, TODAY, code), asked)
    name = request.path_params["name"]
    return see_other(address_of("s", name, "plans", entry.code, TODAY, code))


async def stop(request: Request) -> Response:
    """Stop what is being made."""
    await form_of(request)
    return await run_in_threadpool(_stopped, request)


def _stopped(request: Request) -> Response:
    folder = errand_folder(request)
    if errand_at(folder).state == "none":
        raise NotThere(folder.name)
    desk_of(request).errands.stop(folder)
    return see_other(_page_of(request, entry_of(request), folder))


def _page_of(request: Request, entry: PlanEntry, folder: Path) -> str:
    """Address of the page that shows an errand."""
    name = request.path_params["name"]
    if folder.parent.name == MONTHS:
        return month_address(name, entry.code, folder.name)
    return address_of("s", name, "plans", entry.code, TODAY, folder.name)


ROUTES = [
    Route(
        "/s/{name}/plans/{code}/months/{period}/crew/{table}", crew, methods=["POST"]
    ),
    Route("/s/{name}/plans/{code}/months/{period}/rest", rest, methods=["POST"]),
    Route("/s/{name}/plans/{code}/rounds/{part}/{which}/stop", stop, methods=["POST"]),
]
