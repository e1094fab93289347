"""Report, what the plan rests on: assumptions, defaults, cautions, and what was run."""

from __future__ import annotations

import numpy as np

from logistics.diagnosis import driving_days_only
from logistics.scenario import in_list, records
from logistics.studies import ANEW, LINE
from maps.report.origins import quoted, traced
from maps.report.pieces import Heading, Piece, Section, Table, Words, plain, shorten
from maps.report.plan_facts import Facts
from maps.shared import (
    CAUTIONS,
    NOT_RECKONED,
    amount,
    apportion,
    available_words,
    count,
    doubt_words,
    nitrogen_words,
    reckoned_by,
    travel_note,
)

LONGEST_LIST = 320
WHOLE = "whole tables"


def section(facts: Facts) -> Section:
    """Write the section on assumptions, defaults and cautions."""
    result = facts.result
    pieces: list[Piece] = [
        Words(
            [f"Distances and times: {plain(result.travel.basis)}. {travel_note()}"],
        ),
        *_coarsened(facts),
        Heading("What would overturn this"),
        Words([text for text in overturned(facts) if text], "list"),
        *_doubted(facts),
        Heading("Cautions"),
        Words([f"{item}. {quoted('assumptions', x)}" for item, x in CAUTIONS], "list"),
        Words(
            [
                "These are the usual cautions (common practice, no source). Planning "
                "figures are not permits."
            ]
        ),
        Heading("Where the supply figures come from"),
        _supply(facts),
        *_driving_days(facts),
        Heading("Materials"),
        *_materials(facts),
        Heading("Defaults not yet replaced"),
        *_defaults(facts),
        Words(
            [
                "All settings, stated or default, and the emission factors with their "
                "sources are in plan.xlsx, sheet assumptions."
            ]
        ),
    ]
    return Section("assumptions", "Assumptions and cautions", pieces)


def overturned(facts: Facts) -> list[str]:
    """Say what the plan takes for granted that could turn out otherwise."""
    result = facts.result
    mixed = len(result.mixes) > 0
    said = [available_words(result), nitrogen_words(result)] if mixed else []
    return [
        *(quoted("assumptions", x) for x in said),
        "What this and every other range does to cost and yards is reckoned by the "
        "command stress, with the yards as they are and chosen anew; the ranges are in "
        "the table ranges of the scenario, or else of the library.",
    ]


def _doubted(facts: Facts) -> list[Piece]:
    """Say what check doubts in the tables, and what the planner accepts of it."""
    said = doubt_words(facts.result.scenario)
    lines = [f"{kind}: {quoted('assumptions', plain(words))}" for kind, words in said]
    return [Heading("What check doubts"), Words(lines, "list")] if lines else []


def _coarsened(facts: Facts) -> list[Piece]:
    """Say how a plan made from a coarse problem can be trusted."""
    told = facts.result.summary.get("coarsened")
    return [Words([quoted("assumptions", told["words"])])] if told else []


def _supply(facts: Facts) -> Table:
    """List the statements that supply rests on, with the tonnes behind each."""
    groups = facts.result.supply.assign(
        said=facts.result.supply["conversion_source"].map(
            lambda text: plain(text) or "no source stated"
        ),
    )
    sums = groups.groupby(["material", "said"], sort=False)["tonnes_per_year"]
    number, exact = sums.size(), sums.sum()
    tonnes = np.zeros(len(exact))
    for code, whole in facts.year.sum(axis=1).items():
        mine = exact.index.get_level_values("material") == code
        tonnes[mine] = apportion(exact[mine], facts.digits, float(whole))
    rows = [
        (
            plain(facts.material_name[str(code)]),
            str(said),
            amount(number.iloc[k]),
            amount(tonnes[k], facts.digits),
        )
        for k, (code, said) in enumerate(number.index)
    ]
    return Table(
        "Sources of the supply figures",
        ["Feedstock", "Basis", "Sources", "Supply [t/yr]"],
        rows,
        (
            "Total",
            "",
            amount(int(number.sum())),
            amount(tonnes.sum(), facts.digits),
        ),
        words=2,
        rows_of=["supply"],
    )


def _driving_days(facts: Facts) -> list[Piece]:
    """Say what is assumed of feedstock that cannot wait over a rest day."""
    said = driving_days_only(facts.result.scenario)
    lines = [
        f"{plain(facts.material_name[code])} {quoted('assumptions', words)}."
        for code, words in said.items()
        if code in facts.materials
    ]
    return [Words(lines, "list")] if lines else []


def _materials(facts: Facts) -> list[Piece]:
    """List the properties of the feedstocks and how far they are known."""
    rows = [
        row
        for row in records(facts.result.scenario.tables["materials"])
        if row["material"] in facts.materials
    ]
    label = facts.material_name
    values = Table(
        "Properties of the feedstocks",
        [
            "Feedstock",
            "Moisture [% wet]",
            "Carbon [% dry]",
            "Nitrogen [% dry]",
            "P₂O₅ [% dry]",
            "K₂O [% dry]",
            "Loose density [kg/m³]",
            "Standing",
        ],
        [
            (
                plain(label[str(row["material"])]),
                amount(row["moisture"] * 100),
                amount(row["carbon"] * 100, 1),
                amount(row["nitrogen"] * 100, 2),
                amount(row["p2o5"] * 100, 2),
                amount(row["k2o"] * 100, 2),
                amount(row["loose_kg_m3"]),
                plain(row["status"]),
            )
            for row in rows
        ],
        rows_of=["assumptions"],
    )
    note = (
        "Every other property, and where each comes from, is in plan.xlsx, sheet "
        "assumptions."
    )
    return [values, Words([note])]


MOST_DEFAULTS = 10
WAYS = {
    LINE: "each default alone on a straight line through the plan (quick estimate)",
    ANEW: "flows planned anew at each end",
}


def _weighty(facts: Facts) -> list[Piece]:
    """List the defaults that move the net cost most, from one end to the other."""
    ends = facts.result.range_ends
    if ends.empty:
        return [Words([NOT_RECKONED])]
    ends = ends[ends["standing"].str.startswith("default")]
    swing = ends[["net_low", "net_high"]].abs().max(axis=1)
    order = swing.sort_values(ascending=False, kind="stable").index[:MOST_DEFAULTS]
    rows = [
        (
            plain(row["name"]),
            f"{row['low']:g} to {row['high']:g}",
            *(_change(facts, row[f"net_{end}"]) for end in ("low", "high")),
        )
        for row in records(ends.loc[order])
    ]
    heads = ["Default", "Range", "Net cost at the low end", "At the high end"]
    return [
        Table(
            "Defaults the answer rests on most: change of the net cost "
            f"[{facts.unit.name}/yr]",
            heads,
            rows,
            note=f"Yards as planned, {WAYS[reckoned_by(facts.result)]}. All ranges, "
            "their sources and what they do to haulage and capital are in the sheet "
            "range_ends.",
            rows_of=["range_ends"],
        )
    ]


def _change(facts: Facts, value: float) -> str:
    """Write a change with its sign; what cannot be is said."""
    if not np.isfinite(value):
        return "demands not met"
    text = facts.unit.text(value)
    return f"+{text}" if value > 0 and text.strip("0.,") else text


def _defaults(facts: Facts) -> list[Piece]:
    """Count the defaults in use and list their columns by table."""
    used = facts.result.scenario.defaults_used
    if used.empty:
        return [Words(["Every cell and setting was filled in."])]
    rows: list[tuple[str, str, str]] = []
    whole: list[str] = []
    values = 0
    for table, part in used.groupby("table", sort=False):
        columns = [c for c in dict.fromkeys(part["column"].astype(str)) if c]
        if not columns:
            whole, values = [*whole, str(table)], values + len(part)
            continue
        text = shorten(in_list(columns), LONGEST_LIST)
        rows.append((str(table), text, amount(len(part))))
    if whole:
        rows.append((WHOLE, in_list(whole), amount(values)))
    values_said = traced(facts, "defaults", count(len(used), "value"))
    return [
        Words(
            [
                f"Defaults that are not local stand in for {values_said} "
                "left blank. First replace those that move the plan most."
            ]
        ),
        *_weighty(facts),
        Table(
            "Defaults in use, by table",
            ["Table", "Columns or settings", "Values"],
            rows,
            ("Total", "", amount(len(used))),
            words=2,
            note="Each is listed in plan.xlsx, sheet defaults_used.",
            rows_of=["defaults_used"],
        ),
    ]
