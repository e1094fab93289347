"""Report, the first page: what was asked, the answer, and what to do next."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from logistics.scenario import between, records
from maps.report.origins import stated, traced
from maps.report.pieces import Cell, bdi, listed, plain
from maps.report.plan_facts import Facts, capital, intake_by_yard, money
from maps.report.sections.limits import sentences
from maps.report.sections.run import GOALS
from maps.report.sections.steps import figures, steps
from maps.report.sections.sureness import money_between, rounds, sure
from maps.report.small_map import district_map, map_key
from maps.shared import (
    Figure,
    amount,
    count,
    given_up,
    names,
    net_label,
    united,
    yard_status,
)

MOST_LIMITS = 4
MOST_NAMED = 6


@dataclass(frozen=True)
class Summary:
    """
    The first page.

    Attributes
    ----------
    asked, answer, sure, range
        Paragraphs.
    figures
        Key figures.
    map, map_key
        The drawing and the key to its signs.
    limits, steps
        What limits the plan; what to do next.
    """

    asked: Cell
    answer: Cell
    sure: Cell
    range: Cell
    figures: list[Figure]
    map: Markup
    map_key: Markup
    limits: list[Markup]
    steps: list[Cell]


def summary(facts: Facts, numbers: Mapping[str, int]) -> Summary:
    """Write the first page; `numbers` are those of the sections by their code."""
    intake = intake_by_yard(facts).sum(axis=1)
    label = names(facts.result, "yard")
    said = "; ".join(
        f"{plain(label[str(code)])} {amount(tonnes, facts.digits)} t a year"
        for code, tonnes in intake.items()
    )
    return Summary(
        asked=asked(facts),
        answer=answer(facts),
        sure=f"{sure(facts)} {rounds(facts)}",
        range=money_between(facts),
        figures=figures(facts),
        map=district_map(
            facts, "map", "Map of the yards in the district", f"Intake: {said or '–'}."
        ),
        map_key=map_key(facts),
        limits=sentences(facts, MOST_LIMITS),
        steps=steps(facts, numbers),
    )


def asked(facts: Facts) -> Markup:
    """Say what was asked, with the limits of the board."""
    scenario = facts.result.scenario
    policy, goal = scenario.settings.policy, scenario.settings.goal.minimise
    feed = listed([bdi(facts.material_name[code]) for code in facts.materials])
    rules = []
    if policy.max_yards is not None:
        most = count(policy.max_yards, "yard")
        rules.append(f"at most {traced(facts, 'setting/policy.max_yards', most)}")
    if policy.capital_limit is not None:
        most = money(facts, policy.capital_limit)
        most = traced(facts, "setting/policy.capital_limit", most)
        rules.append(f"at most {most} of capital")
    if policy.budget_limit is not None:
        most = money(facts, policy.budget_limit)
        most = traced(facts, "setting/policy.budget_limit", most)
        rules.append(f"at most {most} of net cost to the district a year")
    if policy.most_exposed is not None:
        most = amount(policy.most_exposed)
        most = traced(facts, "setting/policy.most_exposed", most)
        rules.append(f"at most {most} people near open yards")
    if policy.most_share is not None and policy.most_share_material:
        what = plain(facts.material_name.get(policy.most_share_material, ""))
        share = stated(facts, "policy.most_share_pct", policy.most_share * 100)
        most = f"at most {share} % {what}"
        rules.append(f"{most} in a yard's intake of a {facts.word}")
    district = names(facts.result, "district")
    for number, row in enumerate(records(scenario.tables["policy"])):
        what = plain(facts.material_name.get(str(row["material"]), "all feedstock"))
        place = district.get(str(row["district"]), str(row["district"]))
        where = f" in {plain(place)}" if place else ""
        least = traced(facts, f"asked/{number}", f"{row['share'] * 100:g} %")
        rules.append(f"at least {least} of {what}{where} to be collected")
    must = scenario.tables["sources"].get("must_collect")
    if must is not None and must.any():
        sources = count(int(must.sum()), "source")
        forced = traced(facts, "sources_forced", sources)
        rules.append(f"everything from {forced} to be collected")
    held = Markup(" The board asked for {}.").format(listed(rules)) if rules else ""
    return Markup(
        "Which of {} should become composting yards and how large, and who hauls what "
        "where in which {}, so that {} from {} become compost for {} with the {}?{}"
    ).format(
        traced(facts, "sites", count(len(scenario.tables["yards"]), "site")),
        facts.word,
        feed,
        traced(facts, "sources", count(len(scenario.tables["sources"]), "source")),
        traced(
            facts,
            "markets",
            count(len(scenario.tables["markets"]), "group of farms", "groups of farms"),
        ),
        GOALS.get(goal, goal),
        held,
    )


def answer(facts: Facts) -> Markup:
    """Give the answer in one paragraph."""
    result = facts.result
    if result.plan.yards.empty:
        why = "under these prices and limits no yard lowers the cost."
        why = " ".join(result.summary.get("nothing_possible", [])) or why
        return Markup(
            "Build nothing: {} All {} a year stay at the sources, at {} a year."
        ).format(
            plain(why),
            traced(facts, "supply", united(facts.arises, "t", facts.digits)),
            traced(facts, "net", money(facts, facts.net)),
        )
    status = yard_status(result)
    used = [str(code) for code in result.plan.yards["yard"]]
    known = Counter(status[code] for code in used)
    acts = {
        "new": ("build {}", "new yard"),
        "enlarged": ("enlarge {}", "existing yard"),
        "existing": ("keep {} as built", "existing yard"),
    }
    parts = [
        act.format(traced(facts, f"yards_{word}", count(known[word], what)))
        for word, (act, what) in acts.items()
        if known[word]
    ]
    text = str(listed(parts))
    text = text[0].upper() + text[1:]
    if result.plan.status == "shortage":
        text = f"The closest plan: {listed(parts)}"
    gone = given_up(result)
    closed = Markup(" {} given up: {}.").format(
        traced(
            facts,
            "yards_given_up",
            count(len(gone), "existing yard is", "existing yards are"),
        ),
        listed([bdi(names(result, "yard")[code]) for code in gone]),
    )
    feed = [
        Markup("{} of {} ({} % of it)").format(
            traced(
                facts,
                f"collected/{code}",
                united(row["collected"], "t", facts.digits),
            ),
            bdi(facts.material_name[code]),
            traced(
                facts,
                f"collected_share/{code}",
                amount(row["collected"] / row[:].sum() * 100),
            ),
        )
        for code, row in ((str(c), r) for c, r in facts.year.iterrows())
        if row["collected"] > 0
    ]
    asked_for = facts.delivered + facts.unmet
    part = facts.delivered / asked_for * 100 if asked_for else math.nan
    return Markup(
        "<strong>{}:</strong> {}.{} The {} in {} of feedstock a year, {} % of the "
        "supply: {}. This makes {} of compost; {} goes to the farms, {} % of what they "
        "ask for. {}"
    ).format(
        text,
        _sizes(facts),
        closed if gone else "",
        "yards take" if len(used) > 1 else "yard takes",
        traced(facts, "collected", united(facts.collected, "t", facts.digits)),
        traced(facts, "collected_share", amount(facts.collected / facts.arises * 100)),
        listed(feed),
        traced(facts, "made", united(facts.made, "t", facts.digits)),
        "all of it"
        if facts.delivered == facts.made
        else traced(facts, "delivered", united(facts.delivered, "t", facts.digits)),
        traced(facts, "demand_met", amount(part)),
        _money(facts),
    )


def _sizes(facts: Facts) -> Markup:
    """Count the yards by size, with their names if they are few."""
    plan, label = facts.result.plan, names(facts.result, "yard")
    size_name = names(facts.result, "size")
    parts = []
    order = plan.yards["size"].value_counts(sort=False)
    order = order.sort_values(ascending=False, kind="stable")
    for size in order.index:
        rows = plan.yards[plan.yards["size"] == size]
        named = [bdi(label[str(code)]) for code in rows["yard"]]
        where = Markup("")
        if len(plan.yards) <= MOST_NAMED:
            where = Markup(" ({})").format(Markup(between(named)).join(named))
        parts.append(
            Markup("{} × {}{}").format(
                traced(facts, f"yards_of_size/{size}", f"{len(rows):,}"),
                bdi(size_name.get(str(size), size)),
                where,
            )
        )
    return listed(parts)


def _money(facts: Facts) -> Markup:
    """Say what the year costs, whom, and what must be found first."""
    costs = float(facts.costs["amount"].sum())
    income = -float(facts.incomes["amount"].sum())
    need = float(capital(facts).to_numpy().sum())
    also = Markup("")
    if round(facts.sources, facts.money_digits):
        also = Markup(
            " The sources still pay {}; together that is a {} of <strong>{}</strong> a "
            "year."
        ).format(
            traced(facts, "sources_pay", money(facts, facts.sources)),
            net_label(facts.net, "net cost"),
            traced(facts, "net", money(facts, abs(facts.net))),
        )
    need_said = traced(facts, "capital", money(facts, need))
    return Markup(
        "The year costs the programme {} and brings in {}: a {} of "
        "<strong>{}</strong>, or {} {} per tonne collected.{} {}"
    ).format(
        traced(facts, "costs", money(facts, costs)),
        traced(facts, "income", money(facts, income)),
        net_label(facts.programme, "net cost"),
        traced(facts, "programme", money(facts, abs(facts.programme))),
        traced(facts, "net_per_t", facts.unit.each(abs(facts.a_tonne))),
        plain(facts.currency),
        also,
        f"{need_said} of capital must be found first."
        if need
        else "No capital has to be found first.",
    )
