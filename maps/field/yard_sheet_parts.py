"""Pieces of a yard sheet: arrivals, mix, windrows, calendar, log, cautions."""

from __future__ import annotations

from itertools import batched
from math import ceil, inf, isfinite
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from logistics.rounds import events, period_day
from logistics.scenario import in_list, records, rows_by
from maps.field.dates import GUESSED, dated
from maps.field.driven_tables import clock
from maps.report import Cell, Group, Table, Words, bdi
from maps.shared import DASH, amount

if TYPE_CHECKING:
    from maps.field.yard_month import Month

LOG_LINES = 22


def windrow_name(period: object, number: object) -> str:
    """
    Name a windrow by the period it is started in and its number.

    >>> windrow_name("m04", 3)
    'm04-3'
    """
    return f"{period}-{number}"


def arrival_table(month: Month) -> Table | Words:
    """List loads and tonnes by working day, with the cover that is lacking."""
    if month.coming.empty:
        return Words(["No feedstock is hauled to this yard in this period."])
    codes = [c for c in month.stock["feedstock"] if c in set(month.coming["feedstock"])]
    label = dict(zip(month.stock["feedstock"], month.stock["name"], strict=True))
    spoils = set(month.stock.loc[month.stock["spoils"], "feedstock"])
    short = {int(row["day"]): row["short_m3"] for row in records(month.cover)}
    here = {(int(r["day"]), r["feedstock"]): r for r in records(month.coming)}
    _, working = month.days
    rows = []
    for day in range(1, int(working) + 1):
        cells: list[Cell] = [f"{day}"]
        cells.append(month.on_day(period_day(month.result.scenario, month.period, day)))
        first = inf
        for code in codes:
            row = here.get((day, code))
            cells.append(loads_text(row))
            if row and code in spoils:
                first = min(first, row["first_h"])
        if spoils:
            if month.rounds:
                cells.append(clock(first) if isfinite(first) else DASH)
            lack = short.get(day, float("nan"))
            cells.append(amount(ceil(lack)) if lack > 0 else DASH)
        rows.append([*cells, ""])
    sums = month.coming.groupby("feedstock", as_index=False)[["loads", "tonnes"]].sum()
    foot: list[Cell] = ["All", ""]
    foot += [loads_text(rows_by(sums, "feedstock")[code]) for code in codes]
    heads: list[Cell] = ["Day", "Date"]
    heads += [Markup("{}: loads, t").format(bdi(label[code])) for code in codes]
    if spoils:
        heads += ["First arrives"] if month.rounds else []
        heads += ["Cover missing, m³"]
        foot += [DASH] * (2 if month.rounds else 1)
    note = "Days are working days of the period, as on the run sheets."
    if not dated(month.result.scenario):
        note += f" {GUESSED}"
    return Table(
        "Expected by day",
        [*heads, "Came, t"],
        rows,
        [*foot, ""],
        words=2,
        kind="wide days",
        note=note,
        rows_of=(),
    )


def loads_text(row: dict[str, Any] | None) -> str:
    """
    Write loads and tonnes in one cell.

    >>> loads_text({"loads": 3, "tonnes": 11.53}), loads_text(None)
    ('3 · 11.5', '–')
    """
    if row is None:
        return DASH
    return f"{amount(row['loads'])} · {amount(row['tonnes'], 1)}"


def mix_table(month: Month) -> Table | Words:
    """Account for the month by feedstock, in tonnes, loads, buckets and parts."""
    if month.mix is None:
        return Words(["No windrow is started in this period."])
    bucket = month.result.scenario.settings.windrow.bucket_m3
    count = len(month.built)
    sums = month.coming.groupby("feedstock", as_index=False)[["loads", "tonnes"]].sum()
    loads = rows_by(sums, "feedstock")
    used = month.stock[month.stock["charge_t"] > 0]
    first = used[used["spoils"]] if used["spoils"].any() else used
    least = float(first["charge_m3"].min())
    rows: list[list[Cell]] = []
    for row in records(month.stock):
        mean = DASH
        if row["feedstock"] in loads:
            each = loads[row["feedstock"]]
            whole = each["tonnes"] / each["loads"]
            mean = amount(row["charge_t"] / whole / count, 1)
        rows.append(
            [
                bdi(row["name"]),
                amount(row["start_t"]),
                amount(row["arrives_t"]),
                amount(row["charge_t"]),
                amount(row["end_t"]),
                amount(row["charge_m3"]),
                amount(row["charge_m3"] / count / bucket, 1),
                mean,
                amount(row["charge_m3"] / least, 1),
            ]
        )
    water = month.mix["water_t"]
    wet: list[Cell] = ["Water to add", DASH, DASH, amount(water), DASH, amount(water)]
    rows.append([*wet, amount(water / count / bucket, 1), DASH, DASH])
    limits = month.result.scenario.settings.mix
    mix = month.mix
    note = (
        f"C:N {amount(mix['cn'], 1)}, of available carbon "
        f"{amount(mix['cn_available'], 1)} (allowed {amount(limits.cn_low)} to "
        f"{amount(limits.cn_high)} for {limits.cn_basis} carbon), moisture "
        f"{amount(mix['moisture'] * 100)} % with the water. A bucket holds "
        f"{amount(bucket, 2)} m³ loose; parts are by bucket."
    )
    return Table(
        "The mix",
        [
            "Feedstock",
            "In store before, t",
            "Arrives, t",
            "Into windrows, t",
            "In store after, t",
            "Into windrows, m³ loose",
            "Buckets per windrow",
            "Loads per windrow",
            "Parts",
        ],
        rows,
        kind="wide",
        note=note,
        rows_of=(),
    )


def windrow_table(month: Month) -> Table | Words:
    """List the windrows to build, with the dates of their life."""
    if month.built.empty:
        return Words(["No windrow is started in this period."])
    settings = month.result.scenario.settings
    shape, first = settings.windrow, month.built.iloc[0]
    process = settings.process
    rows: list[list[Cell]] = []
    shortened = settings.windrow.shorten == "turning"
    for row in records(month.built):
        turned = [
            f"{month.date(day)} to {amount(length)} m" if shortened else month.date(day)
            for day, length in zip(row["turned"], row["lengths_m"], strict=True)
        ]
        rows.append(
            [
                windrow_name(row["period"], row["windrow"]),
                f"{row['first_work']} to {row['last_work']}",
                month.dates(row["opened"], row["closed"]),
                in_list(turned) or DASH,
                month.date(row["leaves"]),
                month.date(row["ready"]),
                "",
                "",
            ]
        )
    caption = (
        f"Windrows to build: {len(month.built)}, each {amount(first['length_m'], 0)} m "
        f"long, {amount(shape.base_m, 1)} m wide at the base, "
        f"{amount(shape.height_m, 1)} m high ({shape.section}), "
        f"{amount(first['volume_m3'])} m³ fresh, aisle {amount(shape.aisle_m, 1)} m"
    )
    shorten = (
        "At each turning, set the windrow up to full height again, so that it becomes "
        "as short as it says; new windrows need the end of the row that this frees. "
        "Two that meet end to end keep their own dates: put a stake between. A loader "
        "that turns does this as it goes; behind a turner, push the end in first. "
        "Where a day's list is long, begin the days before; build last. "
        if shortened
        else ""
    )
    note = (
        f"{shorten}Lengths assume a square windrow zone; a pad of another shape may "
        "need fewer or longer windrows of the same volume. Ready after "
        f"{amount(process.active_days)} active and {amount(process.curing_days)} "
        "curing days if all goes well; go by the log, not the date."
    )
    return Table(
        caption,
        [
            "Windrow",
            "Build on days",
            "Dates",
            "Turn, then its length" if shortened else "Turn",
            "To curing",
            "Ready from",
            f"Days at {amount(process.hot_c)} °C",
            "Turned hot",
        ],
        rows,
        words=8,
        kind="wide",
        note=note,
        rows_of=(),
    )


def calendar(month: Month) -> Group | Words:
    """Every day of the period on which some windrow of the yard is due."""
    due = events(month.result, month.yard, month.period)
    if due.empty:
        return Words([])
    rows: list[list[Cell]] = []
    for day in sorted(set(due["day"])):
        found = due[due["day"] == day]
        cells: list[Cell] = [month.on_day(day)]
        for what in ("turn", "leaves", "ready"):
            some = found[found["what"] == what]
            cells.append(
                in_list(
                    windrow_name(p, w)
                    for p, w in zip(some["period"], some["windrow"], strict=True)
                )
            )
        cells.append(amount(month.needed_m2.get(day, 0.0)))
        rows.append([*cells, ""])
    heads = ["Date", "Turn", "To curing", "Ready", "Zone, m²", "Done"]
    half = ceil(len(rows) / 2)
    return Group(
        "Calendar of all windrows on the pad",
        [
            Table("First days" if n == 0 else "Later days", heads, list(part), words=5,
                  kind="wide", rows_of=())
            for n, part in enumerate(batched(rows, half))
        ],
        "two",
    )  # fmt: skip


def log_table() -> Table:
    """Lines to fill in by hand."""
    return Table(
        "Log: measure at half height, left, middle and right, always at the same hour",
        [
            "No.",
            "Date",
            "Windrow",
            "°C left",
            "°C middle",
            "°C right",
            "Dry, right, wet",
            "Water, m³",
            "Turned",
            "Smell, flies, flesh",
            "Name",
        ],
        [[str(n + 1), *[""] * 10] for n in range(LOG_LINES)],
        words=11,
        kind="wide log",
        rows_of=(),
    )
