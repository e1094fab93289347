"""The tray: what adds to it, takes back, saves and shares, for forms and scripts."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from maps.desk.changes.forms import wish_of
from maps.desk.changes.saved import save_change, saved_change
from maps.desk.changes.tray import (
    Tray,
    Wishes,
    change_set,
    change_tray,
    emptied,
    instead,
    key_of,
    read_tray,
    sentences,
    titled_by,
    tried,
    wishes_of,
    without,
)
from maps.desk.looks import address_of, form_of, see_other
from maps.desk.opened import OpenedDesk, desk_of
from maps.desk.shelf import NameFault

LARGEST = 50_000
"""Of a text that is brought into the tray. [letter]"""
BACK = ("answers", "whatif")
"""Pages that a form of the tray leads back to."""

Form = dict[str, str]


async def change(request: Request) -> Response:
    """Do to the tray what a form asks."""
    form = await form_of(request)
    act = ACTIONS.get(request.path_params["action"])
    if act is None:
        raise HTTPException(404, "There is no such action")
    desk, name = desk_of(request), request.path_params["name"]
    made = await run_in_threadpool(act, desk, name, form)
    if "/api/" in request.url.path:
        return JSONResponse(await run_in_threadpool(shown, desk, name, made))
    back = form.get("back", "")
    return see_other(address_of("s", name, back if back in BACK else "whatif"))


def shown(desk: OpenedDesk, name: str, tray: Tray) -> dict[str, Any]:
    """Tell what is in the tray: sentences, the text to share, whether there is undo."""
    scenario = desk.tables.at(desk.shelf.scenario(name)).scenario
    return {
        "lines": sentences(tray.wishes, scenario),
        "undo": bool(tray.past),
        "key": key_of(tray.wishes),
        "text": text_of(tray.wishes, titled_by(tray.wishes, scenario)),
        "title": titled_by(tray.wishes, scenario) if tray.wishes else "",
    }


def text_of(wishes: Wishes, title: str) -> str:
    """Write the tray as the text of a change file; nothing where it is empty."""
    from logistics.changes import change_text

    return change_text(change_set(wishes, title)) if wishes else ""


def _with(desk: OpenedDesk, name: str, more: Callable[[Any], Wishes]) -> Tray:
    """Add changes to the tray, if the scenario takes them."""
    from logistics.scenario import ScenarioError

    folder = desk.shelf.scenario(name)
    read = desk.tables.at(folder)
    if read.scenario is None:
        message = "The tables have faults. Mend them first"
        raise NameFault(message)
    scenario = read.scenario

    def make(tray: Tray) -> Tray:
        new = more(scenario)
        kept = tray.wishes
        for wish in new:
            kept = instead(kept, wish)
        return tray.holding(tried(kept, scenario, new))

    try:
        return change_tray(folder, make)
    except ScenarioError as error:
        said = " ".join(str(problem) for problem in error.problems)
        raise NameFault(said.rstrip(".")) from None


def _add(desk: OpenedDesk, name: str, form: Form) -> Tray:
    return _with(desk, name, lambda known: (wish_of(form.get("do", ""), form, known),))


def _take(desk: OpenedDesk, name: str, form: Form) -> Tray:
    """Take in a change file of the scenario, or the text of one that was shared."""
    from logistics.changes import read_change_text

    folder = desk.shelf.scenario(name)
    if form.get("code"):
        found = saved_change(folder, form["code"])
    else:
        text = form.get("text", "")
        if len(text) > LARGEST:
            message = "This text is too long for a change file"
            raise NameFault(message)
        try:
            found = read_change_text(text, "This text", "shared")
        except ValueError as error:
            said = str(error).replace("\n", " ").rstrip(".")
            raise NameFault(said) from None
    return _with(desk, name, lambda _: wishes_of(found))


def _remove(desk: OpenedDesk, name: str, form: Form) -> Tray:
    place = form.get("place", "")
    at = int(place) if place.isascii() and place.isdigit() and len(place) < 4 else -1

    def make(tray: Tray) -> Tray:
        left = without(tray.wishes, at)
        return tray if left == tray.wishes else tray.holding(left)

    return change_tray(desk.shelf.scenario(name), make)


def _undo(desk: OpenedDesk, name: str, _: Form) -> Tray:
    return change_tray(desk.shelf.scenario(name), Tray.undone)


def _clear(desk: OpenedDesk, name: str, _: Form) -> Tray:
    return change_tray(desk.shelf.scenario(name), emptied)


def _save(desk: OpenedDesk, name: str, form: Form) -> Tray:
    """Save what is in the tray as a change file; the tray stays as it is."""
    folder = desk.shelf.scenario(name)
    tray = read_tray(folder)
    code = form.get("name", "")
    title = " ".join(form.get("title", "").split()) or code
    story = " ".join(form.get("story", "").split())
    save_change(folder, code, change_set(tray.wishes, title, story))
    return tray


ACTIONS: dict[str, Callable[[OpenedDesk, str, Form], Tray]] = {
    "add": _add,
    "take": _take,
    "remove": _remove,
    "undo": _undo,
    "clear": _clear,
    "save": _save,
}

ROUTES = [
    Route("/s/{name}/tray/{action}", change, methods=["POST"]),
    Route("/s/{name}/api/tray/{action}", change, methods=["POST"]),
]
