"""A desk without a network: requests are handed to the application as they are."""

import asyncio
import json
from dataclasses import dataclass
from urllib.parse import urlencode

from maps.desk.guard import RequestLimits
from maps.desk.refusals import Key
from maps.desk.server import make_app

PORT = 8765


def _manual() -> str:
    from support.manual import html

    return html()


@dataclass
class Answer:
    """Status, headers and body of an answer; -1 where there was none."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()

    def json(self):
        return json.loads(self.body)


class Desk:
    """The desk of a folder, asked by its own page unless a test says otherwise."""

    def __init__(self, folder, limits: RequestLimits | None = None, port: int = PORT):
        self.key = Key(port)
        self.app = make_app(folder, key=self.key, limits=limits, manual=_manual)
        self.opened = self.app.state.desk

    @property
    def ours(self) -> dict[str, str]:
        """Headers of a request of the desk's own page."""
        return {
            "host": f"127.0.0.1:{self.key.port}",
            "cookie": f"{self.key.cookie}={self.key.session}",
            "sec-fetch-site": "same-origin",
        }

    def get(self, path: str, **more) -> Answer:
        return self.ask("GET", path, **more)

    def post(self, path: str, form: dict | None = None, **more) -> Answer:
        kind = {"content-type": "application/x-www-form-urlencoded"}
        headers = kind | {"origin": f"http://127.0.0.1:{self.key.port}"}
        headers |= more.pop("headers", {})
        body = more.pop("body", urlencode(form or {}).encode())
        return self.ask("POST", path, headers=headers, body=body, **more)

    def ask(
        self,
        method: str,
        path: str,
        *,
        headers: dict[str, str | None] | None = None,
        twice: list[tuple[str, str]] | None = None,
        body: bytes = b"",
        pieces: list[bytes] | None = None,
        wait: float = 0.0,
        client: str = "127.0.0.1",
        kind: str = "http",
    ) -> Answer:
        """
        Ask for something.

        Parameters
        ----------
        headers
            Instead of ours; None leaves one out.
        twice
            Headers that are sent besides.
        body, pieces
            What is sent, in one or in parts.
        wait
            Time before each part. [s]
        """
        given = {k: v for k, v in {**self.ours, **(headers or {})}.items() if v}
        raw = [(k.encode(), v.encode("latin-1")) for k, v in given.items()]
        raw += [(k.encode(), v.encode("latin-1")) for k, v in twice or []]
        plain, _, query = path.partition("?")
        from urllib.parse import unquote

        scope = {
            "type": kind,
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": method,
            "scheme": "http",
            "path": unquote(plain),
            "raw_path": plain.encode(),
            "query_string": query.encode(),
            "root_path": "",
            "headers": raw,
            "client": (client, 50_000),
            "server": ("127.0.0.1", self.key.port),
        }
        return asyncio.run(_asked(self.app, scope, pieces or [body], wait))


async def _asked(app, scope, pieces, wait) -> Answer:
    left = list(pieces)
    sent = []

    async def receive():
        await asyncio.sleep(wait)
        if not left:
            await asyncio.sleep(60)
        piece = left.pop(0)
        return {"type": "http.request", "body": piece, "more_body": bool(left)}

    async def send(message):
        sent.append(message)

    await app(scope, receive, send)
    first = sent[0]
    if first["type"] != "http.response.start":
        return Answer(-1, {}, b"")
    headers = {k.decode().lower(): v.decode() for k, v in first["headers"]}
    return Answer(
        first["status"], headers, b"".join(m.get("body", b"") for m in sent[1:])
    )


def make_scenario(shelf, name: str = "small"):
    """Put the smallest district that works onto a shelf."""
    from support.places import SMALL

    place = shelf / name
    place.mkdir()
    for path in SMALL.iterdir():
        (place / path.name).write_bytes(path.read_bytes())
    return place


SUMMARY = {
    "status": "optimal",
    "currency": "coin",
    "yards_open": 2,
    "yards": {"reef": "small", "mole": "large"},
    "collected_t": {"all": 1234.5},
    "collected_share": {"all": 0.5},
    "compost_t": 600.0,
    "total_cost": -2500.0,
    "haul_cost": 900.0,
    "cost_per_t_collected": 2.0,
    "gap": 0.001,
}


def finish(entry, summary=SUMMARY, **end):
    """Write into a plan's folder what a worker leaves there."""
    from maps.desk.book import claim
    from maps.desk.events import tell

    claim(entry)
    outputs = entry.folder / "outputs"
    (outputs / "plan.csv").mkdir(parents=True)
    (outputs / "summary.json").write_text(json.dumps(summary))
    (outputs / "map.html").write_text("<!DOCTYPE html><title>map</title>")
    (outputs / "plan.csv" / "yards.csv").write_text("yard\n")
    tell(entry.folder, "end", **{"how": "done", "fingerprint": "x", **end})
