"""One study: how it stands, its tables, pictures and files, what to do with it."""

from __future__ import annotations

import tomllib
from collections.abc import Callable

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from maps.desk.board import read_sheets
from maps.desk.book import (
    CLAIM,
    DROP,
    OUTPUTS,
    STOP,
    PlanEntry,
    ask,
    delete,
    label,
    plan_of,
    when,
)
from maps.desk.events import EVENTS
from maps.desk.figures import size_words
from maps.desk.line import in_line
from maps.desk.looks import address_of, form_of, page, see_other
from maps.desk.opened import desk_of
from maps.desk.pages.entry import stream
from maps.desk.pages.take import sent
from maps.desk.pages.tray import LARGEST
from maps.desk.pages.whatif import study_words
from maps.desk.share import files_of_plan
from maps.desk.shelf import STUDIES, NotThere, inside

PICTURES = {
    "compare.html": "Maps side by side",
    "frontier.html": "Frontier",
    "stress.html": "Stress test",
    "shares.html": "Report with shares",
    "way.html": "The way there",
    "why.html": "Why, and why not",
    "alternatives.html": "Plans nearly as good",
}
"""Pages of studies that are shown, with their titles."""
ALTERNATIVES = "alternatives_plans"
"""Folder of change files that a study leaves, one a plan."""
FILES = {
    "compare_sheet.html": "Sheet to print",
    "compare.xlsx": "Workbook",
    "frontier.xlsx": "Workbook",
    "robust.xlsx": "Workbook",
    "stress.xlsx": "Workbook",
    "shares.xlsx": "Workbook",
    "alternatives.xlsx": "Workbook",
    "way.xlsx": "Budget, a column a year",
    "last_year/report.html": "Report of the last year",
    "last_year/plan.xlsx": "Workbook of the last year",
}
"""Further files of studies, with their titles."""


def _study_of(request: Request) -> PlanEntry:
    folder = desk_of(request).shelf.scenario(request.path_params["name"])
    return plan_of(folder, request.path_params["code"], STUDIES)


def study(request: Request) -> Response:
    """Show a study: under way, finished, failed or interrupted."""
    desk, found = desk_of(request), _study_of(request)
    files = dict(files_of_plan(found)) if found.state == "done" else {}
    ahead = [one.code for _, one in in_line(desk.shelf)] if found.under_way else []
    return page(
        request,
        "desk_study.html.j2",
        scenario=request.path_params["name"],
        here="whatif",
        entry=found,
        what=study_words(found.order),
        ordered=when(found.ordered),
        ahead=ahead.index(found.code) if found.code in ahead else 0,
        stopping=(found.folder / STOP).exists(),
        sheets=read_sheets(found.folder) if found.state == "done" else [],
        picture=next((p for p in PICTURES.items() if p[0] in files), None),
        takes=plans_to_take(found) if found.state == "done" else [],
        files=[
            (name, title, size_words(files[name].stat().st_size))
            for name, title in (PICTURES | FILES).items()
            if name in files
        ],
    )


def plans_to_take(found: PlanEntry) -> list[tuple[str, str]]:
    """Title and text of each plan of a study that can be taken as a change."""
    folder = found.folder / OUTPUTS / ALTERNATIVES
    taken = []
    for path in sorted(folder.glob("*.toml")) if folder.is_dir() else []:
        if path.is_symlink() or path.stat().st_size > LARGEST:
            continue
        text = path.read_text(encoding="utf-8", errors="replace")
        try:
            title = str(tomllib.loads(text).get("title") or path.stem)
        except tomllib.TOMLDecodeError:
            continue
        taken.append((title, text))
    return taken


async def follow(request: Request) -> Response:
    """Send what the worker tells, from where the page has come to."""
    found = await run_in_threadpool(_study_of, request)
    told = request.headers.get("last-event-id", "0")
    start = int(told) if told.isascii() and told.isdigit() and len(told) < 15 else 0
    return StreamingResponse(
        stream(request, found, start), media_type="text/event-stream"
    )


async def change(request: Request) -> Response:
    """Stop, drop, go on with, name or delete a study."""
    form = await form_of(request)
    desk = desk_of(request)
    found = await run_in_threadpool(_study_of, request)
    wanted = ACTIONS.get(request.path_params["action"])
    if wanted is None:
        raise HTTPException(404, "There is no such action")
    stays = await run_in_threadpool(wanted, found, form)
    desk.line.wake()
    name = request.path_params["name"]
    if not stays:
        return see_other(address_of("s", name, "whatif"))
    return see_other(address_of("s", name, STUDIES, found.code))


Form = dict[str, str]


def _stop(found: PlanEntry, _: Form) -> bool:
    ask(found, STOP)
    return True


def _drop(found: PlanEntry, _: Form) -> bool:
    if found.state == "waiting":
        delete(found)
        return False
    ask(found, DROP)
    return True


def go_on(found: PlanEntry, _: Form) -> bool:
    """Let a study that failed or was interrupted wait again; what it has is kept."""
    if found.state in ("failed", "interrupted"):
        for name in (STOP, DROP, EVENTS, CLAIM):
            (found.folder / name).unlink(missing_ok=True)
    return True


def _label(found: PlanEntry, form: Form) -> bool:
    label(found, name=form.get("name"))
    return True


def _delete(found: PlanEntry, form: Form) -> bool:
    if form.get("sure") != "yes":
        raise HTTPException(422, "Deleting has to be confirmed")
    delete(found)
    return False


ACTIONS: dict[str, Callable[[PlanEntry, Form], bool]] = {
    "stop": _stop,
    "drop": _drop,
    "again": go_on,
    "label": _label,
    "delete": _delete,
}


def file(request: Request) -> Response:
    """Send a file of a study."""
    folder = _study_of(request).folder / OUTPUTS
    if folder.is_symlink() or folder.is_junction():
        raise NotThere(OUTPUTS)
    path = inside(folder, request.path_params["path"])
    return sent(path, keep="keep" in request.query_params)


ROUTES = [
    Route("/s/{name}/studies/{code}", study),
    Route("/s/{name}/studies/{code}/files/{path:path}", file),
    Route("/s/{name}/studies/{code}/{action}", change, methods=["POST"]),
    Route("/s/{name}/api/studies/{code}/events", follow),
]
