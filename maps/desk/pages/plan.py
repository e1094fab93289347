"""The plan page: one button, what is under way, and the plan book of a scenario."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from maps.desk.book import (
    is_older,
    last_done,
    order_plan,
    plan_of,
    plans,
    yards_of,
)
from maps.desk.figures import differences, figures, yard_changes
from maps.desk.line import in_line
from maps.desk.looks import address_of, form_of, page, see_other
from maps.desk.opened import OpenedDesk, desk_of
from maps.desk.shelf import edits_wait

MINUTES = (1, 2, 5, 10, 30, 60)
"""Times that a plan may take, to choose from. [min]"""
GAPS = (0.1, 0.5, 1.0, 2.0, 5.0)
"""Gaps at which solving may stop, to choose from. [%]"""
GOALS = {
    "cost": "least cost",
    "co2e": "least emissions",
    "uncollected": "least left uncollected",
}
SHOWN = ("Yards in use", "Collected", "Net cost", "Proven gap")
"""Figures in the list of plans."""


def plan(request: Request) -> Response:
    """Show the button, the line and the book."""
    desk = desk_of(request)
    name = request.path_params["name"]
    folder = desk.shelf.scenario(name)
    seen = desk.looks.at(folder)
    desk.line.expect()
    entries = plans(folder)
    rows = [
        (
            entry,
            [f for f in figures(entry.summary) if f.label in SHOWN],
            entry.state == "done" and is_older(entry, seen.digest, seen.fingerprint),
        )
        for entry in sorted(entries, key=lambda one: not one.star)
    ]
    return page(
        request,
        "desk_plan.html.j2",
        scenario=name,
        here="plan",
        seen=seen,
        edits=edits_wait(folder),
        rows=rows,
        last=last_done(entries),
        line=in_line(desk.shelf),
        minutes=MINUTES,
        gaps=GAPS,
        goals=GOALS,
    )


async def start(request: Request) -> Response:
    """Order a plan and show it."""
    form = await form_of(request)
    desk = desk_of(request)
    name = request.path_params["name"]
    code = await run_in_threadpool(ordered, desk, name, form)
    return see_other(address_of("s", name, "plans", code))


def ordered(desk: OpenedDesk, name: str, form: dict[str, str]) -> str:
    """Put a plan into the book as a form asks, and return its code."""
    folder = desk.shelf.scenario(name)
    asked = settings_asked(form)
    last = last_done(plans(folder))
    if last and (old := yards_of(last)):
        asked |= {"start": old, "from": last.code}
    entry = order_plan(folder, asked)
    desk.line.wake()
    return entry.code


def settings_asked(form: dict[str, str]) -> dict[str, object]:
    """
    Read the settings that a form asks for; those left blank stay as they are.

    >>> settings_asked({"minutes": "2", "gap": "", "goal": ""})
    {'solve.seconds': 120.0}
    """
    asked: dict[str, object] = {}
    for field, setting, factor, least, most in (
        ("minutes", "solve.seconds", 60.0, 0.01, 60 * 24),
        ("gap", "solve.gap_pct", 1.0, 0.0, 50.0),
    ):
        text = form.get(field, "").strip()
        if not text:
            continue
        try:
            value = float(text)
        except ValueError:
            value = -1.0
        if not least <= value <= most:
            words = f"{field}: {text[:20]!r} is not from {least:g} to {most:g}"
            raise HTTPException(422, words)
        asked[setting] = value * factor
    if form.get("haulage") == "estimate":
        asked["estimate"] = True
    if goal := form.get("goal", ""):
        if goal not in GOALS:
            raise HTTPException(422, f"goal: {goal[:20]!r} is not one of {list(GOALS)}")
        asked["goal.minimise"] = goal
    return asked


def compare(request: Request) -> Response:
    """Show two plans of the book beside each other."""
    name = request.path_params["name"]
    folder = desk_of(request).shelf.scenario(name)
    codes = request.query_params.getlist("plan")
    if len(codes) != 2 or codes[0] == codes[1]:
        raise HTTPException(422, "Tick two plans to compare")
    one, other = (plan_of(folder, code) for code in codes)
    if one.ordered > other.ordered:
        one, other = other, one
    if not (one.summary and other.summary):
        raise HTTPException(422, "Only finished plans can be compared")
    names = desk_of(request).looks.at(folder).names
    return page(
        request,
        "desk_compare.html.j2",
        scenario=name,
        here="plan",
        one=one,
        other=other,
        rows=differences(one.summary, other.summary),
        yards=[
            (names.get(yard, yard), words)
            for yard, words in yard_changes(yards_of(one), yards_of(other))
        ],
    )


ROUTES = [
    Route("/s/{name}/plan", plan),
    Route("/s/{name}/plan/start", start, methods=["POST"]),
    Route("/s/{name}/compare", compare),
]
