"""The page of the money: the budget, other prices, the ledger behind each sum."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from maps.desk.anew import order_changed
from maps.desk.book import OUTPUTS, PlanEntry, plan_of, plans
from maps.desk.changes.effect import apart
from maps.desk.figures import written
from maps.desk.looks import address_of, form_of, page, see_other
from maps.desk.money_view import (
    BY,
    PlanMoney,
    cut_of,
    figures_of,
    money_of,
    priced,
    rows_behind,
    used,
)
from maps.desk.opened import desk_of
from maps.desk.pages.fleet import fleet_of
from maps.desk.prices import (
    LEAST,
    MOST_RATE,
    STEPS,
    WORDS,
    PriceFault,
    Prices,
    change_of,
    prices_asked,
)
from maps.desk.shelf import NotThere

TOP = 100.0
"""Highest end of a slider; the address takes more. [% more]"""
ROWS_SHOWN = 400
"""Most rows of the ledger shown behind a figure; the largest come first."""
WHERE = ("head", "name", "kind")


def done_plans(request: Request) -> list[PlanEntry]:
    """Finished plans of the scenario that is asked about, the newest first."""
    folder = desk_of(request).shelf.scenario(request.path_params["name"])
    return [one for one in plans(folder) if one.state == "done"]


def chosen(request: Request, entries: list[PlanEntry]) -> PlanEntry | None:
    """Return the plan that the address names; the newest finished one by default."""
    code = request.query_params.get("plan", "")
    if not code:
        return entries[0] if entries else None
    found = next((one for one in entries if one.code == code), None)
    if found is None:
        raise NotThere(code)
    return found


def asked(request: Request) -> tuple[Prices, str]:
    """Read other prices and the cut from an address."""
    try:
        prices = prices_asked(request.query_params)
    except PriceFault as fault:
        raise HTTPException(422, str(fault)) from None
    by = request.query_params.get("by", "period")
    if by not in BY:
        raise HTTPException(422, f"by: {by[:20]!r} is not one of {list(BY)}")
    return prices, by


def money(request: Request) -> Response:
    """Show the money of a finished plan."""
    entries = done_plans(request)
    entry = chosen(request, entries)
    prices, by = asked(request)
    name = request.path_params["name"]
    shared = {"scenario": name, "here": "money", "entries": entries, "entry": entry}
    found = None
    if entry is not None:
        try:
            found = money_of(entry.folder)
        except NotThere:
            found = None
    if entry is None or found is None:
        return page(request, "desk_money.html.j2", **shared, money=None)
    other = priced(found, prices)
    errand, fleet = fleet_of(entry)
    return page(
        request,
        "desk_money.html.j2",
        **shared,
        money=found,
        by=by,
        cuts=BY,
        cut=cut_of(found, other, by),
        figures=figures_of(found, other),
        sliders=sliders(found, prices),
        behind=behind(request, found, prices, by),
        written=written,
        query=query_of(prices),
        planned_anew=change_of(prices)[0],
        errand=errand,
        fleet=fleet,
        apart=apart,
        budget=(entry.folder / OUTPUTS / "budget.xlsx").is_file(),
    )


def sliders(found: PlanMoney, prices: Prices) -> list[dict[str, Any]]:
    """Say where each slider stands, and what it is now."""
    rows = []
    for name in used(found):
        rate = name == "discount"
        planned = found.book.finance.discount * 100 if rate else 0.0
        given = getattr(prices, name)
        value = planned if given is None else given
        rows.append(
            {
                "name": name,
                "label": WORDS[name],
                "least": 0.0 if rate else LEAST,
                "most": MOST_RATE if rate else TOP,
                "step": 0.5 if rate else 5.0,
                "planned": planned,
                "value": value,
                "rate": rate,
                "base": found.fuel_price if name == "fuel" else None,
                "replan": name in STEPS,
            }
        )
    return rows


def query_of(prices: Prices) -> str:
    """Write other prices as part of an address."""
    given = {k: f"{v:g}" for k, v in asdict(prices).items() if v is not None and v}
    if prices.discount is not None:
        given["discount"] = f"{prices.discount:g}"
    return urlencode(given)


def behind(
    request: Request, found: PlanMoney, prices: Prices, by: str
) -> dict[str, Any] | None:
    """Look up the rows behind the figure that the address names, if it names one."""
    query = request.query_params
    if "behind" not in query:
        return None
    where = {name: query[name] for name in WHERE if name in query}
    if by != "line" and "code" in query:
        where[by] = query["code"]
    rows = rows_behind(found, priced(found, prices), where)
    words = [query.get("name", ""), query.get("head", "")]
    title = " ".join(filter(None, words)) or "All headings"
    if by != "line" and "code" in query:
        known = found.names[by].get(query["code"], query["code"])
        title = f"{title}, {known or 'no place'}"
    return {
        "title": title,
        "sum": sum(row["part"] for row in rows),
        "now": sum(row["now"] for row in rows),
        "count": len(rows),
        "rows": rows[:ROWS_SHOWN],
    }


def repriced(request: Request) -> Response:
    """Send the cut and the sums at other prices."""
    found, prices, by = _asked_of_plan(request)
    other = priced(found, prices)
    told = {"cut": cut_of(found, other, by), "figures": figures_of(found, other)}
    return JSONResponse(told | {"planned_anew": change_of(prices)[0]})


def rows(request: Request) -> Response:
    """Send the rows of the ledger behind a figure."""
    found, prices, by = _asked_of_plan(request)
    return JSONResponse(behind(request, found, prices, by))


def _asked_of_plan(request: Request) -> tuple[PlanMoney, Prices, str]:
    folder = desk_of(request).shelf.scenario(request.path_params["name"])
    entry = plan_of(folder, request.path_params["code"])
    return money_of(entry.folder), *asked(request)


async def plan_anew(request: Request) -> Response:
    """Order a plan at other prices."""
    form = await form_of(request)
    desk = desk_of(request)
    name = request.path_params["name"]
    try:
        title, text = await run_in_threadpool(change_of, prices_asked(form))
    except PriceFault as fault:
        raise HTTPException(422, str(fault)) from None
    if not text:
        raise HTTPException(422, "No price that a plan is made with was moved")
    folder = desk.shelf.scenario(name)
    base = await run_in_threadpool(plan_of, folder, request.path_params["code"])
    code = await run_in_threadpool(order_changed, base, "prices", title, text)
    desk.line.wake()
    return see_other(address_of("s", name, "plans", code))


ROUTES = [
    Route("/s/{name}/money", money),
    Route("/s/{name}/api/plans/{code}/money", repriced),
    Route("/s/{name}/api/plans/{code}/money/rows", rows),
    Route("/s/{name}/plans/{code}/money/plan", plan_anew, methods=["POST"]),
]
