"""Exports of survey forms: rows of a repeated group get what their form says."""

from __future__ import annotations

from dataclasses import replace

from logistics.bringing.sheets import ReadSheet
from logistics.bringing.survey_columns import tidied

LINKS = (("PARENT_KEY", "KEY"), ("_parent_index", "_index"),
         ("_submission__id", "_id"))  # fmt: skip
"""Heading of a group that names its form, and heading of the form."""


def with_forms(sheets: list[ReadSheet]) -> tuple[list[ReadSheet], dict[int, str]]:
    """
    Add to the rows of repeated groups the cells of the form they belong to.

    Returns
    -------
    list of ReadSheet
        As many as were given.
    dict
        Position of a form whose rows now stand with its groups -> why it is left out.
    """
    found = list(sheets)
    left: dict[int, str] = {}
    for place, group in enumerate(sheets):
        for link, key in LINKS:
            home = _form(sheets, place, link, key)
            if home is not None:
                found[place] = _joined(group, sheets[home], link, key)
                left[home] = f"its rows stand with those of {group.label}"
                break
    return [tidied(sheet) for sheet in found], left


def _form(sheets: list[ReadSheet], place: int, link: str, key: str) -> int | None:
    """Position of the sheet whose keys the links of a group name, if one has all."""
    group = sheets[place]
    if not group.rows or link not in group.rows[0]:
        return None
    at = group.rows[0].index(link)
    wanted = {row[at] for row in group.rows[1:] if at < len(row)} - {""}
    for other, sheet in enumerate(sheets):
        if other == place or not sheet.rows or key not in sheet.rows[0]:
            continue
        own = sheet.rows[0].index(key)
        keys = [row[own] for row in sheet.rows[1:] if own < len(row)]
        if wanted and wanted <= set(keys) and len(keys) == len(set(keys)):
            return other
    return None


def _joined(group: ReadSheet, form: ReadSheet, link: str, key: str) -> ReadSheet:
    heads, more = group.rows[0], form.rows[0]
    at, own = heads.index(link), more.index(key)
    extra = [p for p, head in enumerate(more) if head and head not in heads]
    by_key = {row[own]: (position, row) for position, row in enumerate(form.rows)
              if own < len(row)}  # fmt: skip
    rows = [[*heads, *(more[p] for p in extra)]]
    stored = set(group.stored)
    for position, row in enumerate(group.rows[1:], start=1):
        full = [*row, *[""] * (len(heads) - len(row))]
        home, cells = by_key.get(full[at], (-1, []))
        for place, p in enumerate(extra, start=len(heads)):
            full.append(cells[p] if p < len(cells) else "")
            if (home, p) in form.stored:
                stored.add((position, place))
        rows.append(full)
    said = (*group.said, f"has the cells of {form.label} beside its own")
    return replace(group, rows=rows, stored=frozenset(stored), said=said)
