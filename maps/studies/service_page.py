"""Tables on a source or a market of the page `why`: months, and what a payment does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from maps.report import Piece, Section, Table, Words, plain
from maps.studies.service_words import month_rows, paid_rows

if TYPE_CHECKING:
    from logistics.studies import SiteAnswer

HOW_SERVED = (
    "With the yards as they are each figure is exact: one linear programme, with "
    "sizes and homes of own trucks as the plan has them, before loads too small to "
    "drive are left out; compost holds what it does in the plan, or what it would if "
    "the place were served whole. More for each tonne is a dearer disposal "
    "of what is left, a price, or money from outside the district for what is taken; a "
    "fee that one place of the district pays another moves money and changes no plan. "
    "With all planned anew, the first column is proven by a plan that leaves a part "
    "and is cheaper; at the second, serving all of it is proven to be within 5 % of "
    "what it adds today of the best plan there can be."
)


def service_section(told: SiteAnswer) -> list[Section]:
    """Write the months of a source or a market, and what a payment would change."""
    source = told.kind == "source"
    first, done, rest = ("Arises", "Collected", "Left") if source else (
        "Asked", "Delivered", "Wanting"
    )  # fmt: skip
    rows = [[plain(cell) for cell in row] for row in month_rows(told)]
    months = Table(
        "Month by month [t]",
        ["Month", first, done, rest, "Reached in time"],
        rows,
        rows_of=[],
    )
    pieces: list[Piece] = [months]
    paid = paid_rows(told)
    if len(paid) > 1:
        currency = plain(told.base.scenario.settings.currency)
        pieces.append(
            Table(
                "If each tonne brought more, the yards as they are",
                [f"More [{currency} a tonne]", f"{done} [t]", f"{rest} [t]"],
                paid,
                rows_of=[],
            )
        )
    elif told.outcome is None and not told.chosen:
        pieces.append(Words(["Nothing was planned for this."]))
    return [Section("months", "Months", pieces)]
