"""Files in and out: forms for enumerators, the whole scenario in another form."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from maps.desk.apart import answer_within
from maps.desk.looks import page
from maps.desk.opened import desk_of
from maps.desk.pages.take import zipped

PROGRAM = (sys.executable, "-P", "-m", "maps.desk.copies_job")
LONGEST = 120.0
"""Time in which a copy must have been made. [s]"""
FORMS = (
    ("survey", "Survey for phones", "An XLSForm: load it into the program that your "
     "enumerators' phones use. Drop its export here when it comes back."),
    ("paper", "Forms on paper", "The same questions, an A4 page a table, to print."),
)  # fmt: skip
COPIES = (
    ("gpkg", "GeoPackage", "All tables; places and shapes as layers for a GIS."),
    ("xlsx", "Workbook", "All tables as sheets."),
    ("csv", "CSV files", "All tables, a file each."),
    ("kml", "KML", "Places only, for map programs and phones."),
)
"""What can be taken away: its word in the address, title, what it is good for."""


def copies(request: Request) -> Response:
    """Show what can be taken away of a scenario, and where files are dropped."""
    name = request.path_params["name"]
    desk_of(request).shelf.scenario(name)
    return page(
        request,
        "desk_copies.html.j2",
        scenario=name,
        here="district",
        forms=FORMS,
        copies=COPIES,
    )


def send(request: Request) -> Response:
    """Make a form or a copy, and send it in a ZIP file."""
    name, what = request.path_params["name"], request.path_params["what"]
    folder = desk_of(request).shelf.scenario(name)
    if what not in {word for word, *_ in (*FORMS, *COPIES)}:
        raise HTTPException(404, "There is no such form or copy")
    with TemporaryDirectory(prefix="loamhaul-copy-") as place:
        asked = json.dumps([str(folder), what, place])
        said = answer_within(PROGRAM, asked, LONGEST)
        wrong = "It takes too long to make" if said is None else json.loads(said)
        if wrong:
            raise HTTPException(422, str(wrong).rstrip("."))
        files = [p for p in sorted(Path(place).rglob("*")) if p.is_file()]
        pairs = ((p.relative_to(place).as_posix(), p) for p in files)
        return zipped(pairs, f"{name} {what}.zip")


ROUTES = [
    Route("/s/{name}/copies", copies),
    Route("/s/{name}/copies/{what}.zip", send),
]
