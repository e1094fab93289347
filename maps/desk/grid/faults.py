"""Why something of the grid is not done; the message says it in words."""

from __future__ import annotations


class EditFault(ValueError):
    """An edit that does not fit the table; nothing of its batch is done."""


class StaleEdit(ValueError):
    """An edit of a state of the table that is no longer the newest."""


class NotSaved(ValueError):
    """The drafts cannot become tables of the scenario yet."""


class NoPlace(ValueError):
    """A place cannot be judged."""
