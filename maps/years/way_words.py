"""A way in a planner's words."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

from markupsafe import Markup

from logistics.scenario import records
from maps.report import bdi, listed
from maps.shared import amount, count

if TYPE_CHECKING:
    from logistics.years import WayAhead
    from maps.years.way_facts import WayFacts

GOALS = {
    "uncollected": ("leaves {} t of feedstock uncollected", "leaves", 1.0, "is left"),
    "co2e": ("emits {} t CO2e", "emits", 1e3, "is emitted"),
}
"""Of a goal that is no money: what a way does, verb, goal in a tonne, what is less."""

LEAST_MORE = 1000
"""Money of which it is said what it would save. [money]"""
SPENT_ON = {"capital": "for yards", "recurrent": "for running the yards"}
_UNMET = Markup("Not all demands can be met in every year, so nothing more is proven.")
STEP = {
    "opens": "opens ({new})",
    "enlarged": "grows from {old} to {new}",
    "idle": "stands idle",
    "works again": "works again",
    "closes": "closes",
}


def said(facts: WayFacts, value: float) -> Markup:
    """Write money with its unit, a name from data kept apart."""
    unit = facts.unit
    return Markup("{} {}").format(unit.text(value), bdi(unit.name))


def summary_lines(facts: WayFacts) -> list[Markup]:
    """Say what the way costs, how good it is, and what it is worth."""
    way = facts.way
    lines = [
        *([_in_goal(facts), _cost(facts)] if way.goal in GOALS else [
            _cost(facts) + " " + _proof(facts)
        ]),
        *_earliest(facts),
        _spent(facts),
        *_early(facts),
        *_unmet(facts),
        _district(facts),
        _programme(facts),
    ]  # fmt: skip
    if float(facts.cash["borrowed"].sum()) > 0:
        lines.append(_lent(facts))
    return lines


def _cost(facts: WayFacts) -> Markup:
    """Say what the way costs in present money."""
    first, last = facts.way.years[0], facts.way.years[-1]
    cost = facts.way.present_cost
    return Markup(
        "From {} to {} this way {} <strong>{}</strong> in all, in money of the "
        "beginning of {} (net present cost at {} % a year, without inflation)."
    ).format(
        first, last, "leaves a surplus of" if cost < 0 else "costs",
        said(facts, abs(cost)), first, amount(100 * facts.discount, 1),
    )  # fmt: skip


def goal_said(way: WayAhead, value: float) -> str:
    """
    Write a sum over the years in a goal that is no money, after its verb.

    Parameters
    ----------
    way
        Of that goal.
    value
        [t] or [kg CO2e]
    """
    words, _, factor, _ = GOALS[way.goal]
    return words.format(amount(value / factor, 0))


def _in_goal(facts: WayFacts) -> Markup:
    """Say what the way comes to in tonnes, and how much less another could."""
    way = facts.way
    _, verb, factor, _ = GOALS[way.goal]
    line = Markup("From {} to {} this way <strong>{}</strong> in all. ").format(
        way.years[0], way.years[-1], goal_said(way, way.value)
    )
    gap, yards = 100 * way.gap, 100 * way.gap_of_yards
    if not isfinite(way.bound):
        return line + _UNMET
    if gap < 0.005:
        return (
            line + f"No way within the money of the years {verb} less: that is proven."
        )
    return line + (
        f"No way within the money of the years {verb} less than "
        f"{amount(way.bound / factor, 0)} t: at most {amount(gap, 2)} % less is "
        f"possible, of which {amount(yards, 2)} % by other yards or other years, the "
        "rest by trucks that are shared."
    )


def _proof(facts: WayFacts) -> Markup:
    """Say how much cheaper another way could be."""
    gap, yards = 100 * facts.way.gap, 100 * facts.way.gap_of_yards
    if not isfinite(facts.way.bound):
        return _UNMET
    if gap < 0.005:
        return Markup("No way is cheaper: that is proven.")
    return Markup(
        "No way costs less than {}: at most {} % could be saved, of which {} % by "
        "other yards or other years, the rest by trucks that are shared."
    ).format(said(facts, facts.way.bound), amount(gap, 2), amount(yards, 2))


def earliest_words(way: WayAhead) -> str:
    """Say from which year on the board's shares can be collected; blank if unasked."""
    if way.met is None:
        return ""
    if way.met_from is None:
        never = "cannot" if way.met.proven else "could not in the time"
        return (
            f"What the board asks to be collected {never} be met in any of these years "
            f"within their money; it is asked for in {way.years[-1]} alone."
        )
    if way.met_from == way.years[0]:
        sooner = ""
    elif way.met.proven:
        sooner = "; sooner is not possible within the money of the years"
    else:
        sooner = "; whether sooner is possible was not settled in the time"
    return f"What the board asks to be collected is met from {way.met_from} on{sooner}."


def _earliest(facts: WayFacts) -> list[Markup]:
    words = earliest_words(facts.way)
    return [Markup(words)] if words else []


def _spent(facts: WayFacts) -> Markup:
    """Say what is spent on yards, and in which year most (the first of such)."""
    spent = facts.cash["capital"]
    if spent.sum() <= 0:
        return Markup("Nothing is spent on yards.")
    return Markup("{} are spent on yards; most in one year, {}, are {}.").format(
        said(facts, float(spent.sum())), facts.way.years[int(spent.argmax())],
        said(facts, float(spent.max())),
    )  # fmt: skip


def _unmet(facts: WayFacts) -> list[Markup]:
    """Name the years in which a demand is not met."""
    way = facts.way
    years = [
        year
        for year, result in zip(way.years, way.results, strict=True)
        if result.plan.status == "shortage"
    ]
    if not years:
        return []
    text = "<strong>In {} the demands cannot all be met.</strong> "
    text += "The cost is that of the plan that falls least short."
    return [Markup(text).format(listed(years))]


def _early(facts: WayFacts) -> list[Markup]:
    """Say how much compost is counted before it is ripe."""
    told = [
        f"{amount(row['early'], 0)} t in {int(row['year'])}"
        for row in records(facts.tonnes)
        if row["early"] >= 0.5
    ]
    if not told:
        return []
    text = "Each year is counted as a full one, though a new yard begins with nothing "
    text += "ripe. Of the compost counted, this much comes a year later: "
    return [Markup(text) + listed(told) + Markup(".")]


def rates_words(rates: tuple[float, ...]) -> str:
    """
    Say what the rates of return are.

    >>> rates_words((0.281,))
    'a return of 28.1 % a year'
    >>> rates_words(())
    'no rate of return'
    >>> rates_words((0.035, 0.195))
    'no single rate of return (3.5 %; 19.5 %), so go by the present value'
    """
    if not rates:
        return "no rate of return"
    texts = [f"{amount(100 * rate, 1)} %" for rate in rates]
    if len(texts) == 1:
        return f"a return of {texts[0]} a year"
    several = "; ".join(texts)
    return f"no single rate of return ({several}), so go by the present value"


def _district(facts: WayFacts) -> Markup:
    """Compare with doing nothing, for all together."""
    today = facts.districts.groupby("year")["today"].sum()
    worth = facts.present("district")
    return Markup(
        "Doing nothing would cost {} for disposal over these years (not discounted). "
        "Against that the district {} {} in present value: {}."
    ).format(
        said(facts, float(today.sum())),
        "gains" if worth >= 0 else "loses",
        said(facts, abs(worth)),
        rates_words(facts.rates("district")),
    )


def _programme(facts: WayFacts) -> Markup:
    """Say what the programme's own money comes to."""
    worth, back = facts.present("programme"), facts.paid_back("programme")
    line = Markup(
        "The programme's own money has a present value of {}, what yards are still "
        "worth after {} counted in; {}."
    ).format(
        said(facts, worth), facts.way.years[-1], rates_words(facts.rates("programme"))
    )
    spent = float(facts.cash["capital"].sum())
    if back is None:
        line += " It does not pay back what it spends within these years."
    elif spent > 0:
        line += f" It is paid back after {amount(back, 1)} years"
        later = facts.paid_back("programme", discounted=True)
        line += (
            f", with interest after {amount(later, 1)}."
            if later is not None
            else ", without interest."
        )
    return line


def _lent(facts: WayFacts) -> Markup:
    """Say what is borrowed, paid for it, and still owed."""
    cash = facts.cash
    return Markup(
        "{} are borrowed; {} of interest fall within these years, and {} are still "
        "owed after {}. With its loans the programme's money has a present value of {}."
    ).format(
        said(facts, float(cash["borrowed"].sum())),
        said(facts, float(cash["interest"].sum())),
        said(facts, float(cash["debt"].iloc[-1])),
        facts.way.years[-1],
        said(facts, facts.present("financed")),
    )


def short_lines(facts: WayFacts) -> list[Markup]:
    """Say in which years money is short, and what would ease it."""
    lines = []
    for row in records(facts.short):
        line = Markup("<strong>In {} the money {} is short by {}.</strong>").format(
            int(row["year"]), SPENT_ON[row["limit"]], said(facts, row["short"])
        )
        if row["service"] > 0:
            line += Markup(" Loans take {} in that year.").format(
                said(facts, row["service"])
            )
        lines.append(line)
    return lines + easing_lines(facts)


def easing_lines(facts: WayFacts) -> list[Markup]:
    """Say what a little more money would save, the year that saves most first."""
    more = max(float(LEAST_MORE), facts.unit.factor)
    last = facts.way.years[-1]
    table = facts.way.easing.sort_values("saves", ascending=False, kind="stable")
    if facts.way.goal in GOALS:
        _, _, factor, less = GOALS[facts.way.goal]
        return [
            Markup("With {} more {} in {} about {} t less {} by {}.").format(
                said(facts, more), SPENT_ON[row["limit"]], int(row["year"]),
                amount(more * row["saves"] / factor, 1), less, last,
            )
            for row in records(table)
        ]  # fmt: skip
    return [
        Markup("{} more {} in {} saves about {} by {}.").format(
            said(facts, more), SPENT_ON[row["limit"]], int(row["year"]),
            said(facts, more * row["saves"]), last,
        )
        for row in records(table)
    ]  # fmt: skip


def step_words(facts: WayFacts, step: str, old: str, new: str) -> str:
    """Say what happens to a yard."""
    size = facts.size
    return STEP[step].format(old=size.get(old, old), new=size.get(new, new))


def standing_words(facts: WayFacts, year: int) -> Markup:
    """List the yards of a year with their sizes."""
    works, idle = list[Markup](), list[Markup]()
    for yard, years in facts.stands.items():
        if year in years:
            one = years[year]
            size = facts.size.get(one.size, one.size)
            text = Markup("{} ({})").format(bdi(facts.yard.get(yard, yard)), bdi(size))
            (works if one.works else idle).append(text)
    line = (
        Markup("{}: {}").format(
            count(len(works), "yard works", "yards work"), listed(works)
        )
        if works
        else Markup("No yard works")
    )
    return line + (Markup("; idle: {}").format(listed(idle)) if idle else Markup(""))
