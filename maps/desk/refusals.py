"""What a request must be to be answered: one check each, every one refuses in words."""

from __future__ import annotations

import hmac
import re
import secrets
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qsl

from starlette.types import Scope

METHODS = frozenset({"GET", "HEAD", "POST"})
SAFE = frozenset({"GET", "HEAD"})
OPENING = "/open"
"""Path of the opening address."""
LONGEST_PATH = 1_000
"""Of a path with its query. [byte]"""
ONCE = ("host", "origin", "content-length", "sec-fetch-site", "content-type")
"""Headers that may stand in a request once at most."""


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
