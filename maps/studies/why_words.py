"""What is said of one site: the difference, what makes it, what would turn the plan."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from logistics.scenario import in_list
from logistics.studies import Outcome, by_line, meets, yard_changes
from maps.report import account_name
from maps.shared import amount, goal_said, names, shortage_sentences
from maps.studies.service_words import FIGURES as OF_SERVICE
from maps.studies.service_words import per_tonne, place_name, rule_words, service_words

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.studies import SiteAnswer, TurningPoint

MOST_LIMITS, MOST_LINES = 3, 3
"""Sentences on what limits the yard there; accounts told on either side."""
LEAST_MONEY = 0.5
"""Money a year below which an account counts as the same. [money/yr]"""


def pair_of(told: SiteAnswer) -> tuple[Result, Result]:
    """Give the plan asked about and the one with the other decision."""
    if told.outcome is None:
        message = "nothing was planned for this site"
        raise ValueError(message)
    return told.base, told.outcome.replan


def site_name(told: SiteAnswer) -> str:
    """Name the site, with the size asked for."""
    name = place_name(told)
    if not told.size:
        return name
    return f"{name}, size {names(told.base, 'size').get(told.size, told.size)}"


def answer_words(told: SiteAnswer) -> list[str]:
    """Say what a yard there, or serving it whole, adds or saves; within what proof."""
    if told.kind != "yard":
        said = [*service_words(told), *rule_words(told)]
        return said if told.adds is None else [*said, _yards(*pair_of(told))]
    name, settings = site_name(told), told.base.scenario.settings
    if told.no_use:
        return [f"No yard can stand at {name}.", *told.no_use]
    base, other = pair_of(told)
    if told.adds is None:
        which = "Without a yard" if told.chosen else "With a yard"
        return [
            f"{which} at {name} there is no plan that meets all demands.",
            *shortage_sentences(other if not meets(other) else base),
        ]
    held = ", own trucks at home where these two plans have them"
    held = held if other.plan.homes_held else ""
    low, high = told.adds
    if told.chosen:
        low, high = -high, -low
    said = [_difference(told, name, low, high, held)]
    if held and told.anywhere is not None:
        low, high = told.anywhere
        if told.chosen:
            low, high = -high, -low
        said.append(
            "Wherever own trucks are at home, this is at least "
            f"{goal_said(max(low, 0.0), settings)} and at most "
            f"{goal_said(high, settings)}."
        )
    said.append(_yards(base, other))
    return said


def _difference(told: SiteAnswer, name: str, low: float, high: float, held: str) -> str:
    settings = told.base.scenario.settings
    if high <= 0:
        better = "without it" if told.chosen else "with it"
        return (
            f"{name}: a plan {better} costs at least {goal_said(-high, settings)} less "
            "than the plan asked about, which is not the best; plan to a smaller gap "
            "(solve.gap_pct)."
        )
    if low <= 0:
        return (
            f"{name}: the proofs leave open whether a yard there is better; it is "
            f"better or worse by at most {goal_said(max(-low, high), settings)}{held}."
        )
    does = "saves" if told.chosen else "adds"
    return (
        f"A yard at {name} {does} at least {goal_said(low, settings)} and at most "
        f"{goal_said(high, settings)}: all else planned anew, proven at both ends"
        f"{held}."
    )


def _yards(base: Result, other: Result) -> str:
    """Say which yards open, close and change size in the other plan."""
    known, sizes = names(base, "yard"), names(base, "size")
    after = dict(other.plan.yard_sizes)
    opened, closed, resized = yard_changes(base.plan, other.plan)

    def sized(codes: list[str]) -> str:
        return in_list(
            f"{known.get(c, c)} ({sizes.get(after[c], after[c])})" for c in codes
        )

    parts = []
    if opened:
        parts.append(f"opens {sized(opened)}")
    if closed:
        parts.append(f"closes {in_list(known.get(c, c) for c in closed)}")
    if resized:
        parts.append(f"has another size at {sized(resized)}")
    if not parts:
        return "The other plan has the same yards."
    return f"The other plan {in_list(parts)}."


def accounts(told: SiteAnswer) -> pd.DataFrame:
    """
    Money of both plans by account.

    Returns
    -------
    DataFrame
        account, base, other, difference; kept: of the plan that serves whole with the
        yards as they are, where there is one. [money/yr]
    """
    base, _ = pair_of(told)
    assert told.outcome is not None
    outcomes, columns = [told.outcome], ["account", "base", "other"]
    if told.outcome.operate is not None:
        change = replace(told.outcome.change, title="kept")
        outcomes.append(Outcome(change, None, told.outcome.operate))
        columns.append("kept")
    table = by_line(base, outcomes).drop(columns="line")
    table.columns = pd.Index(columns)
    table = table.groupby("account", sort=False).sum().reset_index()
    return table.assign(difference=table["other"] - table["base"])


def reason_words(told: SiteAnswer) -> list[str]:
    """Say which money makes the difference, and what limits the yard there."""
    base, other = pair_of(told)
    settings = base.scenario.settings
    table = accounts(told)
    table = table[table["difference"].abs() >= LEAST_MONEY]
    said = []
    for word, sign in (("dearer", 1), ("cheaper", -1)):
        some = table[table["difference"] * sign > 0]
        some = some.sort_values("difference", key=abs, ascending=False)
        if len(some):
            lines = in_list(
                f"{_lower(account_name(str(row.account)))} by "
                f"{goal_said(abs(float(row.difference)), settings)}"  # type: ignore[arg-type]
                for row in some.head(MOST_LINES).itertuples()
            )
            said.append(f"The other plan is {word} in {lines}.")
    if told.kind != "yard":
        return said
    there = base if told.chosen else other
    worth = there.plan.worth
    if len(worth):
        mine = worth[(worth["where"] == told.code) & (worth["value"] > 0)]
        mine = mine.sort_values("value", ascending=False).drop_duplicates("kind")
        if len(mine):
            limits = " ".join(map(str, mine["words"].head(MOST_LIMITS)))
            said.append(f"What limits the yard there: {limits}")
    return said


def _lower(text: str) -> str:
    """Write the name of an account inside a sentence."""
    return text[:1].lower() + text[1:]


FIGURES = {
    "yearly cost": "Yearly cost of the yard there",
    "grant": "Its works",
    "price": "Price of compost, all markets",
    "supply": "Tonnes of the sources nearest to it",
    **OF_SERVICE,
}
"""What changes -> its name in the table."""


NOTHING = "nothing is proven"
NEVER, AS_FAR, OPEN = "no change of this alone", "not looked for farther", "not settled"


def turn_cells(told: SiteAnswer, turn: TurningPoint) -> tuple[str, str, str]:
    """Write a row: what changes, proven not to turn the plan, proven to turn it."""
    what, settings = FIGURES[turn.figure], told.base.scenario.settings
    ways = {
        ("yearly cost", False): "lower by {}",
        ("yearly cost", True): "higher by {}",
        ("grant", False): "a grant of {}",
        ("grant", True): "dearer by {}",
    }
    lower = told.chosen or turn.figure == "haulage"
    share = "{} lower" if lower else "{} higher"
    way = ways.get((turn.figure, told.chosen), share)

    def said(value: float) -> str:
        if turn.figure == "payment":
            return goal_said(value, settings)
        if turn.figure.startswith("tonne"):
            return per_tonne(told, value)
        if turn.figure == "yearly cost":
            return way.format(goal_said(value, settings))
        if turn.figure == "grant":
            money = goal_said(value, settings).removesuffix(" a year")
            return way.format(money)
        return way.format(f"{amount(100 * value)} %")

    if turn.never:
        most = turn.most or 0.0
        whole = {
            "yearly cost": "even free of cost",
            "grant": "even with works paid for",
            "haulage": "even free of cost",
        }
        if turn.figure not in whole:
            return what, said(most), AS_FAR
        return what, whole[turn.figure], NEVER
    stays = said(turn.stays) if turn.stays > 0 else NOTHING
    turns = OPEN if turn.turns is None else said(turn.turns)
    return what, stays, turns
