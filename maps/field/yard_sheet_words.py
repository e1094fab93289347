"""What a yard sheet says in words: cover, water, compost, what to log, cautions."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

from markupsafe import Markup

from logistics.scenario import in_list, rows_by
from maps.report import Cell, bdi, listed
from maps.shared import amount, united

if TYPE_CHECKING:
    from maps.field.yard_month import Month

SHORT_DAYS = 12
SPOILS = (
    "Feedstock that spoils: wear gloves and boots; wash hands and tools. Raw fish must "
    "never touch finished compost or its tools. Leave none of it showing at night: it "
    "draws animals. Do not turn the windrow until no flesh is left (after the fish "
    "composting page of the Cornell Waste Management Institute, 2017)."
)
ALWAYS = (
    "Hot windrows: above 70 °C, turn and wet the windrow, with water at hand. Smoke or "
    "a burnt smell: keep off, soak it, and call the fire service before anyone opens "
    "it. Never step onto it.",
    "Machines: nobody within reach of the loader or the turner. Stop and take out the "
    "key before clearing a blockage. Lift heavy things in pairs.",
    "Run-off: keep the drains and the pond open. No dark water may leave the yard. "
    "Keep clear of wells.",
)


def cover_lines(month: Month) -> tuple[list[Cell], bool]:
    """Say what must lie on the pad before what spoils comes, and whether it will."""
    if month.cover.empty:
        return [], False
    table, each = month.cover, month.result.scenario.settings.cover.m3_per_t
    bucket = month.result.scenario.settings.windrow.bucket_m3
    bulk = month.stock[month.stock["structure"] & ~month.stock["spoils"]]
    spoils = listed([bdi(n) for n in month.stock.loc[month.stock["spoils"], "name"]])
    most, need = float(table["spoils_t"].max()), float(table["need_m3"].max())
    if bulk.empty:
        line = Markup(
            "<strong>No cover.</strong> {} is due, but no feedstock that keeps a heap "
            "open. Do not unload it until you have some."
        ).format(spoils)
        return [line], True
    bulk_names = listed([bdi(n) for n in bulk["name"]], "or")
    lines: list[Cell] = [
        Markup(
            "<strong>Cover first.</strong> {what} comes on {n} of {days} days, at most "
            "{most} a day. Before you unload the first load of such a day, "
            "<strong>{need} of loose {bulk} ({buckets} buckets)</strong> must be on "
            "the pad: {each} m³ per tonne. Lay a bed, unload onto it, and cover at "
            "once until nothing shows."
        ).format(
            what=spoils,
            n=len(table),
            days=int(month.days[1]),
            most=united(most, "t", 1),
            need=united(ceil(need), "m³"),
            bulk=bulk_names,
            buckets=amount(ceil(need / bucket)),
            each=amount(each, 1),
        )
    ]
    lacking = table[table["short_m3"] > 0]
    start = united(float((bulk["start_t"] / bulk["loose_t_m3"]).sum()), "m³")
    if lacking.empty:
        lines.append(f"The plan provides it: {start} in store when the month begins.")
        return lines, False
    more = united(ceil(float(table["more_m3"].max())), "m³")
    shown = [str(int(d)) for d in lacking["day"]][:SHORT_DAYS]
    rest = len(lacking) - SHORT_DAYS
    days = listed([*shown, f"{rest} more"] if rest > 0 else shown)
    lines.append(
        Markup(
            "<strong>The plan does not provide it:</strong> {start} in store when the "
            "month begins, and on {n} days (day {days}) up to {short} are "
            "missing when the first load comes. {more} more in store on the first "
            "morning would last the whole month; otherwise have it brought in "
            "beforehand."
        ).format(
            start=start,
            n=len(lacking),
            days=days,
            short=united(ceil(float(lacking["short_m3"].max())), "m³"),
            more=more,
        )
    )
    return lines, True


def water_lines(month: Month) -> list[Cell]:
    """Water when building and when turning, against what the site gives."""
    if month.mix is None:
        return []
    scenario, count = month.result.scenario, len(month.built)
    turned = month.mix["charge_t"] * scenario.settings.process.turning_water_m3_per_t
    site = rows_by(scenario.yards, "yard")[month.yard]["water_m3_per_day"]
    water = float(month.mix["water_t"])
    building = (
        f"{united(water / count, 'm³', 1)} per windrow, "
        f"{united(water / month.days[1], 'm³', 1)} a working day"
        if water > 0
        else "none: the mix is wet enough as delivered, if the tables are right"
    )
    line = (
        f"Water when building: {building}. While turning, up to "
        f"{united(turned / count, 'm³', 1)} per windrow over all its turnings, where "
        f"it is dry. The site supplies at most {united(site, 'm³', 0)} a day."
    )
    return [line]


def zone_lines(month: Month) -> list[Cell]:
    """Say how much of the windrow zone is taken on the fullest day of the period."""
    if not len(month.needed_m2) or month.needed_m2.max() <= 0:
        return []
    day = int(month.needed_m2.to_numpy().argmax()) + 1
    most = united(float(month.needed_m2.max()), "m²")
    line = (
        f"Windrow zone with aisles: {united(month.zone_m2, 'm²')}. Fullest on "
        f"{month.on_day(day)}: {most}, counted as if what is turned or leaves that day "
        "still lay there."
    )
    return [line]


def product_lines(month: Month) -> list[Cell]:
    """Say what comes of the period's windrows, when, and with which nutrients."""
    process = month.result.scenario.settings.process
    lines: list[Cell] = []
    if month.mix is not None and len(month.built):
        mix, dry = month.mix, 1 - process.product_moisture
        content = in_list(
            f"{name} {amount(mix[key] * 100, 2)} % ({amount(mix[key] * dry * 1000, 1)} "
            "kg/t)"
            for key, name in (("n", "N"), ("p2o5", "P₂O₅"), ("k2o", "K₂O"))
        )
        ready = month.built["ready"]
        lines.append(
            Markup(
                "<strong>Compost</strong> from these windrows: {t}, ready from {a} to "
                "{b}; in its dry matter {content}, with kg/t at {wet} % moisture; C:N "
                "{cn}. Expected, not analysed: send a sample to a laboratory."
            ).format(
                t=united(mix["product_t"], "t"),
                a=bdi(month.date(float(ready.min()))),
                b=bdi(month.date(float(ready.max()))),
                content=content,
                wet=amount(process.product_moisture * 100),
                cn=amount(mix["product_cn"], 1),
            )
        )
    return lines


def rule_lines(month: Month) -> list[Cell]:
    """Say what to log, and that the usual turning may not be enough for it."""
    process = month.result.scenario.settings.process
    each = process.hot_days / max(1, process.hot_turnings)
    more = ""
    if process.turning_days > each:
        more = (
            f"Turning every {amount(process.turning_days)} days is not enough: to meet "
            f"this, turn about every {amount(each)} days while the windrow is hot. "
        )
    rule = Markup(
        "<strong>To log:</strong> {days} days at {hot} °C or more, with {turns} "
        "turnings in that time (US 40 CFR 503, appendix B, windrows). {more}Count days "
        "and turnings in the table of windrows. Hold back a windrow that falls short, "
        "and ask for advice. This sheet certifies nothing."
    )
    return [
        rule.format(
            hot=amount(process.hot_c),
            days=process.hot_days,
            turns=process.hot_turnings,
            more=more,
        )
    ]


def cautions(month: Month) -> list[Cell]:
    """Choose the cautions that the yard needs in this period."""
    spoiling = bool(month.stock["spoils"].any())
    return [*([SPOILS] if spoiling else []), *ALWAYS]
