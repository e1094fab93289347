"""A plan made anew with a change of its tables, beginning from its yards."""

from __future__ import annotations

from maps.desk.book import PlanEntry, label, order_plan, yards_of
from maps.desk.recall import CHANGES


def order_changed(base: PlanEntry, code: str, title: str, text: str) -> str:
    """
    Put a plan with one more change into the book.

    Parameters
    ----------
    base
        The plan that it begins from; changes that this was ordered with hold as well.
    code, title, text
        Name of the change, what it is called, and the text of its file.

    Returns
    -------
    str
        Code of the plan that was ordered.
    """
    before = base.order.get("asked")
    earlier = before.get(CHANGES, []) if isinstance(before, dict) else []
    change = {"code": code, "title": title, "text": text}
    listed = earlier if isinstance(earlier, list) else []
    told: dict[str, object] = {CHANGES: [*listed, change]}
    if yards := yards_of(base):
        told["start"] = yards
    entry = order_plan(base.folder.parents[1], told)
    label(entry, name=title)
    return entry.code
