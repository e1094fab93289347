"""The page of a month: its rounds, a day that goes wrong, and what was delivered."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from maps.desk.book import PlanEntry, plan_of, plans
from maps.desk.deviation import deviation, picture
from maps.desk.errands import MONTHS, TODAY, Errand, discard, errand_at, folder_of
from maps.desk.events import last_events, last_of
from maps.desk.figures import written
from maps.desk.log_book import (
    DELIVERED,
    FOLDER,
    LogFault,
    add_to_log,
    known_of,
    read_block,
    read_log,
)
from maps.desk.looks import address_of, form_of, page, see_other
from maps.desk.money_view import money_of
from maps.desk.month_view import (
    PLACES,
    ROADS,
    SHARES,
    TroubleFault,
    changes_in,
    day_words,
    days_anew,
    facts_in,
    likely_day,
    rounds_in_force,
    set_in_force,
    sheets_in,
    trouble_asked,
    trouble_words,
)
from maps.desk.month_words import CAUTIONS, HOT, SPOILS
from maps.desk.opened import desk_of
from maps.desk.pages.take import sent
from maps.desk.shelf import NameFault, NotThere, inside

PARTS = {
    "rounds": "Rounds and sheets",
    "today": "Today",
    "log": "Delivered",
}
"""Parts of the page of a month, and what their tabs are called."""
FAULTS_SHOWN = 40


def _entry_of(request: Request) -> PlanEntry:
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
    told = {k: query[k] for k in ("new", "replaced") if query.get(k, "").isdecimal()}
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
    errand = errand_at(folder_of(entry, MONTHS, period))
    if errand.state != "done":
        return {"errand": errand}
    place = rounds_in_force(entry, period)
    try:
        facts = facts_in(place)
    except NotThere:
        return {"errand": errand}
    found: dict[str, Any] = {
        "errand": errand,
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
    if part == "today":
        earlier = errand_at(place).asked if place.parent.name == TODAY else {}
        found |= {
            "before": earlier,
            "day": likely_day(facts, logged_days(place.parents[3], period)),
            "earlier": [
                (one, trouble_words(one.asked, facts))
                for one in days_anew(entry, period)
            ],
            "shares": SHARES,
            "places": PLACES,
            "roads": ROADS,
        }
    if part == "log":
        found |= log_shown(place.parents[3], facts, period)
    return found


def logged_days(scenario: Path, period: str) -> list[int]:
    """List the days of a month that the log tells of; none where it cannot be read."""
    try:
        return [one.day for one in read_log(scenario) if one.period == period]
    except LogFault:
        return []


def log_shown(scenario: Path, facts: dict[str, Any], period: str) -> dict[str, Any]:
    """Set the log of a month against its rounds."""
    try:
        lines = [one for one in read_log(scenario) if one.period == period]
    except LogFault as fault:
        return {"apart": None, "picture": "", "lines": [], "log_faults": fault.lines}
    apart = deviation(facts["planned"], lines)
    return {
        "apart": apart,
        "picture": picture(apart, facts["names"]),
        "lines": lines,
        "log_faults": [],
        "log_name": f"{FOLDER}/{DELIVERED}",
    }


async def make(request: Request) -> Response:
    """Ask for the rounds of a month."""
    await form_of(request)
    code = await run_in_threadpool(_made, request)
    name, period = request.path_params["name"], request.path_params["period"]
    return see_other(_address(name, code, period))


def _made(request: Request) -> str:
    entry, period = _entry_of(request), request.path_params["period"]
    if period not in [code for code, _ in periods_of(entry)]:
        raise NotThere(period)
    desk_of(request).errands.order(folder_of(entry, MONTHS, period), {"period": period})
    return entry.code


def _address(name: str, code: str, period: str, part: str = "rounds") -> str:
    query = urlencode({"plan": code, "period": period, "part": part})
    return f"{address_of('s', name, 'month')}?{query}"


def standing(request: Request) -> Response:
    """Send how an errand stands."""
    folder = _errand_folder(request)
    one = errand_at(folder)
    if one.state == "none":
        raise NotThere(folder.name)
    count = str(last_of(last_events(folder), "count").get("words", ""))
    told = {"state": one.state, "words": one.words, "count": count}
    return JSONResponse(told | {"answer": bool(changes_in(folder))})


def _errand_folder(request: Request) -> Path:
    entry, part = _entry_of(request), request.path_params["part"]
    if part not in (MONTHS, TODAY):
        raise NotThere(part)
    try:
        return folder_of(entry, part, request.path_params["which"])
    except NameFault as fault:
        raise NotThere(part) from fault


def sheet(request: Request) -> Response:
    """Send a sheet, map or workbook of rounds."""
    folder = _errand_folder(request)
    if folder.is_symlink() or folder.is_junction():
        raise NotThere(folder.name)
    path = inside(folder, request.path_params["path"])
    if path.parent == folder:
        raise NotThere(path.name)
    return sent(path, keep="keep" in request.query_params)


async def trouble(request: Request) -> Response:
    """Ask for the rest of a month to be planned anew."""
    form = await form_of(request)
    entry = await run_in_threadpool(_entry_of, request)
    period = request.path_params["period"]
    try:
        code = await run_in_threadpool(_ordered, request, entry, period, form)
    except TroubleFault as fault:
        raise HTTPException(422, str(fault)) from None
    name = request.path_params["name"]
    return see_other(address_of("s", name, "plans", entry.code, TODAY, code))


def _ordered(
    request: Request, entry: PlanEntry, period: str, form: dict[str, str]
) -> str:
    """Order a day planned anew, from the rounds in force."""
    place = rounds_in_force(entry, period)
    asked = trouble_asked(form, facts_in(place))
    if place.parent.name == TODAY:
        asked["base"] = place.name
    code = f"{datetime.now():%Y-%m-%d_%H%M%S_%f}"
    desk_of(request).errands.order(folder_of(entry, TODAY, code), asked)
    return code


def today(request: Request) -> Response:
    """Show what planning the days anew changes, and for whom."""
    entry = _entry_of(request)
    which = request.path_params["which"]
    folder = folder_of(entry, TODAY, which)
    one = errand_at(folder)
    if one.state == "none":
        raise NotThere(which)
    period = str(one.asked.get("period", ""))
    base = str(one.asked.get("base", ""))
    before = folder_of(entry, TODAY, base) if base else folder_of(entry, MONTHS, period)
    facts = facts_in(before)
    changes = changes_in(folder)
    spoils = any(load["spoils"] for load in changes.get("turned", []))
    return page(
        request,
        "desk_today.html.j2",
        scenario=request.path_params["name"],
        here="month",
        entry=entry,
        errand=one,
        which=which,
        period=period,
        facts=facts,
        trouble=trouble_words(one.asked, facts),
        changes=changes,
        in_force=rounds_in_force(entry, period) == folder,
        sheets=sheets_in(folder) if one.state == "done" else None,
        day_words=day_words,
        places=_rows(changes.get("places", {})),
        trucks=_rows(changes.get("trucks", {})),
        left=_rows(changes.get("left", {})),
        cautions=[*CAUTIONS, *([SPOILS] if spoils else []), HOT],
        written=written,
        clock=_clock,
    )


def _rows(columns: dict[str, list[Any]]) -> list[dict[str, Any]]:
    """Turn lists by column into rows."""
    return [
        dict(zip(columns, row, strict=True))
        for row in zip(*columns.values(), strict=True)
    ]


def _clock(hours: float | None) -> str:
    """
    Write hours after midnight as a time of day.

    >>> _clock(7.5), _clock(None)
    ('07:30', '–')
    """
    if hours is None:
        return "–"
    minutes = round(hours * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


async def settle(request: Request) -> Response:
    """Put rounds planned anew in force, set them aside, or go back to the first."""
    form = await form_of(request)
    address = await run_in_threadpool(_settled, request, form.get("what", ""))
    return see_other(address)


def _settled(request: Request, what: str) -> str:
    entry, which = _entry_of(request), request.path_params["which"]
    folder = folder_of(entry, TODAY, which)
    one: Errand = errand_at(folder)
    if one.state == "none":
        raise NotThere(which)
    period = str(one.asked.get("period", ""))
    name = request.path_params["name"]
    if what == "use" and one.state == "done":
        set_in_force(entry, period, which)
        first = int(one.asked.get("first", 1))
        return f"{_address(name, entry.code, period)}&day={first}"
    if what == "first":
        set_in_force(entry, period, "")
        return _address(name, entry.code, period)
    if what == "aside" and one.state in ("done", "failed", "interrupted"):
        if rounds_in_force(entry, period) == folder:
            raise HTTPException(422, "These rounds are in force. Put others in force")
        discard(folder)
        return _address(name, entry.code, period, "today")
    raise HTTPException(422, "This cannot be done now. Look at the page again")


async def deliver(request: Request) -> Response:
    """Add a pasted block to the log of the scenario."""
    form = await form_of(request)
    return await run_in_threadpool(_delivered, request, form.get("block", ""))


def _delivered(request: Request, block: str) -> Response:
    entry, period = _entry_of(request), request.path_params["period"]
    facts = facts_in(rounds_in_force(entry, period))
    scenario = entry.folder.parents[1]
    name = request.path_params["name"]
    told: dict[str, Any]
    try:
        lines = read_block(block, known_of(facts))
        new, replaced = add_to_log(scenario, lines)
    except LogFault as fault:
        told = {"faults": fault.lines[:FAULTS_SHOWN], "more": len(fault.lines)}
        told |= {"block": block}
        entries = [one for one in plans(scenario) if one.state == "done"]
        return shown(request, entries, entry, period, "log", told, status=422)
    address = _address(name, entry.code, period, "log")
    return see_other(f"{address}&new={new}&replaced={replaced}")


ROUTES = [
    Route("/s/{name}/month", month),
    Route("/s/{name}/plans/{code}/months/{period}/make", make, methods=["POST"]),
    Route("/s/{name}/plans/{code}/months/{period}/today", trouble, methods=["POST"]),
    Route("/s/{name}/plans/{code}/months/{period}/log", deliver, methods=["POST"]),
    Route("/s/{name}/plans/{code}/today/{which}", today, methods=["GET"]),
    Route("/s/{name}/plans/{code}/today/{which}/settle", settle, methods=["POST"]),
    Route("/s/{name}/api/plans/{code}/rounds/{part}/{which}", standing),
    Route("/s/{name}/plans/{code}/rounds/{part}/{which}/{path:path}", sheet),
]
