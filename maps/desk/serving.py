"""The desk on a port of this computer: a free one is taken, and the browser opened."""

from __future__ import annotations

import asyncio
import errno
import logging
import socket
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

FIRST_PORT = 8765
PORTS = 50
"""Ports that are tried, from the first."""
LOOPBACK = "127.0.0.1"


@dataclass(frozen=True)
class Opened:
    """
    A desk that is about to answer.

    Attributes
    ----------
    folder
        Folder that is opened.
    address
        Opening address, with the token.
    port, wanted
        Port taken, and the one that was asked for.
    """

    folder: Path
    address: str
    port: int
    wanted: int


def open_port(wanted: int = FIRST_PORT, ports: int = PORTS) -> socket.socket:
    """
    Take the first free port of this computer, for this computer only.

    Parameters
    ----------
    wanted
        Port that is tried first.
    ports
        How many are tried.

    Raises
    ------
    OSError
        If none of them is free.
    """
    for port in range(wanted, min(wanted + ports, 65_536)):
        taken = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if sys.platform == "win32":
            taken.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            taken.bind((LOOPBACK, port))
            taken.listen(128)
        except OSError as error:
            taken.close()
            if error.errno not in (errno.EADDRINUSE, errno.EACCES):
                raise
        else:
            return taken
    message = f"no port from {wanted} to {wanted + ports - 1} is free"
    raise OSError(message)


def worth_saying(record: logging.LogRecord) -> bool:
    """Leave out what is said of requests that are cut off as the desk closes."""
    fault = record.exc_info[1] if record.exc_info else None
    cut_off = isinstance(fault, asyncio.CancelledError)
    return not (cut_off or str(record.msg).startswith("Cancel %s running task"))


def serve(
    folder: Path | None,
    wanted: int,
    told: Callable[[Opened], None],
    manual: Callable[[], str],
) -> None:
    """
    Serve the desk until it is stopped.

    Parameters
    ----------
    folder
        A scenario, a folder of scenarios, or None for the person's own folder.
    wanted
        Port that is tried first.
    told
        Called once when the desk answers.
    manual
        Makes the manual, which Help shows.

    Raises
    ------
    OSError
        If there is no such folder, or no free port.
    """
    import uvicorn

    from maps.desk.refusals import Key
    from maps.desk.server import make_app

    with open_port(wanted) as taken:
        port = taken.getsockname()[1]
        key = Key(port)
        app = make_app(folder, key=key, manual=manual)
        told(Opened(app.state.desk.shelf.folder, key.address, port, wanted))
        config = uvicorn.Config(
            app,
            lifespan="on",
            ws="none",
            log_level="warning",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            h11_max_incomplete_event_size=32_768,
            limit_concurrency=200,
            timeout_keep_alive=30,
            timeout_graceful_shutdown=2,
        )
        logging.getLogger("uvicorn.error").addFilter(worth_saying)
        with suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=[taken])
