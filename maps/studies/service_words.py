"""What is said of a source that is left, or of a market that gets less than it asks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.scenario import in_list
from maps.shared import amount, goal_said, money_unit, names, shortage_sentences

if TYPE_CHECKING:
    from logistics.studies import Service, SiteAnswer

LEAST_T = 0.05
"""Tonnes below which nothing is said of them. [t]"""

RULES = {
    "pad": "limits on pad room",
    "store": "limits on room to store feedstock",
    "compost_store": "limits on room to store compost",
    "water": "limits on water",
    "trucks": "limits on trucks that can be hired",
    "mix": "rules for the mix",
    "margin": "the margin that mixes keep",
    "demand": "limits on what markets take",
    "nutrients": "limits on nutrients and the product standard",
    "cover": "the rule that spoiling waste is covered at once",
    "waiting": "limits on what can wait at the source",
    "roads": "months in which its roads are closed or too slow",
    "board": "limits and shares that the board asks for",
}
"""Rule that is lifted -> its name in a sentence that begins with "without"."""


def place_name(told: SiteAnswer) -> str:
    """Name the source or market."""
    return names(told.base, told.kind).get(told.code, told.code)


def when_said(told: SiteAnswer) -> str:
    """Say which months are asked about: "in April", or "in a year" for all."""
    service, periods = _service(told), told.base.scenario.periods
    if all(service.asked):
        return "in a year"
    named = [
        str(name or code)
        for name, code, mine in zip(
            periods["name"], periods["period"], service.asked, strict=True
        )
        if mine
    ]
    return f"in {in_list(named)}"


def tonnes(value: float) -> str:
    """Write tonnes, with a decimal where there are few. [t]"""
    return f"{amount(value, 1 if abs(value) < 20 else 0)} t"


def title_words(told: SiteAnswer) -> str:
    """Write the question."""
    name, when = place_name(told), when_said(told)
    of = "" if when == "in a year" else f" {when}"
    if told.kind == "source":
        return f"Why {name} is {'' if told.chosen else 'not '}collected whole{of}"
    if told.chosen:
        return f"Why {name} gets all it asks{of}"
    return f"Why {name} gets less than it asks{of}"


def service_words(told: SiteAnswer) -> list[str]:
    """Say what the plan leaves, and what serving it whole adds."""
    name, when, service = place_name(told), when_said(told), _service(told)
    if told.no_use:
        lead = f"Nothing can be collected at {name}"
        if told.kind == "market":
            lead = f"No compost can be sent to {name}"
        lead += "." if when == "in a year" else f" {when}."
        return [lead, *told.no_use]
    if told.chosen:
        said = tonnes(service.wanted_t)
        if told.kind == "source":
            return [f"{name} is collected whole: the plan takes all of {said} {when}."]
        return [f"{name} gets all it asks: {said} {when}."]
    lines = [_left(told), *_as_far(told)]
    if told.outcome is None:
        return lines
    settings = told.base.scenario.settings
    kept, all_of_it = service.kept, _all_of_it(told)
    if kept is not None and kept.steps:
        more = goal_said(kept.adds, settings)
        lines.append(f"{all_of_it} adds {more} with the yards as they are.")
    if told.adds is None:
        return [
            *lines,
            "There is no plan that does so, with any yards.",
            *shortage_sentences(told.outcome.replan),
        ]
    held = told.outcome.replan.plan.homes_held
    low, high = told.adds
    homes = ", own trucks at home where these two plans have them" if held else ""
    lines.append(
        f"With everything planned anew, {_lower(all_of_it)} adds "
        f"{_between(low, high, told)}: proven at both ends{homes}."
    )
    if held and told.anywhere is not None:
        lines.append(
            "Wherever own trucks are at home, this is "
            f"{_between(*told.anywhere, told)}."
        )
    return lines


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _between(low: float, high: float, told: SiteAnswer) -> str:
    settings = told.base.scenario.settings
    least, most = goal_said(low, settings), goal_said(high, settings)
    if least == most:
        return most
    most = f"at most {most}"
    return most if low < 1 else f"at least {least} and {most}"


def _service(told: SiteAnswer) -> Service:
    if told.service is None:
        message = "the question is not about a source or a market"
        raise ValueError(message)
    return told.service


def _left(told: SiteAnswer) -> str:
    """Say how much is left, of how much."""
    name, when, service = place_name(told), when_said(told), _service(told)
    short, wanted = service.short_t, service.wanted_t
    nothing = short >= wanted - LEAST_T
    if told.kind == "source":
        verb = "arises" if tonnes(wanted) == "1.0 t" else "arise"
        which = f"the {tonnes(wanted)} that {verb} at {name} {when}"
        if nothing:
            return f"The plan collects nothing of {which}."
        return f"The plan leaves {tonnes(short)} of {which}."
    which = f"the {tonnes(wanted)} it asks for {when}"
    if nothing:
        return f"{name} gets nothing of {which}."
    return f"{name} gets {tonnes(wanted - short)} of {which}."


def _all_of_it(told: SiteAnswer) -> str:
    """Begin a sentence on serving whole, or as far as the plan's yards can."""
    kept = _service(told).kept
    whole = kept is None or not kept.steps or kept.asked.short <= LEAST_T
    if told.kind == "source":
        return "Collecting all of it" if whole else "Collecting all that can be"
    return "Giving it all it asks" if whole else "Giving it all that can be"


def _as_far(told: SiteAnswer) -> list[str]:
    """Say what the plan's yards cannot serve at any price, and which rule bars it."""
    kept = _service(told).kept
    if kept is None or kept.asked.short <= LEAST_T:
        return []
    does = "collect" if told.kind == "source" else "send it"
    most = max(0.0, _service(told).wanted_t - kept.asked.short)
    said = [
        f"With the yards as they are, no payment would make the plan {does} more than "
        f"{tonnes(most)}."
    ]
    for rule, short in sorted(kept.bars.items(), key=lambda item: item[1]):
        could = tonnes(_service(told).wanted_t - short)
        said.append(f"Without {RULES[rule]} it could {does} {could}.")
    return said


def rule_words(told: SiteAnswer) -> list[str]:
    """Say which rule keeps the plan from it, or that the price does."""
    service = _service(told)
    kept, wanted = service.kept, service.wanted_t
    if kept is None or not kept.steps:
        return []
    verb = "collect" if told.kind == "source" else "send it"
    said = []
    for rule, short in sorted(kept.unbound.items(), key=lambda item: item[1]):
        how = "all of it" if short <= LEAST_T else f"{tonnes(wanted - short)} of it"
        said.append(f"Without {RULES[rule]} the plan would {verb} {how}.")
    if not said:
        said.append("No rule bars it: it costs more than it brings.")
    if len(said) > 1:
        said.append("Each alone, with the yards as they are.")
    return [*said, *_out_of_reach(told)]


def _out_of_reach(told: SiteAnswer) -> list[str]:
    """Say in which months no truck reaches it in time."""
    service, table = _service(told), told.base.scenario.periods
    named = [
        str(row["name"] or row["period"])
        for row, mine, open_, some in zip(
            table.to_dict("records"),
            service.asked,
            service.reached,
            service.wanted,
            strict=True,
        )
        if mine and some > 0 and not open_
    ]
    if not named:
        return []
    return [f"In {in_list(named)} no truck gets there from a yard of the plan in time."]


FIGURES = {
    "payment": "A payment a year for all of it, all planned anew",
    "tonne": "More for each tonne, the yards as they are",
    "tonne anew": "More for each tonne, all planned anew",
    "haulage": "Its haulage, the yards as they are",
}
"""What changes -> its name in the table."""


def per_tonne(told: SiteAnswer, value: float) -> str:
    """Write money a tonne."""
    currency = told.base.scenario.settings.currency
    return f"{money_unit(currency, [value], 2).said(value)} a tonne"


def month_rows(told: SiteAnswer) -> list[list[str]]:
    """Write what each month asked about has, what is served of it and what is left."""
    service, periods = _service(told), told.base.scenario.periods
    rows = []
    for row, wanted, served, left, open_, mine in zip(
        periods.to_dict("records"),
        service.wanted,
        service.served,
        service.left,
        service.reached,
        service.asked,
        strict=True,
    ):
        name = str(row["name"] or row["period"])
        if mine:
            figures = map(amount, (wanted, served, left))
            rows.append([name, *figures, "yes" if open_ else "no"])
    return rows


def paid_rows(told: SiteAnswer) -> list[list[str]]:
    """Write a row for each payment a tonne: how much the plan would then serve."""
    service = _service(told)
    if service.kept is None:
        return []
    unit = money_unit(told.base.scenario.settings.currency, [0.0], 2)
    wanted = service.wanted_t
    rows = [["0", amount(wanted - service.short_t), amount(service.short_t)]]
    for one in service.kept.steps:
        left = max(one.left_t, 0.0)
        rows.append([unit.text(one.per_t), amount(wanted - left), amount(left)])
    return rows
