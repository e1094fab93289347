"""Take away: every file of a plan, all in a ZIP, and the share file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryFile
from typing import IO
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import FileResponse, Response, StreamingResponse
from starlette.routing import Route

from maps.desk.archive import PIECE, pack
from maps.desk.book import BEST, FIRST, OUTPUTS, PlanEntry, plan_of
from maps.desk.figures import size_words
from maps.desk.looks import page
from maps.desk.opened import desk_of
from maps.desk.share import files_of_plan, files_to_share
from maps.desk.shelf import NotThere, inside

WORDS = {
    "explain.html": ("One page", "The plan in plain words, on one sheet of A4."),
    "report.html": ("Report", "To print for the board: summary, yards, money, limits."),
    "map.html": ("Map", "The plan month by month; opens in any browser, offline."),
    "plan.xlsx": ("Workbook", "Every table of the plan, with charts."),
    "budget.xlsx": ("Budget", "Twelve months and ten years, by heading of accounts."),
    "plan.gpkg": ("GeoPackage", "Yards, sources, lanes and markets for a GIS."),
    "plan.kml": ("KML", "The plan for map programs and phones."),
    "summary.json": ("Key figures", "For programs."),
}
"""Outputs of a plan, what each is called, and what it is good for."""
SANDBOX = (
    "sandbox allow-scripts allow-modals allow-downloads; default-src 'none'; "
    "script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:; "
    "connect-src 'none'; form-action 'none'; base-uri 'none'; frame-ancestors 'self'"
)
"""
Of pages that lie in a plan's folder. They carry a policy of their own; one from another
office may not, so it runs as a stranger: without our cookie and without any address.
"""
KINDS = {".html": "text/html; charset=utf-8"}


def _entry_of(request: Request) -> PlanEntry:
    folder = desk_of(request).shelf.scenario(request.path_params["name"])
    return plan_of(folder, request.path_params["code"])


def take(request: Request) -> Response:
    """List what can be taken away of a plan."""
    found = _entry_of(request)
    files = dict(files_of_plan(found))
    tables = [name for name in files if name.startswith("plan.csv/")]
    rows = [
        (name, *WORDS[name], size_words(files[name].stat().st_size))
        for name in WORDS
        if name in files
    ]
    return page(
        request,
        "desk_take.html.j2",
        scenario=request.path_params["name"],
        here="plan",
        entry=found,
        rows=rows,
        tables=[name.removeprefix("plan.csv/") for name in tables],
    )


def file(request: Request) -> Response:
    """Send a file of a plan: pages to be looked at, all others to be kept."""
    part = request.path_params["part"]
    if part not in (OUTPUTS, FIRST, BEST):
        raise NotThere(part)
    found = _entry_of(request)
    folder = found.folder / part
    if folder.is_symlink() or folder.is_junction():
        raise NotThere(part)
    path = inside(folder, request.path_params["path"])
    return sent(path, keep="keep" in request.query_params)


def sent(path: Path, *, keep: bool) -> FileResponse:
    """Send a file that a worker made: a page to be looked at, all others to be kept."""
    kind = KINDS.get(path.suffix.lower())
    headers = {"content-security-policy": SANDBOX}
    if kind is not None and not keep:
        return FileResponse(path, media_type=kind, headers=headers)
    name = quote(path.name)
    headers["content-disposition"] = f"attachment; filename*=utf-8''{name}"
    return FileResponse(path, media_type="application/octet-stream", headers=headers)


def everything(request: Request) -> Response:
    """Send all outputs of a plan in one ZIP file."""
    found = _entry_of(request)
    name = f"{request.path_params['name']} {found.code}.zip"
    return zipped(files_of_plan(found), name)


def share(request: Request) -> Response:
    """Send the scenario with this plan as a share file."""
    found = _entry_of(request)
    folder = found.folder.parents[1]
    return zipped(files_to_share(folder, found), f"{folder.name}.share.zip")


def zipped(files: Iterator[tuple[str, Path]], name: str) -> Response:
    """Send files as a ZIP file of a name."""
    packed: IO[bytes] = TemporaryFile()  # noqa: SIM115 (closed when it was sent)
    pack(packed, files)
    size = packed.tell()
    packed.seek(0)
    headers = {
        "content-disposition": f"attachment; filename*=utf-8''{quote(name)}",
        "content-length": str(size),
    }
    return StreamingResponse(
        _pieces(packed), media_type="application/zip", headers=headers
    )


def _pieces(packed: IO[bytes]) -> Iterator[bytes]:
    """Read a file in pieces, and close it."""
    with packed:
        while piece := packed.read(PIECE):
            yield piece


ROUTES = [
    Route("/s/{name}/plans/{code}/take", take),
    Route("/s/{name}/plans/{code}/all.zip", everything),
    Route("/s/{name}/plans/{code}/share.zip", share),
    Route("/s/{name}/plans/{code}/files/{part}/{path:path}", file),
]
