"""The desk as its command starts it, asked over its port."""

import http.client
import json
import re
import signal
import subprocess
import sys
from urllib.parse import urlencode, urlsplit


class RunningDesk:
    """A desk in a process of its own; `get` and `post` ask as its own page does."""

    def __init__(self, folder, port: int = 8_765):
        command = [sys.executable, "-m", "maps", "desk", str(folder), "--no-browser"]
        self.program = subprocess.Popen(
            [*command, "--port", str(port)], stdout=subprocess.PIPE, text=True
        )
        said = ""
        while "Ctrl-C" not in said:
            line = self.program.stdout.readline()
            assert line, said
            said += line
        self.address = re.search(r"http://127\.0\.0\.1:(\d+)/open\S+", said)[0]
        self.port = int(re.search(r":(\d+)/", self.address)[1])
        self._cookie = ""

    def get(self, path: str) -> bytes:
        """Ask for a page or an answer."""
        return self._ask("GET", path, b"", {})

    def post(self, path: str, form: dict | None = None, data: dict | None = None):
        """Send a form, or data as a script does; gives the answer."""
        kind, body = "application/x-www-form-urlencoded", urlencode(form or {})
        if data is not None:
            kind, body = "application/json", json.dumps(data)
        headers = {"content-type": kind, "origin": f"http://127.0.0.1:{self.port}"}
        return self._ask("POST", path, body.encode(), headers)

    def _ask(self, method: str, path: str, body: bytes, more: dict) -> bytes:
        if not self._cookie:
            self._open()
        status, _, found = self._sent(
            method,
            path,
            body,
            {"cookie": self._cookie, "sec-fetch-site": "same-origin", **more},
        )
        assert status < 400, (status, path, found[:300])
        return found

    def _open(self) -> None:
        """Turn the opening address into the cookie."""
        at = urlsplit(self.address)
        _, headers, _ = self._sent("GET", f"{at.path}?{at.query}", b"", {})
        self._cookie = headers["set-cookie"].partition(";")[0]

    def _sent(self, method: str, path: str, body: bytes, headers: dict):
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            line.request(method, path, body, headers)
            answer = line.getresponse()
            return answer.status, answer.headers, answer.read()
        finally:
            line.close()

    def end(self, how=signal.SIGINT):
        """Stop or kill it."""
        if self.program.poll() is None:
            self.program.send_signal(how)
            self.program.wait(20)
        self.program.stdout.close()
