"""What the pages of an opened desk share: `request.app.state.desk`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock

from starlette.requests import Request

from maps.desk.changes.known import KnownTables
from maps.desk.changes.warm import Answering
from maps.desk.drops import Drops
from maps.desk.errands import Errands
from maps.desk.line import PlanLine
from maps.desk.seen import Looks
from maps.desk.shelf import Shelf


class OpenedManual:
    """
    The manual, made with the first look into it and kept.

    Parameters
    ----------
    make
        Makes it as one HTML page. It takes some seconds, so that no desk does so
        before somebody asks.
    """

    def __init__(self, make: Callable[[], str] = str) -> None:
        self._make, self._made, self._lock = make, "", Lock()

    def html(self) -> str:
        """Return the page; empty if the desk was started without a manual."""
        with self._lock:
            self._made = self._made or self._make()
            return self._made


@dataclass(frozen=True)
class OpenedDesk:
    """
    The opened folder and all that is kept beside it while the desk runs.

    Attributes
    ----------
    shelf
        The opened folder.
    line
        Plans that wait for their turn.
    errands
        Short work on finished plans.
    looks
        What is known of the scenarios' data.
    tables
        The tables that were read last.
    answering
        The program that answers what changes do.
    drops
        Files that were dropped in and wait to be brought in.
    manual
        What Help shows.
    """

    shelf: Shelf
    line: PlanLine
    errands: Errands = field(default_factory=Errands)
    looks: Looks = field(default_factory=Looks)
    tables: KnownTables = field(default_factory=KnownTables)
    answering: Answering = field(default_factory=Answering)
    drops: Drops = field(default_factory=Drops)
    manual: OpenedManual = field(default_factory=OpenedManual)


def desk_of(request: Request) -> OpenedDesk:
    """Return what the pages share."""
    desk = request.app.state.desk
    assert isinstance(desk, OpenedDesk)
    return desk
