"""The page of a month: its rounds, a day that goes wrong, and what was delivered."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from maps.desk.book import PlanEntry, plan_of, plans
from maps.desk.crew_view import CREW_TABLES, crew_shown, given_in, with_names
from maps.desk.errands import (
    MONTHS,
    TODAY,
    aside_of,
    errand_at,
    folder_of,
    put_back,
)
from maps.desk.events import last_events, last_of
from maps.desk.figures import written
from maps.desk.log_book import DELIVERIES, known_of, read_block
from maps.desk.log_file import LogFault
from maps.desk.log_view import log_shown, logged_days, stock_shown, yards_shown
from maps.desk.looks import address_of, form_of, page, see_other
from maps.desk.money_view import money_of
from maps.desk.month_view import (
    PLACES,
    ROADS,
    RUN_SHEETS,
    SHARES,
    changes_in,
    day_words,
    days_anew,
    facts_in,
    fits,
    likely_day,
    rounds_in_force,
    sheets_in,
    trouble_words,
    why_make_anew,
)
from maps.desk.month_words import CAUTIONS, HOT, HOURS, SPOILS
from maps.desk.opened import desk_of
from maps.desk.pages.take import SANDBOX, sent
from maps.desk.shelf import NameFault, NotThere, inside
from maps.desk.stock_log import COUNTS, read_counts
from maps.desk.yard_log import SIGHTS, read_seen

PARTS = {
    "rounds": "Rounds and sheets",
    "today": "Today",
    "log": "Delivered",
    "stock": "Stock at hand",
    "crew": "Drivers and plates",
    "yards": "Yard log",
}
"""Parts of the page of a month, and what their tabs are called."""
FAULTS_SHOWN = 40


def entry_of(request: Request) -> PlanEntry:
    """Return the plan that an address names."""
    folder = desk_of(request).shelf.scenario(request.path_params["name"])
    return plan_of(folder, request.path_params["code"])


def periods_of(entry: PlanEntry) -> list[tuple[str, str]]:
    """Codes and names of the periods of a finished plan; none if it does not tell."""
    try:
        money = money_of(entry.folder)
    except NotThere:
        return []
    return [(code, money.names["period"].get(code, code)) for code in money.periods]


def month(request: Request) -> Response:
    """Show a month of a finished plan."""
    folder = desk_of(request).shelf.scenario(request.path_params["name"])
    entries = [one for one in plans(folder) if one.state == "done"]
    code = request.query_params.get("plan", "")
    entry = plan_of(folder, code) if code else next(iter(entries), None)
    if entry is not None and entry.state != "done":
        raise NotThere(code)
    query = request.query_params
    numbers = ("new", "replaced", "kept")
    told = {k: query[k] for k in numbers if query.get(k, "").isdecimal()}
    if query.get("table") in CREW_TABLES:
        told["table"] = query["table"]
    period, part = query.get("period", ""), query.get("part", "rounds")
    return shown(request, entries, entry, period, part, told)


def shown(
    request: Request,
    entries: list[PlanEntry],
    entry: PlanEntry | None,
    period: str,
    part: str,
    told: dict[str, Any],
    status: int = 200,
) -> Response:
    """Fill the page of a month; `told` is what a form was answered."""
    periods = periods_of(entry) if entry else []
    codes = [code for code, _ in periods]
    period = period or next(iter(codes), "")
    if period and period not in codes:
        raise NotThere(period)
    if part not in PARTS:
        raise NotThere(part)
    values: dict[str, Any] = {
        "entries": entries,
        "entry": entry,
        "periods": periods,
        "period": period,
        "part": part,
        "parts": PARTS,
        "written": written,
        "told": told,
        "errand": None,
        "facts": None,
        "before": False,
        "why": "",
    }
    if entry is not None and period:
        values |= _of_month(request, entry, period, part)
    return page(
        request,
        "desk_month.html.j2",
        scenario=request.path_params["name"],
        here="month",
        status=status,
        **values,
    )


def _of_month(
    request: Request, entry: PlanEntry, period: str, part: str
) -> dict[str, Any]:
    """Gather what the page shows of a month."""
    made = folder_of(entry, MONTHS, period)
    errand = errand_at(made)
    head = {"errand": errand, "before": aside_of(made).is_dir()}
    if errand.state != "done":
        return head
    why = why_make_anew(entry, period)
    place = rounds_in_force(entry, period)
    try:
        facts = facts_in(place)
    except NotThere:
        return head | {"why": why}
    found: dict[str, Any] = {
        "errand": errand,
        "why": why,
        "facts": facts,
        "place": place,
        "which": f"{place.parent.name}/{place.name}",
        "anew": place.parent.name == TODAY,
        "sheets": sheets_in(place),
        "days": [(one["day"], day_words(facts, one["day"])) for one in facts["days"]],
        "cautions": [*CAUTIONS, SPOILS, HOT],
    }
    if part == "rounds":
        days = [one["day"] for one in facts["days"]]
        asked = request.query_params.get("day", "")
        day = int(asked) if asked.isascii() and asked.isdigit() else 0
        logged = logged_days(place.parents[3], period)
        found["day"] = day if day in days else likely_day(facts, logged)
        try:
            found["given"] = given_in(place.parents[3], facts)
        except LogFault:
            found["given"] = {}
    if part == "today":
        earlier = errand_at(place).asked if place.parent.name == TODAY else {}
        found |= {
            "earlier_asked": {} if earlier.get("what") == "rest" else earlier,
            "day": likely_day(facts, logged_days(place.parents[3], period)),
            "earlier": [
                (one, trouble_words(one.asked, facts), fits(entry, one))
                for one in days_anew(entry, period)
            ],
            "shares": SHARES,
            "places": PLACES,
            "roads": ROADS,
        }
    if part == "yards":
        found |= yards_shown(place.parents[3], facts)
    if part == "log":
        found |= log_shown(place.parents[3], facts, period)
    if part == "stock":
        found |= stock_shown(place.parents[3], facts)
    if part == "crew":
        found |= crew_shown(place.parents[3], facts)
        found["cautions"] = [HOURS, *found["cautions"]]
    return found


async def make(request: Request) -> Response:
    """Ask for the rounds of a month."""
    form = await form_of(request)
    code = await run_in_threadpool(_made, request, form)
    name, period = request.path_params["name"], request.path_params["period"]
    return see_other(month_address(name, code, period))


def _made(request: Request, form: dict[str, str]) -> str:
    """Order the rounds of a month, once more if asked, or take the ones before back."""
    entry, period = entry_of(request), request.path_params["period"]
    if period not in [code for code, _ in periods_of(entry)]:
        raise NotThere(period)
    folder = folder_of(entry, MONTHS, period)
    if "back" in form:
        if not put_back(folder):
            message = (
                "There are no earlier rounds to go back to. Look at the page again"
            )
            raise HTTPException(422, message)
        return entry.code
    again = "again" in form
    desk_of(request).errands.order(folder, {"period": period}, again=again)
    return entry.code


def month_address(name: str, code: str, period: str, part: str = "rounds") -> str:
    """Return the address of a part of the page of a month."""
    query = urlencode({"plan": code, "period": period, "part": part})
    return f"{address_of('s', name, 'month')}?{query}"


def standing(request: Request) -> Response:
    """Send how an errand stands."""
    folder = errand_folder(request)
    one = errand_at(folder)
    if one.state == "none":
        raise NotThere(folder.name)
    count = str(last_of(last_events(folder), "count").get("words", ""))
    told = {"state": one.state, "words": one.words, "count": count}
    return JSONResponse(told | {"answer": bool(changes_in(folder))})


def errand_folder(request: Request) -> Path:
    """Return the folder of the errand that an address names."""
    entry, part = entry_of(request), request.path_params["part"]
    if part not in (MONTHS, TODAY):
        raise NotThere(part)
    try:
        return folder_of(entry, part, request.path_params["which"])
    except NameFault as fault:
        raise NotThere(part) from fault


def sheet(request: Request) -> Response:
    """Send a sheet, map or workbook of rounds."""
    folder = errand_folder(request)
    if folder.is_symlink() or folder.is_junction():
        raise NotThere(folder.name)
    path = inside(folder, request.path_params["path"])
    if path.parent == folder or errand_at(folder).state != "done":
        raise NotThere(path.name)
    keep = "keep" in request.query_params
    day = RUN_SHEETS.fullmatch(path.name)
    if day is None or keep:
        return sent(path, keep=keep)
    try:
        given = given_in(folder.parents[3], facts_in(folder))
    except (LogFault, NotThere):
        given = {}
    text = with_names(path.read_text(encoding="utf-8"), int(day[1]), given)
    return HTMLResponse(text, headers={"content-security-policy": SANDBOX})


async def deliver(request: Request) -> Response:
    """Add a pasted block to a log of the scenario."""
    form = await form_of(request)
    part = request.path_params["part"]
    if part not in LOGS:
        raise NotThere(part)
    return await run_in_threadpool(_logged, request, part, form.get("block", ""))


def _add_deliveries(scenario: Path, block: str, facts: dict[str, Any]) -> Added:
    return DELIVERIES.add(scenario, read_block(block, known_of(facts)))


def _add_sights(scenario: Path, block: str, facts: dict[str, Any]) -> Added:
    return SIGHTS.add(scenario, read_seen(block, facts))


def _add_counts(scenario: Path, block: str, facts: dict[str, Any]) -> Added:
    return COUNTS.add(scenario, read_counts(block, facts))


Added = tuple[int, int]
LOGS: dict[str, Callable[[Path, str, dict[str, Any]], Added]] = {
    "log": _add_deliveries,
    "yards": _add_sights,
    "stock": _add_counts,
}
"""Parts of the page with a log, and what adds a block to it."""


def _logged(request: Request, part: str, block: str) -> Response:
    entry, period = entry_of(request), request.path_params["period"]
    facts = facts_in(rounds_in_force(entry, period))
    scenario = entry.folder.parents[1]
    name = request.path_params["name"]
    told: dict[str, Any]
    try:
        new, replaced = LOGS[part](scenario, block, facts)
    except LogFault as fault:
        told = {"faults": fault.lines[:FAULTS_SHOWN], "more": len(fault.lines)}
        told |= {"block": block}
        entries = [one for one in plans(scenario) if one.state == "done"]
        return shown(request, entries, entry, period, part, told, status=422)
    address = month_address(name, entry.code, period, part)
    return see_other(f"{address}&new={new}&replaced={replaced}")


ROUTES = [
    Route("/s/{name}/month", month),
    Route("/s/{name}/plans/{code}/months/{period}/make", make, methods=["POST"]),
    Route(
        "/s/{name}/plans/{code}/months/{period}/add/{part}", deliver, methods=["POST"]
    ),
    Route("/s/{name}/api/plans/{code}/rounds/{part}/{which}", standing),
    Route("/s/{name}/plans/{code}/rounds/{part}/{which}/{path:path}", sheet),
]
