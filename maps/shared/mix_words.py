"""What the windows of a mix count, their room for error, and the nitrogen lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.composting import feedstocks
from logistics.scenario import in_list
from maps.shared.console import clean
from maps.shared.figures import DASH, amount

if TYPE_CHECKING:
    from logistics.results import Result

COUNTED = {"total": "all carbon", "available": "the carbon that microbes can use"}
"""What the window of C:N counts, by `mix.cn_basis`."""


def between(low: float, high: float, digits: int = 1) -> str:
    """
    Write the least and the greatest of something; one number where they look alike.

    >>> between(15.12, 26.0), between(25.0, 25.01), between(float("nan"), 1.0)
    ('15.1–26.0', '25.0', '–')
    """
    ends = amount(low, digits), amount(high, digits)
    if DASH in ends:
        return DASH
    return ends[0] if ends[0] == ends[1] else DASH.join(ends)


def window_words(result: Result) -> str:
    """Say what every mix had to keep, of which carbon, and with how much margin."""
    mix = result.scenario.settings.mix
    room = "No room is left for error: mix.margin_pct is 0."
    ranged, bare = _ranged(result)
    if mix.margin > 0 and not ranged:
        room = "No room is left for error: no feedstock has ranges in table materials."
    elif mix.margin > 0:
        whole = "" if mix.margin == 1 else f"{mix.margin * 100:g} % of "
        room = (
            "They do so with moisture, carbon and nitrogen of every feedstock anywhere "
            f"within {whole}its ranges in the table materials, all at their worst at "
            f"once.{_exact(bare)}"
        )
    return (
        f"Every mix keeps C:N between {mix.cn_low:g} and {mix.cn_high:g}, counting "
        f"{COUNTED[mix.cn_basis]}, and moisture between {mix.moisture_low * 100:g} and "
        f"{mix.moisture_high * 100:g} % of the wet mass. {room}"
    )


def _ranged(result: Result) -> tuple[list[str], list[str]]:
    """Name the feedstocks in use that have a range, and those that have none."""
    table = feedstocks(result.scenario)
    table = table[table["feedstock"].isin(result.plan.charges["feedstock"])]
    ranges = table[["moisture_range", "carbon_range", "nitrogen_range"]]
    bare = (ranges == 0).all(axis=1)
    both = (table.loc[rows, "name"].astype(str) for rows in (~bare, bare))
    ranged, none = (list(dict.fromkeys(names)) for names in both)
    return ranged, none


def _exact(names: list[str]) -> str:
    """Say that these count as exact."""
    if not names:
        return ""
    verb = "has no range there and counts" if len(names) == 1 else "have none and count"
    return f" {clean(in_list(names))} {verb} as exact."


def available_words(result: Result) -> str:
    """Say how the mixes stand if the other carbon counted; empty without mixes."""
    mixes, mix = result.mixes, result.scenario.settings.mix
    if mixes.empty:
        return ""
    total = between(mixes["cn"].min(), mixes["cn"].max())
    usable = between(mixes["cn_available"].min(), mixes["cn_available"].max())
    below = int((mixes["cn_available"] < mix.cn_low - 1e-6).sum())
    share = f"{below} of {len(mixes)} mixes are then below {mix.cn_low:g}"
    if mix.cn_basis == "available":
        return (
            f"The window of C:N counts only the carbon that microbes can use: the "
            f"mixes have {usable} of that, and {total} in all. Handbooks state their "
            "windows for all carbon, so this is the stricter reading."
        )
    return (
        f"The window of C:N counts all carbon, as handbooks state it: the mixes have "
        f"{total}. Of the carbon that microbes can use they have {usable}; {share}, "
        "where nitrogen escapes as ammonia and heaps smell. How much of husk and wood "
        "microbes use is not settled. Plan again with mix.cn_basis = available to see "
        "the cost of the stricter reading, and try one windrow."
    )


def nitrogen_words(result: Result) -> str:
    """Say how much nitrogen composting is taken to lose, and on what grounds."""
    measured = result.scenario.settings.process.nitrogen_loss
    if measured is not None:
        return f"Composting loses {measured * 100:g} % of the nitrogen, as stated."
    lost = result.mixes["nitrogen_lost"] * 100
    if lost.empty:
        return "Nothing is composted."
    return (
        f"Composting is taken to lose {between(lost.min(), lost.max(), 0)} % of the "
        "nitrogen: less, the more available carbon there is for it in the mix "
        "(45 % at an available C:N of 20, none at 40: Gotaas, Composting, WHO "
        "monograph 31, 1956, from memory, and judgement)."
    )
