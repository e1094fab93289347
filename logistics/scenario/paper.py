"""How a sheet of a workbook prints on A4, for every writer of workbooks."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

MM_PER_DIGIT, MM_BESIDE = 1.96, 1.4
"""Width of a digit of 10 pt Arial, and what a column has beside them. [mm]"""
MM_PER_POINT = 25.4 / 72
MM_PER_INCH = 25.4
A4 = 9
"""Number of the paper size in a workbook."""
UPRIGHT, ACROSS = (210.0, 297.0), (297.0, 210.0)
"""Width and height of the sheet of paper. [mm]"""
SIDE, TOP, FOOT = 12.0, 20.0, 17.0
"""Margins; head and foot stand in the upper and the lower one. [mm]"""
LEAST_UPRIGHT, LEAST_ACROSS = 0.85, 0.7
"""Least part of its size to which a sheet may shrink: type of 10 pt stays at 7 pt."""
MOST_WHOLE = 2
"""A sheet of more pages down than this is for filtering: only its first prints."""
SAFE = 0.96
"""Part of a page that is filled: programs differ a little in widths and heights."""
CREATED = datetime(2000, 1, 1)
"""Date of every workbook: fixed, so that the same tables give the same bytes."""
ROW_POINTS = 15.0
LONGEST_TITLE = 90


@dataclass(frozen=True)
class Printed:
    """
    What of a sheet prints.

    Attributes
    ----------
    pages
        Number of pages, as estimated.
    rows, of
        Rows below the headings that print, and all there are.
    """

    pages: int
    rows: int
    of: int

    @property
    def words(self) -> str:
        """
        Say it.

        >>> Printed(2, 60, 60).words, Printed(1, 40, 900).words
        ('all, 2 pages', 'first 40 of 900 rows')
        """
        if self.rows < self.of:
            return f"first {self.rows:,} of {self.of:,} rows"
        return f"all, {self.pages} page{'s' if self.pages > 1 else ''}"


def column_mm(width: float) -> float:
    """
    Width on paper of a column. [mm]

    Parameters
    ----------
    width
        As a workbook states it, in digits.
    """
    return width * MM_PER_DIGIT + MM_BESIDE


def divide(widths: Sequence[float], kept: float, room: float) -> list[int]:
    """
    Divide columns into pages side by side, as even as can be.

    Parameters
    ----------
    widths
        Of the columns that are not repeated. [mm]
    kept
        Width of the columns repeated on every page. [mm]
    room
        Width of a page. [mm]

    Returns
    -------
    list of int
        First column of every page after the first, counted in `widths`.

    Examples
    --------
    >>> divide([40, 40, 40, 40], 20, 110)
    [2]
    """
    most = len(_starts(widths, room - kept))
    tight = room - kept
    for part in range(1, 21):
        narrower = (room - kept) * (1 - part / 40)
        if len(_starts(widths, narrower)) > most:
            break
        tight = narrower
    return _starts(widths, tight)


def _starts(widths: Sequence[float], room: float) -> list[int]:
    """First columns of the pages after the first, each filled as far as it goes."""
    starts, used = [], 0.0
    for place, width in enumerate(widths):
        if used and used + width > room:
            starts.append(place)
            used = 0.0
        used += width
    return starts


def _down(heights: Sequence[float], head: int, room: float) -> list[int]:
    """First rows of the pages after the first; headings are repeated. [points]"""
    above = sum(heights[:head])
    starts, used = [], above
    for place, height in enumerate(heights[head:], start=head):
        if used > above and used + height > room:
            starts.append(place)
            used = above
        used += height
    return starts


def set_page(
    sheet: Any,
    widths: Sequence[float],
    heights: Sequence[float],
    title: str,
    *,
    names: int = 1,
    head: int = 1,
    sums: int = 0,
    whole: bool = False,
    one: bool = False,
) -> Printed:
    """
    Set up how a sheet prints: A4, to the width, with headings and numbered pages.

    A sheet too wide to be read on one page is divided between columns, the names
    repeated; one too long to be read at all prints its first page.

    Parameters
    ----------
    sheet
        A worksheet of xlsxwriter.
    widths
        Of its columns, as stated in the workbook. [digits]
    heights
        Of its rows, the headings with them. [points]
    title
        Name of the district or study, for the head of the page.
    names
        Leading columns that name a row.
    head
        Rows of headings, repeated on every page; none at 0.
    sums
        Rows of sums at the end, which are not counted.
    whole
        Print all, however long.
    one
        Print all on one page, if it stays as large as the least scale allows.
    """
    mm = [column_mm(width) for width in widths]
    wide, narrow = sum(mm), (UPRIGHT[0] - 2 * SIDE) * SAFE
    broad = (ACROSS[0] - 2 * SIDE) * SAFE
    upright = wide <= narrow / LEAST_UPRIGHT
    room, height = (narrow, UPRIGHT[1]) if upright else (broad, ACROSS[1])
    kept = sum(mm[:names])
    while names > 1 and kept > room / LEAST_ACROSS / 3:
        names -= 1
        kept = sum(mm[:names])
    divided = not upright and wide > room / LEAST_ACROSS
    starts = divide(mm[names:], kept, room / LEAST_ACROSS) if divided else []
    bounds = [0, *starts, len(mm) - names]
    broadest = kept + max(
        (sum(mm[names:][a:b]) for a, b in itertools.pairwise(bounds)),
        default=0.0,
    )
    scale = min(1.0, room / max(broadest if divided else wide, 1.0))
    tall = (height - TOP - FOOT) * SAFE / scale / MM_PER_POINT
    down = _down(heights, head, tall)
    pages = (len(down) + 1) * (len(starts) + 1)
    rows = len(heights) - head - sums
    last = len(heights)
    small_enough = sum(heights) * LEAST_ACROSS <= tall * scale
    if one and small_enough:
        pages = 1
    elif len(down) >= MOST_WHOLE and not (whole or one):
        last, pages = down[0], len(starts) + 1
    if upright:
        sheet.set_portrait()
    else:
        sheet.set_landscape()
    sheet.set_paper(A4)
    inch = [each / MM_PER_INCH for each in (SIDE, SIDE, TOP, FOOT)]
    sheet.set_margins(*inch)
    if divided:
        sheet.set_print_scale(max(10, math.floor(scale * 100)))
        sheet.set_v_pagebreaks([names + start for start in starts])
        sheet.repeat_columns(0, names - 1)
        sheet.print_across()
    else:
        sheet.fit_to_pages(1, int(one and small_enough))
    if head:
        sheet.repeat_rows(0, head - 1)
    if last and mm:
        sheet.print_area(0, 0, max(last, 1) - 1, len(mm) - 1)
    printed = Printed(pages, min(rows, last - head), rows)
    _head_and_foot(sheet, title, printed)
    return printed


def _head_and_foot(sheet: Any, title: str, printed: Printed) -> None:
    """Write title and sheet at the head, what prints and the page at the foot."""
    part = "" if printed.rows >= printed.of else f"{printed.words}; filter on screen"
    sheet.set_header(f'&L&"Arial,Bold"{_safe(title)}&R&"Arial,Regular"&A')
    sheet.set_footer(f'&L&"Arial,Regular"{part}&R&"Arial,Regular"page &P of &N')


def _safe(title: str) -> str:
    r"""
    Make a name safe for the head of a page: no signs that steer, not too long.

    >>> _safe("Mills & Co\x1b"), len(_safe("x" * 300))
    ('Mills && Co', 90)
    """
    text = re.sub(
        r"[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ufffe\uffff]", "", title
    )
    if len(text) > LONGEST_TITLE:
        text = text[: LONGEST_TITLE - 1].rstrip() + "…"
    return text.replace("&", "&&")
