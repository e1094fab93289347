"""The first year decided for many futures: in words, in a workbook, as tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.scenario import in_list, records
from maps.shared import clean, names_of, write_csv
from maps.tables import write_tables
from maps.years.way_words import STEP

if TYPE_CHECKING:
    from pathlib import Path

    from logistics.years import YearsForFutures

SHEETS = {
    "worth": "What the first year costs, and what knowing and waiting are worth",
    "first year": "What is decided now, the same in all futures",
    "futures": "What each future costs, and what it would cost if it were known now",
    "later years": "What is done in each future once it is known",
}
"""Sheet -> what it answers."""


def write_futures(found: YearsForFutures, out: Path) -> None:
    """Write robust.xlsx and robust.csv/ into a folder."""
    tables = futures_tables(found)
    folder = out / "robust.csv"
    folder.mkdir(parents=True, exist_ok=True)
    for name, table in tables.items():
        write_csv(table, folder / f"{name.replace(' ', '_')}.csv")
    title = found.scenario.settings.name
    subtitle = "The first year decided for many futures"
    write_tables(tables, out / "robust.xlsx", title, subtitle, SHEETS)


def futures_tables(found: YearsForFutures) -> dict[str, pd.DataFrame]:
    """Key figures, first year, futures and later years, with units."""
    currency = clean(found.scenario.settings.currency)
    money = f"[{currency}]"
    figures = [
        (f"expected net present cost {money}", found.value),
        (f"no first year costs less than {money}", found.bound),
        ("proven gap [%]", 100 * found.gap),
        (f"knowing the future now is worth at least (EVPI) {money}", found.evpi[0]),
        (f"knowing the future now is worth at most (EVPI) {money}", found.evpi[1]),
        (f"deciding later years later saves at least {money}", found.waiting[0]),
        (f"deciding later years later saves at most {money}", found.waiting[1]),
    ]
    futures = pd.DataFrame(
        {
            "future": [clean(chance.change.title) for chance in found.chances],
            "weight [%]": 100 * found.weights,
            f"first year for all: net present cost {money}": found.cost,
            f"known now: net present cost {money}": found.alone,
            f"known now: no less than {money}": found.alone_bound,
        }
    )
    rows = [
        (clean(chance.change.title), *row)
        for chance, steps in zip(found.chances, found.steps, strict=True)
        for row in _rows(found, steps)
    ]
    heads = ["future", "year", "yard", "what happens", f"cost {money}"]
    steps = pd.DataFrame(rows, columns=heads).astype({heads[-1]: float})
    first = steps["year"] == str(found.years[0])
    now = steps[first & (steps["future"] == futures["future"].iloc[0])]
    return {
        "worth": pd.DataFrame(figures, columns=["figure", "value"]),
        "first year": now.drop(columns="future").reset_index(drop=True),
        "futures": futures,
        "later years": steps[~first].reset_index(drop=True),
    }


def _rows(
    found: YearsForFutures, steps: pd.DataFrame
) -> list[tuple[str, str, str, float]]:
    """Say what happens: year, yard, words, cost."""
    yard, size = (names_of(found.scenario, what) for what in ("yard", "size"))
    return [
        (
            str(row["year"]),
            str(yard.get(row["yard"], row["yard"])),
            STEP[row["step"]].format(
                old=size.get(row["size_from"], row["size_from"]),
                new=size.get(row["size"], row["size"]),
            ),
            row["capital"],
        )
        for row in records(steps)
    ]


def futures_lines(found: YearsForFutures) -> list[str]:
    """Say what to do now, what then, and what knowing and waiting are worth."""
    tables = futures_tables(found)
    currency = clean(found.scenario.settings.currency)
    first = found.years[0]
    lines = [
        f"{first}, whatever comes: {_told(tables['first year'])}.",
        *(
            f"{clean(chance.change.title)} ({100 * chance.weight:.0f} %): "
            f"{_by_year(later)}."
            for chance, later in zip(found.chances, _later(found), strict=True)
        ),
        f"Expected net present cost {found.value:,.0f} {currency}; no first year costs "
        f"less than {found.bound:,.0f}. Own trucks are counted in parts.",
        f"Knowing the future now would save {_between(found.evpi)} {currency}.",
    ]
    if found.now < float("inf"):
        saved = f"{_between(found.waiting)} {currency}"
        lines.append(
            f"Deciding the later years only once the future is known saves {saved}, "
            "against one way for all futures decided now."
        )
    else:
        lines.append("No way decided now was found that would do in all futures.")
    return lines


def _later(found: YearsForFutures) -> list[pd.DataFrame]:
    heads = ["year", "yard", "what happens", "cost"]
    return [
        pd.DataFrame(
            _rows(found, steps[steps["year"] != found.years[0]]), columns=heads
        )
        for steps in found.steps
    ]


def _told(steps: pd.DataFrame) -> str:
    """Tell of the steps of one year."""
    said = [
        f"{yard} {what}"
        for yard, what in zip(steps["yard"], steps["what happens"], strict=True)
    ]
    return clean(in_list(said)) if said else "all stays as it is"


def _by_year(steps: pd.DataFrame) -> str:
    """Tell of the steps of later years."""
    told = [f"{year}: {_told(some)}" for year, some in steps.groupby("year")]
    return "; ".join(told) if told else "all stays as it is"


def _between(ends: tuple[float, float]) -> str:
    """
    Write a figure that is known between two ends.

    >>> _between((7103.2, 7269.9)), _between((0.0, 0.4))
    ('7,103 to 7,270', 'nothing')
    """
    low, high = (f"{end:,.0f}" for end in ends)
    if high == "0":
        return "nothing"
    return low if low == high else f"{low} to {high}"
