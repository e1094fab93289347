"""The page of days planned anew: what goes wrong, what changes, and for whom."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from maps.desk.book import PlanEntry
from maps.desk.errands import MONTHS, TODAY, Errand, discard, errand_at, folder_of
from maps.desk.figures import written
from maps.desk.looks import address_of, form_of, page, see_other
from maps.desk.month_view import (
    TroubleFault,
    changes_in,
    day_words,
    facts_in,
    fits,
    rounds_in_force,
    set_in_force,
    sheets_in,
    trouble_asked,
    trouble_words,
)
from maps.desk.month_words import CAUTIONS, HOT, ROOM, SPOILS
from maps.desk.opened import desk_of
from maps.desk.pages.month import entry_of, month_address
from maps.desk.shelf import NotThere


async def trouble(request: Request) -> Response:
    """Ask for the rest of a month to be planned anew."""
    form = await form_of(request)
    entry = await run_in_threadpool(entry_of, request)
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
    entry = entry_of(request)
    which = request.path_params["which"]
    folder = folder_of(entry, TODAY, which)
    one = errand_at(folder)
    if one.state == "none":
        raise NotThere(which)
    period = str(one.asked.get("period", ""))
    base = str(one.asked.get("base", ""))
    before = folder_of(entry, TODAY, base) if base else folder_of(entry, MONTHS, period)
    facts = facts_in(before)
    known = one.state in ("done", "waiting", "running")
    changes = changes_in(folder) if known else {}
    spoils = any(load["spoils"] for load in changes.get("turned", []))
    rest = one.asked.get("what") == "rest"
    stores = _rows(changes.get("stores", {}))
    spoils = spoils or any(row["lacks_t"] >= SHOWN_T for row in stores)
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
        rest=rest,
        fit=fits(entry, one),
        account=account_rows(changes),
        stores=stores,
        in_force=rounds_in_force(entry, period) == folder,
        sheets=sheets_in(folder) if one.state == "done" else None,
        day_words=day_words,
        places=_rows(changes.get("places", {})),
        trucks=_rows(changes.get("trucks", {})),
        left=_rows(changes.get("left", {})),
        cautions=[
            *CAUTIONS,
            *([SPOILS] if spoils else []),
            *([ROOM] if rest else []),
            HOT,
        ],
        written=written,
        clock=_clock,
    )


BECAUSE = {
    "over_t": "{} t more hauled than planned",
    "elsewhere_t": "{} t went to another yard",
    "spoilt_t": "{} t was not fetched in time and is gone",
    "not_there_t": "{} t is not there",
    "not_needed_t": "{} t is in store already",
    "more_t": "{} t more is fetched",
}
"""What a row of the account says of its tonnes."""
SHOWN_T = 0.005
"""Tonnes under this are not worth a word. [t]"""


def account_rows(changes: Mapping[str, Any]) -> list[dict[str, Any]]:
    """List where the plan of a month is, with what corrects it in words."""
    rows = _rows(changes.get("account", {}))
    for row in rows:
        row["words"] = "; ".join(
            words.format(written(row[name], 2))
            for name, words in BECAUSE.items()
            if row[name] >= SHOWN_T
        )
    return sorted(rows, key=lambda row: not row["words"])


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
    entry, which = entry_of(request), request.path_params["which"]
    folder = folder_of(entry, TODAY, which)
    one: Errand = errand_at(folder)
    if one.state == "none":
        raise NotThere(which)
    period = str(one.asked.get("period", ""))
    name = request.path_params["name"]
    if what == "use" and one.state == "done" and fits(entry, one):
        set_in_force(entry, period, which)
        first = int(one.asked.get("first", 1))
        return f"{month_address(name, entry.code, period)}&day={first}"
    if what == "first":
        set_in_force(entry, period, "")
        return month_address(name, entry.code, period)
    if what == "aside" and one.state in ("done", "failed", "interrupted", "stopped"):
        if rounds_in_force(entry, period) == folder:
            raise HTTPException(422, "These rounds are in force. Put others in force")
        discard(folder)
        return month_address(name, entry.code, period, "today")
    raise HTTPException(422, "This cannot be done now. Look at the page again")


ROUTES = [
    Route("/s/{name}/plans/{code}/months/{period}/today", trouble, methods=["POST"]),
    Route("/s/{name}/plans/{code}/today/{which}", today, methods=["GET"]),
    Route("/s/{name}/plans/{code}/today/{which}/settle", settle, methods=["POST"]),
]
