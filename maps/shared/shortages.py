"""What the demands fall short by, one sentence a demand and not one a month."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.results import explain_shortages

if TYPE_CHECKING:
    from logistics.results import Result


def shortage_sentences(result: Result) -> list[str]:
    """
    Say how much each demand would have to give, its periods added up.

    Returns
    -------
    list of str
        All giving a little first, then each alone, as in the sheet `shortages`.
    """
    found = result.plan.shortages
    together = found[found["how"] != "alone"]["what"].unique()
    single = len(together) == 1 and found["what"].nunique() == 1
    if single:  # all giving and this one alone are the same
        found = found[found["how"] != "alone"]
    keys = ["how", "limit", "what", "where", "unit"]
    groups = found.groupby(keys, sort=False)
    table = groups.agg(
        when=("when", "first"), amount=("amount", "sum"), periods=("when", "nunique")
    ).reset_index()
    several = table["periods"] > 1
    table["when"] = table["when"].where(~several, "year")
    words = explain_shortages(table, result.scenario)["words"]
    said = [
        f"{text.removesuffix('.')} in {count} periods together." if count > 1 else text
        for text, count in zip(words, table["periods"], strict=True)
    ]
    if len(table) and not single and not (table["how"] == "alone").any():
        said.append("Relaxing just one of these demands was not found to be enough.")
    return said
