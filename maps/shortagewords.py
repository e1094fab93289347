"""What the demands fall short by, one sentence a demand and not one a month."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.words import explain_shortages

if TYPE_CHECKING:
    from logistics.pipeline import Result


def shortage_sentences(result: Result) -> list[str]:
    """
    Say how much each demand would have to give, its periods added up.

    Returns
    -------
    list of str
        All giving a little first, then each alone, as in the sheet `shortages`.
    """
    keys = ["how", "what", "where", "unit"]
    groups = result.plan.shortages.groupby(keys, sort=False)
    table = groups.agg(
        when=("when", "first"), amount=("amount", "sum"), periods=("when", "nunique")
    ).reset_index()
    several = table["periods"] > 1
    table["when"] = table["when"].where(~several, "year")
    words = explain_shortages(table, result.scenario)["words"]
    return [
        f"{text.removesuffix('.')} in {count} periods together." if count > 1 else text
        for text, count in zip(words, table["periods"], strict=True)
    ]
