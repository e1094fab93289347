"""
Who may ask the desk for what: the layer that every request passes first.

Any page in the browser can send requests to an address of this computer. The desk
answers only requests that name its own address and port, carry the cookie that the
opening address was turned into, and come from its own pages or from nowhere. Bodies are
limited in size and time, answers may load nothing from elsewhere.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from maps.desk.refusals import (
    OPENING,
    Key,
    Refusal,
    check_address,
    check_comes_from_us,
    check_cookie,
    check_length,
    check_method,
    check_opening,
    check_path,
    headers_of,
    too_long,
)

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; frame-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'self'"
)
"""Of our own pages: no script or style in the page, nothing from elsewhere."""
HEADERS = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=()",
    "x-frame-options": "SAMEORIGIN",
    "cache-control": "no-store",
}
"""Of every answer that does not say otherwise itself."""


@dataclass(frozen=True)
class RequestLimits:
    """
    How much a request may bring, and how long it may take to.

    Attributes
    ----------
    body
        Of a form or of what a page saves. [byte]
    file
        Of a file dropped in, on the paths of `FILES`. [byte]
    seconds
        From the first byte of a body to its last. [s]
    """

    body: int = 8_000_000
    file: int = 64_000_000
    seconds: float = 60.0


FILES = ("/bring",)
"""Paths that take whole files."""


class Guard:
    """The layer itself: refuses, or passes on to the pages."""

    def __init__(
        self, app: ASGIApp, *, key: Key, limits: RequestLimits | None = None
    ) -> None:
        self.app, self.key, self.limits = app, key, limits or RequestLimits()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        answer = _Answer(send)
        try:
            given = headers_of(scope)
            check_address(scope, given, self.key)
            check_path(scope)
            check_method(scope["method"])
            if scope["path"] == OPENING:
                check_opening(scope, self.key)
                await _opened(answer, self.key)
                return
            check_cookie(given, self.key)
            check_comes_from_us(scope["method"], given)
            most = self._most(scope["path"])
            check_length(given, most)
            body = _Body(receive, most, self.limits.seconds)
            await self.app(scope, body, answer)
        except Refusal as no:
            await _refuse(answer, no)

    def _most(self, path: str) -> int:
        """Limit of a request's body. [byte]"""
        whole = path in FILES
        return self.limits.file if whole else self.limits.body


class _Body:
    """Passes a body on as long as it keeps to its limits."""

    def __init__(self, receive: Receive, most: int, seconds: float) -> None:
        self._receive, self._most, self._seconds = receive, most, seconds
        self._read, self._whole = 0, False
        self._end = asyncio.get_running_loop().time() + seconds

    async def __call__(self) -> Message:
        """Return the next part of the body, or that the caller has gone."""
        if self._whole:
            return await self._receive()
        try:
            async with asyncio.timeout_at(self._end):
                message = await self._receive()
        except TimeoutError:
            raise Refusal(408, "The request took too long to arrive.") from None
        if message["type"] == "http.request":
            self._read += len(message.get("body", b""))
            self._whole = not message.get("more_body", False)
            if self._read > self._most:
                raise Refusal(413, too_long(self._most))
        return message


class _Answer:
    """Sends an answer with our headers, and knows whether it has begun."""

    def __init__(self, send: Send) -> None:
        self._send, self.begun = send, False

    async def __call__(self, message: Message) -> None:
        """Send a part of the answer."""
        if message["type"] == "http.response.start":
            self.begun = True
            named = {name.lower() for name, _ in message["headers"]}
            ours = HEADERS | {"content-security-policy": POLICY}
            more = _encoded((k, v) for k, v in ours.items() if k.encode() not in named)
            message = {**message, "headers": [*message["headers"], *more]}
        await self._send(message)


def _encoded(pairs: Iterable[tuple[str, str]]) -> list[tuple[bytes, bytes]]:
    return [(name.encode(), value.encode("latin-1")) for name, value in pairs]


HEAD = (
    '<!DOCTYPE html><html lang="en"><meta charset="utf-8">'
    '<link rel="icon" href="data:,">'
)


async def _say(
    answer: _Answer, status: int, page: str, more: dict[str, str] | None = None
) -> None:
    """Send a small page."""
    body = page.encode()
    told = {
        "content-type": "text/html; charset=utf-8",
        "content-length": str(len(body)),
    }
    headers = _encoded((told | (more or {})).items())
    await answer({"type": "http.response.start", "status": status, "headers": headers})
    await answer({"type": "http.response.body", "body": body})


async def _refuse(answer: _Answer, no: Refusal) -> None:
    """Say why, in words; an answer that has begun is broken off."""
    if answer.begun:
        raise no
    page = (
        f"{HEAD}<title>Not answered</title>"
        f"<main><h1>Not answered</h1><p>{escape(no.words)}</p></main>"
    )
    await _say(answer, no.status, page, {"connection": "close"})


async def _opened(answer: _Answer, key: Key) -> None:
    """
    Turn the token into the cookie and go to the first page.

    A page leads on, not a redirect: after a redirect from a link in another program the
    browser would keep the strict cookie back.
    """
    page = (
        f"{HEAD}<title>Loamhaul desk</title>"
        '<meta http-equiv="refresh" content="0;url=/">'
        '<main><h1>Loamhaul desk</h1><p><a href="/">Go to the desk</a></p></main>'
    )
    cookie = f"{key.cookie}={key.session}; HttpOnly; SameSite=Strict; Path=/"
    await _say(answer, 200, page, {"set-cookie": cookie})
