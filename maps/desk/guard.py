"""
Who may ask the desk for what: the layer that every request passes first.

Any page in the browser can send requests to an address of this computer. The desk
answers only requests that name its own address and port, carry the cookie that the
opening address was turned into, and come from its own pages or from nowhere. Bodies are
limited in size and time, answers may load nothing from elsewhere.
"""

from __future__ import annotations

import asyncio
import hmac
import re
import secrets
from collections.abc import Iterable
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qsl

from starlette.types import ASGIApp, Message, Receive, Scope, Send

METHODS = frozenset({"GET", "HEAD", "POST"})
SAFE = frozenset({"GET", "HEAD"})
OPENING = "/open"
"""Path of the opening address."""
LONGEST_PATH = 1_000
"""Of a path with its query. [byte]"""
ONCE = ("host", "origin", "content-length", "sec-fetch-site", "content-type")
"""Headers that may stand in a request once at most."""
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
class Limits:
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


@dataclass(frozen=True)
class Refusal(Exception):
    """Why a request is not answered: status code and what to say."""

    status: int
    words: str


@dataclass(frozen=True)
class Key:
    """
    What opens the desk.

    Attributes
    ----------
    port
        Port of the desk; its cookie is named with it, so two desks do not mix.
    token
        Random text in the opening address.
    session
        Random text in the cookie.
    """

    port: int
    token: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    session: str = field(default_factory=lambda: secrets.token_urlsafe(32))

    @property
    def hosts(self) -> tuple[str, ...]:
        """Names and port under which the desk answers."""
        return f"127.0.0.1:{self.port}", f"localhost:{self.port}"

    @property
    def cookie(self) -> str:
        """Name of the cookie."""
        return f"loamhaul_{self.port}"

    @property
    def address(self) -> str:
        """Opening address."""
        return f"http://127.0.0.1:{self.port}{OPENING}?token={self.token}"


def same(given: str, right: str) -> bool:
    """
    Compare two texts in a time that does not tell where they differ.

    >>> same("abc", "abc"), same("abd", "abc"), same("ä", "abc"), same("", "abc")
    (True, False, False, False)
    """
    return hmac.compare_digest(given.encode("utf-8", "replace"), right.encode())


class Guard:
    """The layer itself: refuses, or passes on to the pages."""

    def __init__(self, app: ASGIApp, *, key: Key, limits: Limits | None = None) -> None:
        self.app, self.key, self.limits = app, key, limits or Limits()

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
        whole = path.startswith(FILES)
        return self.limits.file if whole else self.limits.body


Given = dict[str, str]


def headers_of(scope: Scope) -> Given:
    """Read the headers; those of `ONCE` may not come twice."""
    found: Given = {}
    for raw, value in scope["headers"]:
        name = raw.decode("latin-1").lower()
        if name in found and name in ONCE:
            raise Refusal(400, f"The request has two headers {name}.")
        text = value.decode("latin-1")
        found[name] = f"{found[name]}; {text}" if name in found else text
    return found


def check_address(scope: Scope, given: Given, key: Key) -> None:
    """Refuse callers that are not this computer, and any other name or port."""
    client = scope.get("client")
    if client and client[0] != "127.0.0.1":
        raise Refusal(403, "The desk answers only on its own computer.")
    if given.get("host", "").lower() not in key.hosts:
        words = "This is not the address of the desk (DNS rebinding is refused)."
        raise Refusal(421, words)


def check_path(scope: Scope) -> None:
    """Refuse paths that climb, hide signs, or are longer than any of ours."""
    raw: bytes = scope.get("raw_path") or scope["path"].encode()
    query: bytes = scope["query_string"]
    if len(raw) + len(query) > LONGEST_PATH:
        raise Refusal(414, "The address is too long.")
    path = scope["path"]
    if re.search(r"[\x00-\x1f\x7f\\]", path) or re.search(rb"%(2f|5c|00)", raw.lower()):
        raise Refusal(400, "The address holds signs that no address of ours has.")
    if not path.startswith("/") or path.startswith("//"):
        raise Refusal(400, "The address holds another address.")
    if any(part in (".", "..") for part in path.split("/")):
        raise Refusal(400, "The address climbs out of its folder.")


def check_method(method: str) -> None:
    """Refuse methods that no page of ours uses."""
    if method not in METHODS:
        raise Refusal(405, f"The desk knows no {method[:20]}.")


def check_opening(scope: Scope, key: Key) -> None:
    """Refuse an opening address with another token."""
    if scope["method"] != "GET":
        raise Refusal(405, "The opening address is only read.")
    try:
        query = scope["query_string"].decode("ascii")
        pairs = parse_qsl(query, keep_blank_values=True, max_num_fields=1)
    except (UnicodeDecodeError, ValueError):
        pairs = []
    if len(pairs) != 1 or pairs[0][0] != "token" or not same(pairs[0][1], key.token):
        raise Refusal(401, NOT_OPENED)


NOT_OPENED = (
    "This desk has to be opened from the address that it showed when it was started. "
    "Start it again from its icon, or with: loamhaul desk"
)


def check_cookie(given: Given, key: Key) -> None:
    """Refuse a request without the cookie that the opening address gives."""
    try:
        jar = SimpleCookie(given.get("cookie", ""))
    except CookieError:
        jar = SimpleCookie()
    held = jar.get(key.cookie)
    if held is None or not same(held.value, key.session):
        raise Refusal(401, NOT_OPENED)


def check_comes_from_us(method: str, given: Given) -> None:
    """
    Refuse what another page asks for.

    A browser says where a request comes from. What changes something must come from a
    page of ours and say so; what is only read may come from nowhere as well (an
    address typed in, a bookmark).
    """
    site = given.get("sec-fetch-site")
    origin = given.get("origin")
    if site is not None and site not in ("same-origin", "none"):
        raise Refusal(403, "Another page asked for this; the desk does not answer it.")
    if origin is not None and origin != f"http://{given['host'].lower()}":
        raise Refusal(403, "Another page asked for this; the desk does not answer it.")
    if method in SAFE:
        return
    if site == "none" or (site is None and origin is None):
        raise Refusal(403, "Only a page of the desk may change something.")


def check_length(given: Given, most: int) -> None:
    """Refuse a body that says it is too long, or says nonsense. [byte]"""
    told = given.get("content-length", "0")
    if not re.fullmatch(r"\d{1,15}", told, re.ASCII):
        raise Refusal(400, "The length of the request is not a number.")
    if int(told) > most:
        raise Refusal(413, too_long(most))


def too_long(most: int) -> str:
    """
    Say that something is too long for the desk.

    >>> too_long(8_000_000)
    'This is larger than 8 MB, the most that the desk takes at once.'
    """
    return (
        f"This is larger than {most / 1e6:g} MB, the most that the desk takes at once."
    )


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
        '<!DOCTYPE html><html lang="en"><meta charset="utf-8">'
        f"<title>Not answered</title><main><h1>Not answered</h1><p>{no.words}</p></main>"
    )
    await _say(answer, no.status, page, {"connection": "close"})


async def _opened(answer: _Answer, key: Key) -> None:
    """
    Turn the token into the cookie and go to the first page.

    A page leads on, not a redirect: after a redirect from a link in another program the
    browser would keep the strict cookie back.
    """
    page = (
        '<!DOCTYPE html><html lang="en"><meta charset="utf-8"><title>Loamhaul desk</title>'
        '<meta http-equiv="refresh" content="0;url=/">'
        '<main><h1>Loamhaul desk</h1><p><a href="/">Go to the desk</a></p></main>'
    )
    cookie = f"{key.cookie}={key.session}; HttpOnly; SameSite=Strict; Path=/"
    await _say(answer, 200, page, {"set-cookie": cookie})
