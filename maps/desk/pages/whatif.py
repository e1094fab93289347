"""What if: ready-made changes, forms for new ones, and the studies made of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from maps.desk.book import last_done, order_plan, plans, yards_of
from maps.desk.changes.forms import fields, groups, sentence
from maps.desk.changes.named import named
from maps.desk.changes.saved import saved_change, saved_changes
from maps.desk.changes.tray import change_set, read_tray, titled_by
from maps.desk.looks import address_of, form_of, page, see_other
from maps.desk.opened import OpenedDesk, desk_of
from maps.desk.pages.plan import GAPS, MINUTES, settings_asked
from maps.desk.pages.tray import shown
from maps.desk.shelf import STUDIES

if TYPE_CHECKING:
    from pathlib import Path

    from logistics.scenario import Scenario

STUDY_WORDS = {
    "compare": "Changes side by side",
    "stress": "Stress test",
    "robust": "Yards for many futures",
    "frontier": "Cost against another goal",
    "shares": "Who pays what",
    "years": "The way through the years",
    "why": "Why here, why not there",
    "alternatives": "Other plans nearly as good",
}
"""Word of an order -> name of the study."""
AGAINST = {
    "collected": "tonnes collected",
    "co2e": "emissions",
    "yards": "number of yards",
    "people": "people near yards",
    "fairness": "distance of the worst tenth of farms",
}
WITHIN = ("1", "2", "3", "5")
"""Shares of the cost that other plans may give up, to choose from. [%]"""
KINDS = ("yard", "source", "market")
MOST = 24
"""Changes of one study."""
PICK = "pick."
"""Before the name of a change file in the fields of a form."""


def whatif(request: Request) -> Response:
    """Show changes, forms, tray and studies."""
    desk, name = desk_of(request), request.path_params["name"]
    folder = desk.shelf.scenario(name)
    read = desk.tables.at(folder)
    wanted = request.query_params.get("do", "")
    form = fields(wanted, read.scenario) if wanted and read.scenario else []
    return page(
        request,
        "desk_whatif.html.j2",
        scenario=name,
        here="whatif",
        faults=read.faults,
        saved=saved_changes(folder, read.scenario),
        groups=groups(),
        wanted=wanted,
        sentence=sentence(wanted) if wanted else "",
        form=form,
        tray=shown(desk, name, read_tray(folder)),
        studies=[(e, study_words(e.order)) for e in plans(folder, STUDIES)],
        minutes=MINUTES,
        gaps=GAPS,
        against=AGAINST,
        within=WITHIN,
        places=places_of_tables(read.scenario),
    )


def places_of_tables(scenario: Scenario | None) -> dict[str, Any]:
    """
    List what can be asked about: heading and ("yard:code", name) each; and months.

    >>> places_of_tables(None)
    {'groups': [], 'periods': []}
    """
    if scenario is None:
        return {"groups": [], "periods": []}
    heads = {"yard": "Yards and sites", "source": "Sources", "market": "Markets"}
    groups = [
        (head, [(f"{kind}:{code}", name) for code, name in found.items()])
        for kind, head in heads.items()
        if (found := named(scenario, kind))
    ]
    return {"groups": groups, "periods": list(named(scenario, "period").items())}


def study_words(order: Mapping[str, Any]) -> str:
    """
    Name a study by what was asked.

    >>> study_words({"asked": {"study": "stress"}}), study_words({})
    ('Stress test', 'Study')
    """
    from logistics.scenario import in_list

    asked = order.get("asked")
    told = asked if isinstance(asked, Mapping) else {}
    words = STUDY_WORDS.get(str(told.get("study")), "Study")
    if told.get("named"):
        return f"{words}: {told['named']}"
    changes = told.get("changes")
    if not isinstance(changes, list) or not changes:
        return words
    titles = [str(c.get("title", "")) for c in changes if isinstance(c, Mapping)]
    more = f" and {len(titles) - 2} more" if len(titles) > 2 else ""
    return f"{words}: {in_list(titles[:2])}{more}"


async def start(request: Request) -> Response:
    """Order a study and show it."""
    form = await form_of(request)
    desk, name = desk_of(request), request.path_params["name"]
    code = await run_in_threadpool(ordered, desk, name, form)
    return see_other(address_of("s", name, STUDIES, code))


def ordered(desk: OpenedDesk, name: str, form: dict[str, str]) -> str:
    """Put a study into its book as a form asks, and return its code."""
    folder = desk.shelf.scenario(name)
    kind = form.get("study", "")
    if kind not in STUDY_WORDS:
        raise HTTPException(422, "There is no such study")
    if desk.tables.at(folder).scenario is None:
        raise HTTPException(422, "The tables have faults. Mend them first")
    asked = {**settings_asked(form), "study": kind, **more_asked(kind, form)}
    if kind == "why":
        asked |= place_asked(desk, name, form)
    if kind in ("compare", "robust"):
        asked["changes"] = picked(desk, name, form)
    if kind == "years":
        asked |= years_asked(folder, desk.tables.at(folder).scenario)
    if old := yards_of(last_done(plans(folder))):
        asked["start"] = old
    entry = order_plan(folder, asked, STUDIES)
    desk.line.wake()
    return entry.code


def picked(desk: OpenedDesk, name: str, form: dict[str, str]) -> list[dict[str, str]]:
    """
    Return the changes that are ticked, as texts that stay as they are now.

    Raises
    ------
    HTTPException
        If none is ticked, or too many are, or one has faults.
    """
    from logistics.changes import change_text
    from logistics.scenario import ScenarioError

    folder = desk.shelf.scenario(name)
    codes = [field.removeprefix(PICK) for field in form if field.startswith(PICK)]
    try:
        found = [saved_change(folder, code) for code in codes]
    except ScenarioError as error:
        raise HTTPException(422, str(error).rstrip(".")) from None
    tray = read_tray(folder).wishes
    if form.get("tray") == "yes" and tray:
        title = titled_by(tray, desk.tables.at(folder).scenario)
        found.append(change_set(tray, title))
    if not 1 <= len(found) <= MOST:
        raise HTTPException(422, f"Tick from 1 to {MOST} changes")
    return [
        {"code": one.code, "title": one.title, "text": change_text(one)}
        for one in found
    ]


def years_asked(folder: Path, scenario: Scenario | None) -> dict[str, object]:
    """
    Read which years are asked about, and their changes as they are now.

    Raises
    ------
    HTTPException
        If the scenario has no years.
    """
    from logistics.changes import change_text, changes_of_years

    if scenario is None or scenario.table("years").empty:
        raise HTTPException(422, "Fill in the table years first")
    changes = [
        {"code": name, "title": one.title, "text": change_text(one)}
        for name, one in changes_of_years(scenario, folder).items()
    ]
    years = scenario.table("years")["year"].tolist()
    return {"changes": changes, "named": f"{years[0]} to {years[-1]}"}


def place_asked(desk: OpenedDesk, name: str, form: dict[str, str]) -> dict[str, object]:
    """
    Read which yard, source or market is asked about, and in which month.

    Raises
    ------
    HTTPException
        If the tables do not have it.
    """
    scenario = desk.tables.at(desk.shelf.scenario(name)).scenario
    kind, _, code = form.get("site", "").partition(":")
    known = named(scenario, kind) if scenario and kind in KINDS else {}
    if scenario is None or code not in known:
        raise HTTPException(422, "Choose a yard, a source or a market")
    asked: dict[str, object] = {"site": f"{kind}:{code}", "named": known[code]}
    period = form.get("period", "") if kind != "yard" else ""
    months = named(scenario, "period")
    if period and period not in months:
        raise HTTPException(422, "There is no such month")
    if period:
        asked |= {"period": period, "named": f"{known[code]}, {months[period]}"}
    return asked


def more_asked(kind: str, form: dict[str, str]) -> dict[str, object]:
    """
    Read what is asked of one kind of study alone.

    >>> more_asked("stress", {"draws": "20", "replan": "yes"})
    {'draws': 20, 'replan': True}
    """
    if kind == "stress":
        draws = _whole(form, "draws", 50, 10_000)
        return {"draws": draws, "replan": form.get("replan") == "yes"}
    if kind == "frontier":
        against = form.get("against", "collected")
        if against not in AGAINST:
            raise HTTPException(422, f"against: {against[:20]!r} is unknown")
        return {"against": against, "points": _whole(form, "points", 6, 30)}
    if kind == "alternatives":
        within = form.get("within", "3")
        if within not in WITHIN:
            raise HTTPException(422, f"within: {within[:20]!r} is unknown")
        return {"within": float(within)}
    if kind == "shares":
        return {"sites": "all" if form.get("sites") == "all" else "own"}
    return {}


def _whole(form: dict[str, str], name: str, usual: int, most: int) -> int:
    """Read a whole number of a form."""
    text = form.get(name, "").strip() or str(usual)
    if not (text.isascii() and text.isdigit() and len(text) < 7 and int(text) <= most):
        words = f"{name}: {text[:20]!r} is not a whole number from 0 to {most}"
        raise HTTPException(422, words)
    return int(text)


ROUTES = [
    Route("/s/{name}/whatif", whatif),
    Route("/s/{name}/studies/start", start, methods=["POST"]),
]
