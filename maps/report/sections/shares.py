"""Report, who pays: what each district pays of the net cost, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
from markupsafe import escape

from logistics.accounts import core_breaches
from logistics.scenario import records
from logistics.studies import by_work
from maps.report.origins import traced
from maps.report.pieces import (
    Cell,
    Heading,
    Piece,
    Section,
    Table,
    Words,
    bdi,
    listed,
    plain,
)
from maps.report.plan_facts import Facts, money
from maps.shared import amount, apportion, named, names, net_label, spread

if TYPE_CHECKING:
    from logistics.studies import Sharing

HOW = (
    "This report does not say what each district adds to the cost, or whether some "
    "would be cheaper alone: that takes a plan for every group of districts. The "
    "command shares makes those plans and writes this report again, with the answer, "
    "as shares.html."
)


def section(facts: Facts, found: Sharing | None = None) -> Section:
    """Write the page of the districts; with `found` also what each adds."""
    table = by_work(facts.result)
    table["district"] = named(table["district"], names(facts.result, "district"))
    if len(table) < 2:
        lines: list[Cell] = ["All sources are of one district: it pays everything."]
        return Section("districts", "Who pays", [Words(lines)])
    pieces: list[Piece] = [
        Words([_in_short(facts, table)]),
        _work(facts, table),
        _pays(facts, table),
        Heading("Why"),
        Words(_why(facts, table), marks="list"),
    ]
    pieces += _adds(facts, found) if found is not None else [Words([HOW])]
    return Section("districts", "Who pays", pieces)


def _in_short(facts: Facts, table: pd.DataFrame) -> str:
    """Say what is split."""
    word = net_label(facts.net, "net cost")
    standing = float(table["standing"].sum())
    net = traced(facts, "net", money(facts, abs(facts.net)))
    owned = traced(facts, "owned_trucks", money(facts, standing))
    return (
        f"The districts share a {word} of {net} a year. Of "
        f"the costs, {owned} is for trucks owned; it is fixed, and "
        "shared by tonnes produced. The rest is split in each of the ways below. A "
        "district below zero receives money. The districts must agree which way is "
        "fair; this page decides nothing."
    )


def _work(facts: Facts, table: pd.DataFrame) -> Table:
    """List what a district brings to the yards, and from how far."""
    collected = apportion(table["tonnes"], facts.digits, facts.collected)
    arises = apportion(table["arises"], facts.digits, facts.arises)
    hauled = apportion(table["tonne_km"])
    rows = [
        (
            plain(row["district"]),
            amount(here, facts.digits),
            amount(taken, facts.digits),
            amount(work),
            amount(_km(row["tonnes"], row["tonne_km"]), 1),
        )
        for row, here, taken, work in zip(
            records(table), arises, collected, hauled, strict=True
        )
    ]
    return Table(
        "What each district brings",
        [
            "District",
            "Supply [t/yr]",
            "Collected [t/yr]",
            "Hauled to the yards [t·km/yr]",
            "Mean haul [km]",
        ],
        rows,
        (
            "Total",
            amount(arises.sum(), facts.digits),
            amount(collected.sum(), facts.digits),
            amount(hauled.sum()),
            "",
        ),
        rows_of=["districts"],
    )


def _pays(facts: Facts, table: pd.DataFrame) -> Table:
    """List what a district pays by tonnes and by tonne-kilometres."""
    ways = {"by_tonnes": "By tonnes", "by_tonne_km": "By t·km"}
    exact = pd.DataFrame(
        {head: table[way] + table["standing"] for way, head in ways.items()}
    )
    shown = spread(exact, facts.money_digits, pd.Series(facts.net, index=exact.columns))
    rows = [
        (plain(name), *(facts.unit.text(value) for value in row))
        for name, row in zip(
            table["district"], shown.itertuples(index=False), strict=True
        )
    ]
    sums = (facts.unit.text(value) for value in shown.sum())
    return Table(
        "What each district pays, including its part of the trucks "
        f"[{facts.unit.name}/yr]",
        ["District", *exact.columns],
        rows,
        ("Total", *sums),
        rows_of=["districts"],
    )


def _km(tonnes: float, work: float) -> float:
    """Mean haul [km]; not a number where nothing is collected."""
    return work / tonnes if tonnes > 0 else float("nan")


def _why(facts: Facts, table: pd.DataFrame) -> list[Cell]:
    """Give the reason in one sentence a district."""
    tonnes, work = table["tonnes"].sum(), table["tonne_km"].sum()
    mean = _km(tonnes, work)
    lines: list[Cell] = []
    codes = by_work(facts.result)["district"]
    for code, row in zip(codes, records(table), strict=True):
        name = bdi(row["district"])
        if row["tonnes"] <= 0 or work <= 0:
            lines.append(
                name
                + ": none of its feedstock is hauled, so it only pays its part of the "
                "trucks."
            )
            continue
        km = _km(row["tonnes"], row["tonne_km"])
        far = "more" if km > mean else "less"
        share = traced(
            facts, f"district_t/{code}", amount(row["tonnes"] / tonnes * 100)
        )
        part = row["tonne_km"] / work * 100
        part = traced(facts, f"district_tkm/{code}", amount(part))
        own = traced(facts, f"district_haul/{code}", f"{amount(km, 1)} km")
        lines.append(
            name + f": {share} % of the tonnes and {part} % of the t·km, because its "
            f"loads travel {own}, {far} than the average of "
            f"{traced(facts, 'mean_haul', f'{amount(mean, 1)} km')}."
        )
    return lines


def _adds(facts: Facts, found: Sharing) -> list[Piece]:
    """List what each district adds to the cost, against going alone."""
    table, digits, text = found.table, facts.money_digits, facts.unit.text
    parts = table[["shapley", "standing"]]
    shown = spread(parts, digits)
    pays = apportion(table["shapley"] + table["standing"], digits, facts.net)
    shown["shapley"] = pays - shown["standing"].to_numpy()
    alone = apportion(table["alone"], digits)
    rows = [
        (
            plain(row["district"]),
            text(single),
            text(share),
            f"{text(row['low'])} to {text(row['high'])}",
            text(standing),
            text(whole),
        )
        for row, single, share, standing, whole in zip(
            records(table),
            alone,
            shown["shapley"],
            shown["standing"],
            pays,
            strict=True,
        )
    ]
    return [
        Heading("By what each adds"),
        Words([_stable(facts, found)]),
        Table(
            f"Shapley value of each district [{facts.unit.name}/yr]",
            [
                "District",
                "Alone, without trucks owned",
                "What it adds",
                "Proven range",
                "Trucks owned",
                "Pays",
            ],
            rows,
            (
                "Total",
                text(alone.sum()),
                text(shown["shapley"].sum()),
                "",
                text(shown["standing"].sum()),
                text(pays.sum()),
            ),
            note=_note(found),
            rows_of=["shares"],
        ),
    ]


def _note(found: Sharing) -> str:
    """Say how the shares came about."""
    if found.orders:
        return (
            f"Mean of {found.orders} random orders of joining; the limits are two "
            "standard errors either way. The sheet shares is in shares.xlsx."
        )
    return (
        "What a district adds when it joins, averaged over all orders in which the "
        "districts may join; below zero, the joint cost falls. "
        f"{len(found.coalitions)} groups were planned. The limits come from the proven "
        "gaps of those plans. The sheet shares is in shares.xlsx, with every group."
    )


def _stable(facts: Facts, found: Sharing) -> Cell:
    """Say what acting together saves, and which group would rather leave."""
    saved = float(found.table["alone"].sum()) - found.total
    verb = "saves" if saved >= 0 else "costs"
    more = "" if saved >= 0 else " more"
    start = f"Acting together {verb} {money(facts, abs(saved))} a year{more}. "
    share = dict(zip(found.table["district"], found.table["shapley"], strict=True))
    leave = core_breaches(found.game, share)
    if not leave:
        return start + "With these shares, no group planned would be cheaper alone."
    worst = listed([bdi(name) for name in sorted(leave[0].group)])
    return (
        escape(start)
        + f"Groups that would be cheaper alone: {len(leave)}; most of all "
        + worst
        + f", by {money(facts, leave[0].excess)} a year."
    )
