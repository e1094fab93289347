"""Plans side by side -> compare.html: two linked maps, what differs, tables."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd
from markupsafe import Markup

from logistics.studies import (
    by_district,
    by_line,
    overview,
    site_costs,
    winners,
    yard_changes,
)
from maps.geo import (
    leaflet,
    leaflet_map,
    map_data,
    map_scripts,
    packed,
    rounded,
)
from maps.shared import (
    ALL_ESTIMATED,
    NET,
    amount,
    filled,
    headed,
    money_unit,
    named,
    names,
    net_text,
    number,
    own_script,
    own_style,
    policy,
    script_json,
    told_apart,
)
from maps.studies.comparison_words import base_remark, proof, remarks

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.studies import Outcome

Data = dict[str, Any]
PAGE = "compare.js"
ONCE = ("land", "cautions", "windows", "frame")
"""Parts of the data block that the base has for all plans."""
MOST_SITES = 6
"""Sites of `each_site` to choose from: every plan makes the page larger."""
LEAST = 0.5
"""Tonnes a year below which a source or district counts as unchanged."""


def plan_data(result: Result, base: Data | None = None) -> Data:
    """
    Make the data of one plan for its pane; what the base's block has is left out.

    Travel time to a yard and the online map are not on this page.
    """
    block = packed({**map_data(result), "reach": None, "tiles": None})
    if base is None:
        return block
    known = {road["code"]: road["parts"] for road in base["roads"]}
    for road in block["roads"]:
        if known.get(road["code"]) == road["parts"]:
            del road["parts"]
    return {**{k: v for k, v in block.items() if k not in ONCE}, "land": []}


FIGURES = (
    ("cost", NET, "{currency}/yr"),
    ("regret", "Regret of the base's yards", "{currency}/yr"),
    ("haul_cost", "Haulage", "{currency}/yr"),
    ("yards", "Yards in use", ""),
    ("collected", "Collected", "t/yr"),
    ("share_all", "Share of the supply", "%"),
    ("compost", "Compost made", "t/yr"),
    ("vehicle_km", "Driven", "km/yr"),
    ("empty_km", "Driven empty", "km/yr"),
    ("paired_trips", "Paired trips", "1/yr"),
    ("crew_hours", "Truck crews at work", "h/yr"),
    ("co2e", "Emissions", "t CO2e/yr"),
    ("gap", "Proven gap", "%"),
)
"""Column of `compare.overview`, its name and its unit."""


def figures(base: Result, outcome: Outcome) -> list[list[object]]:
    """One row a figure: name, unit, and its value in base, operate and re-plan."""
    rows = overview(base, [outcome])
    currency = base.scenario.settings.currency
    found: list[list[object]] = []
    for column, label, unit in FIGURES:
        times = 100 if unit == "%" else 1
        values = [
            None if pd.isna(value) else rounded(float(value) * times)
            for value in rows[column]
        ]
        found.append([label, unit.format(currency=currency), *values])
    return found


def figure_texts(base: Result, outcome: Outcome) -> list[list[str]]:
    """Write the figures for a page without scripts; the unit stands in its place."""
    rows, currency = figures(base, outcome), base.scenario.settings.currency
    paid = [row for row in rows if row[1] == f"{currency}/yr"]
    unit = money_unit(currency, (number(v) for row in paid for v in row[2:]))
    found = []
    for label, of, *values in rows:
        text: Callable[[object], str] = partial(amount, digits=1)
        if [label, of, *values] in paid:
            text = partial(net_text, unit=unit) if label == NET else unit.text
            of = f"{unit.name}/yr"
        found.append([str(label), str(of), *map(text, values)])
    return found


def told(base: Result, outcome: Outcome) -> list[str]:
    """Sentences under a change: cannot stay, demands unmet, as good as equal."""
    return [*filter(None, [base_remark(base), *remarks(base, outcome).values()])]


def money(base: Result, outcome: Outcome) -> list[list[object]]:
    """One row a line of the budget: account, line, base, re-plan. [money/yr]"""
    table = headed(by_line(base, [outcome]), base.scenario)
    return [
        [row[0], row[1], rounded(row[2]), rounded(row[3])]
        for row in table.itertuples(index=False, name=None)
    ]


def yards(base: Result, outcome: Outcome) -> Data:
    """Codes of yards opened and closed; code, size before and after of the resized."""
    opened, closed, resized = yard_changes(base.plan, outcome.replan.plan)
    before, after = dict(base.plan.yard_sizes), dict(outcome.replan.plan.yard_sizes)
    size = {**names(outcome.replan, "size"), **names(base, "size")}
    return {
        "opened": opened,
        "closed": closed,
        "resized": [
            [code, size.get(before[code], before[code]), size[after[code]]]
            for code in resized
        ],
    }


def places(base: Result, outcome: Outcome) -> Data:
    """Districts and sources of which more or less is collected than in the base."""
    name = {**names(outcome.replan, "district"), **names(base, "district")}
    districts = by_district(base, outcome)
    districts["district"] = named(districts["district"], name)
    table = winners(base, outcome)
    table = table[table["difference"].abs() > LEAST]
    order = table["difference"].abs().sort_values(ascending=False, kind="stable").index
    label = {**names(outcome.replan, "source"), **names(base, "source")}
    return {
        "districts": [
            [row[0], *(rounded(value, 2) for value in row[1:])]
            for row in districts.itertuples(index=False, name=None)
        ],
        "sources": [
            [
                code,
                label.get(code, code),
                name.get(str(district), str(district)),
                str(material),
                rounded(before, 2),
                rounded(after, 2),
            ]
            for code, district, material, before, after in table.loc[
                order, ["source", "district", "material", "before", "after"]
            ].itertuples(index=False, name=None)
        ],
    }


def comparison_data(base: Result, outcomes: Sequence[Outcome]) -> Data:
    """
    Everything that the page shows.

    Returns
    -------
    dict
        base: data of its map; outcomes: title, story, told (sentences),
        proof (of the difference in the goal), figures,
        money, yards, districts, sources of each change, and plan: data of its map.
    """
    first = plan_data(base)
    titles = told_apart({o.change.code: o.change.title for o in outcomes})
    return {
        "base": first,
        "outcomes": [
            {
                "title": titles[outcome.change.code],
                "story": outcome.change.story,
                "told": told(base, outcome),
                "proof": proof(base, outcome.replan),
                "figures": figures(base, outcome),
                "money": money(base, outcome),
                "yards": yards(base, outcome),
                **places(base, outcome),
                "plan": plan_data(outcome.replan, first),
            }
            for outcome in outcomes
        ],
    }


def comparison_html(
    base: Result, outcomes: Sequence[Outcome], sites: Sequence[Outcome] | None = None
) -> str:
    """
    Make the page; the same plans give the same text.

    Parameters
    ----------
    base, outcomes
        The base plan, and changes to choose from.
    sites
        Changes of `each_site`; the cheapest `MOST_SITES` can be chosen as well.
    """
    every = site_costs(base, [*outcomes, *(sites or ())]) if sites is not None else []
    cheapest = [o.outcome for o in every if o.outcome not in outcomes][:MOST_SITES]
    named_sites = sum(one.outcome in outcomes for one in every)
    outcomes = [*outcomes, *cheapest]
    _, start = leaflet_map(base)
    scripts = [
        leaflet("leaflet.js"),
        own_script([*map_scripts(base.scenario), PAGE], start),
    ]
    styles = [leaflet("leaflet.css"), own_style("map.css", "compare.css")]
    return filled(
        "compare.html.j2",
        settings=base.scenario.settings,
        estimated=ALL_ESTIMATED,
        sites=len(every),
        drawn=len(cheapest) + named_sites,
        outcomes=[
            {
                "title": o.change.title,
                "told": told(base, o),
                "figures": figure_texts(base, o),
            }
            for o in outcomes
        ],
        data=script_json(comparison_data(base, outcomes)),
        policy=policy(styles, scripts, ""),
        scripts=[Markup(text) for text in scripts],
        styles=[Markup(text) for text in styles],
    )


def write_comparison_map(
    base: Result,
    outcomes: Sequence[Outcome],
    path: Path,
    sites: Sequence[Outcome] | None = None,
) -> None:
    """Write compare.html at `path`."""
    path.write_text(
        comparison_html(base, outcomes, sites), encoding="utf-8", newline="\n"
    )
