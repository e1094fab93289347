"""
The plan in plain words, for a board: what is built and why there, what it costs.

Each sentence is a function of the facts that says nothing where what it would say is
not so. Its figures are those of the register, so each leads to the rows behind it.
"""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from logistics.accounts import book, cash_flow, who_gains, worth
from logistics.scenario import rows_by
from maps.report.origins import traced
from maps.report.pieces import Cell, bdi, listed, plain
from maps.report.plan_facts import Facts, capital, intake_by_yard, money
from maps.report.sections.limits import sentences
from maps.shared import amount, count, given_up, names, net_label, united, yard_status
from maps.tables import SPENT

NAMED = 4
"""Yards named with what they take in."""
LIMITS = 1
"""Limits named."""
SCARCE = ("supply", "demand")
"""Kinds of limits that need no explanation."""
ACTS = (
    ("new", "Build {}{}: {}."),
    ("enlarged", "Enlarge {}{}: {}."),
    ("existing", "Keep {} as built{}: {}."),
)
"""Status of a yard, and what to do: number, size, names."""
SPENT_ON = {
    "yards": "yards and the work in them take",
    "haulage": "trucks and driving",
    "feedstock": "feedstock that is bought",
}
"""What the programme spends on, in words."""


def what_to_build(facts: Facts) -> Cell:
    """Name the yards to build, to enlarge and to keep."""
    if facts.result.plan.yards.empty:
        why = "under these prices and limits no yard lowers the cost."
        why = " ".join(facts.result.summary.get("nothing_possible", [])) or why
        return Markup(
            "Build nothing: {} Everything stays at its source, at {} a year."
        ).format(plain(why), traced(facts, "net", money(facts, facts.net)))
    said = [_acts(facts, *each) for each in ACTS]
    gone = given_up(facts.result)
    if gone:
        number = traced(facts, "yards_given_up", f"{len(gone)}")
        label = names(facts.result, "yard")
        named = listed([bdi(label[code]) for code in gone])
        said.append(Markup("Give up {}: {}.").format(number, named))
    return Markup(" ").join(text for text in said if text)


def _acts(facts: Facts, status: str, act: str) -> Markup:
    """Name the yards of a status, with their size where all have the same."""
    known, label = yard_status(facts.result), names(facts.result, "yard")
    mine = [(y, s) for y, s in facts.result.plan.yard_sizes if known[y] == status]
    if not mine:
        return Markup("")
    sizes = {size for _, size in mine}
    number = traced(facts, f"yards_{status}", count(len(mine), "yard"))
    each = Markup("")
    if len(sizes) == 1:
        size = sizes.pop()
        site = rows_by(facts.result.scenario.tables["yard_sizes"], "size")[size]
        area = traced(facts, f"site_area/{mine[0][0]}", f"{amount(site['site_m2'])} m²")
        each = Markup(" ({}, {}{})").format(
            bdi(names(facts.result, "size").get(size, size)),
            area,
            " each" if len(mine) > 1 else "",
        )
    named = listed([bdi(label[yard]) for yard, _ in mine])
    return Markup(act).format(number, each, named)


def what_they_take(facts: Facts) -> Cell:
    """Say how much comes in, and what becomes of it."""
    if facts.result.plan.yards.empty:
        return ""
    asked = facts.delivered + facts.unmet
    met = ""
    if asked:
        share = traced(facts, "demand_met", amount(facts.delivered / asked * 100))
        met = f", {share} % of what the farms ask for"
    share = amount(facts.collected / facts.arises * 100)
    return (
        f"{'They take' if len(facts.result.plan.yards) > 1 else 'It takes'} in "
        f"{_tonnes(facts, 'collected', facts.collected)} of feedstock a year, "
        f"{traced(facts, 'collected_share', share)} % of what arises; "
        f"{_tonnes(facts, 'delivered', facts.delivered)} of compost go out{met}."
    )


def why_there(facts: Facts) -> Cell:
    """Say from how far the feedstock comes to the largest yards."""
    intake = intake_by_yard(facts).sum(axis=1)
    if intake.empty or not facts.collected:
        return ""
    label = names(facts.result, "yard")
    inward = facts.result.lanes[facts.result.lanes["kind"] == "in"]
    t_km = (inward["tonnes"] * inward["km"]).groupby(inward["destination"]).sum()
    tonnes = inward.groupby("destination")["tonnes"].sum()
    shown = []
    for code in [str(code) for code in intake.index if intake[code] > 0][:NAMED]:
        km = traced(facts, f"yard_haul/{code}", f"{t_km[code] / tonnes[code]:.0f} km")
        shown.append(Markup("{} to {}").format(km, bdi(label[code])))
    mean = traced(facts, "mean_haul", f"{t_km.sum() / tonnes.sum():.0f} km")
    each = Markup("")
    if len(intake) > 1:
        largest = "; to the largest yards, {}" if len(intake) > len(shown) else ": {}"
        each = Markup(largest).format(listed(shown))
    chosen = ""
    if facts.result.scenario.settings.goal.minimise == "cost":
        chosen = "Of all choices this one makes yards and hauling together cost least. "
    return Markup("{}Feedstock travels {} one way on average{}.").format(
        chosen, mean, each
    )


def the_other_sites(facts: Facts) -> Cell:
    """Say what became of the sites that are not used."""
    status = pd.Series(yard_status(facts.result))
    refused, unused = (int((status == word).sum()) for word in ("refused", "unused"))
    said = []
    if refused:
        number = traced(facts, "sites_refused", f"{refused}")
        verb = "are" if refused > 1 else "is"
        said.append(f"{number} {verb} refused by the siting rules")
    if unused:
        number = traced(facts, "sites_unused", f"{unused}")
        said.append(f"{number} {'are' if unused > 1 else 'is'} not needed")
    if not said:
        return ""
    sites = traced(facts, "sites", count(len(status), "site"))
    return Markup("Of {} looked at, {}.").format(sites, listed(said))


def what_it_costs(facts: Facts) -> Cell:
    """Give the year's money of the programme."""
    costs = float(facts.costs["amount"].sum())
    income = -float(facts.incomes["amount"].sum())
    if facts.result.plan.yards.empty:
        return ""
    own, word = facts.programme, net_label(facts.programme, "net cost")
    net = traced(facts, "programme", money(facts, abs(own)))
    return (
        f"A year costs the programme {traced(facts, 'costs', money(facts, costs))} and "
        f"brings in {traced(facts, 'income', money(facts, income))}: a {word} of {net}."
    )


def capital_first(facts: Facts) -> Cell:
    """Say what has to be found before anything is built."""
    need = float(capital(facts).to_numpy().sum())
    if not need:
        return ""
    said = traced(facts, "capital", money(facts, need))
    return (
        f"Before that {said} of capital has to be found for works and machines; the "
        "year's costs repay it with interest."
    )


def who_pays(facts: Facts) -> Cell:
    """Set what the sources pay today beside what they pay then."""
    today = _today(facts)
    if not today or facts.result.plan.yards.empty:
        return ""
    now = traced(facts, "sources_today", money(facts, today))
    then = traced(facts, "sources_pay", money(facts, facts.sources))
    if facts.sources >= today:
        return (
            f"The sources would pay {then} a year with the plan and pay {now} today: "
            "agree on that first."
        )
    text = (
        f"The sources pay {now} a year today to be rid of all this; with the plan they "
        f"pay {then}"
    )
    if 0 < facts.net < today:
        net = traced(facts, "net", money(facts, facts.net))
        return f"{text}. All together, the district then pays {net} a year."
    return f"{text}."


def _today(facts: Facts) -> float:
    """Add up what the sources pay today. [money/yr]"""
    gains = who_gains(facts.result, book(facts.result))
    return float(gains.loc[gains["who"] == "sources", "today"].sum())


def paid_back(facts: Facts) -> Cell:
    """Say whether the programme earns back what it spends."""
    if facts.result.plan.yards.empty:
        return ""
    value = worth(cash_flow(book(facts.result)))
    if value.payback is not None:
        years = traced(facts, "payback", f"{amount(value.payback, 1)} years")
        return f"Its own income pays the programme back after {years}."
    if facts.programme > 0:
        return (
            "The programme does not earn this back: fees, a grant or a budget has to "
            "carry it every year."
        )
    return ""


def what_drives_it(facts: Facts) -> Cell:
    """Divide the costs, and set the sales beside them."""
    costs = float(facts.costs["amount"].sum())
    if costs <= 0 or facts.result.plan.yards.empty:
        return ""
    ledger = facts.costs.groupby("account")["amount"].sum()
    said = []
    for code, accounts in SPENT.items():
        share = ledger.reindex(list(accounts)).fillna(0.0).sum() / costs * 100
        if round(share):
            part = traced(facts, f"cost_share/{code}", f"{amount(share)} %")
            said.append((share, f"{SPENT_ON[code]} {part}"))
    said.sort(key=lambda each: -each[0])
    parts = listed([text for _, text in said])
    return Markup("Of what the year costs, {}.").format(parts)


def what_compost_covers(facts: Facts) -> Cell:
    """Set the sales of compost beside the costs."""
    costs = float(facts.costs["amount"].sum())
    sales = sales_of_year(facts)
    if costs <= 0 or sales <= 0:
        return ""
    share = traced(facts, "sales_cover", f"{amount(sales / costs * 100)} %")
    return f"Selling compost brings in {share} of that."


def what_a_tonne_costs(facts: Facts) -> Cell:
    """Say what a tonne collected costs in the end."""
    if not facts.collected or facts.programme <= 0:
        return ""
    each = traced(facts, "net_per_t", facts.unit.each(facts.a_tonne))
    unit = plain(facts.currency)
    return f"In the end a tonne collected costs the programme {each} {unit}."


def what_is_scarce(facts: Facts) -> Cell:
    """Name the feedstock or the buyers that are short."""
    for text in sentences(facts, LIMITS, SCARCE):
        return text
    return ""


def sales_of_year(facts: Facts) -> float:
    """Add up what compost sells for. [money/yr]"""
    return -float(facts.lines.loc[facts.lines["line"] == "sale", "amount"].sum())


def _tonnes(facts: Facts, code: str, tonnes: float) -> str:
    return traced(facts, code, united(tonnes, "t", facts.digits))
