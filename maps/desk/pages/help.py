"""Help: the manual, sent by the desk itself; pages open it at the part about them."""

from __future__ import annotations

import re
from html import unescape

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.routing import Route

from maps.desk.opened import desk_of

OWN = re.compile(r'http-equiv="Content-Security-Policy" content="([^"]+)"')
"""Where the manual says what it may load: its own style and script, by digest."""


async def manual(request: Request) -> HTMLResponse:
    """Send the manual; only pages of this desk may show it within them."""
    html = await run_in_threadpool(desk_of(request).manual.html)
    found = OWN.search(html)
    if found is None:
        raise HTTPException(404, "This desk was started without its manual")
    policy = f"{unescape(found[1])}; frame-ancestors 'self'"
    return HTMLResponse(html, headers={"content-security-policy": policy})


ROUTES = [Route("/help", manual)]
