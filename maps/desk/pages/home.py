"""The first page: the scenarios of the opened folder."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from maps.desk.looks import page
from maps.desk.opened import desk_of


def home(request: Request) -> Response:
    """Show all scenarios."""
    shelf = desk_of(request).shelf
    return page(request, "desk_home.html.j2", names=shelf.names())


ROUTES = [Route("/", home)]
