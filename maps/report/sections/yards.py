"""Report, the yards: sizes, intake, catchment, and the mix of every month."""

from __future__ import annotations

import pandas as pd
from markupsafe import Markup

from logistics.land import NOT_LAW
from logistics.scenario import records, rows_by
from maps.report.origins import counted, quoted, room_left, traced
from maps.report.pieces import (
    Cell,
    Heading,
    Piece,
    Section,
    Table,
    Words,
    bdi,
    plain,
    sum_table,
)
from maps.report.plan_facts import Facts, intake_by_yard
from maps.report.sections.mixes import mixes, pads, window
from maps.shared import (
    IN_USE,
    amount,
    apportion,
    between,
    given_up,
    names,
    yard_status,
)
from maps.tables import collection, why_refused, why_unused

MOST_MIXES = 6
MEANING = {
    "enlarged": "An enlarged yard stands already in a smaller size; it pays only the "
    "difference in price between the works and machines of the two sizes, and rent and "
    "running cost of the new one.",
    "existing": "An existing yard stays as it is built.",
}


def section(facts: Facts) -> Section:
    """Write the section on the yards."""
    intake = intake_by_yard(facts)
    if intake.empty:
        return Section("yards", "The yards", [Words(["No yard is in use."])])
    label = names(facts.result, "yard")
    used = [str(code) for code in intake.index]
    places = [plain(label[code]) for code in used]
    renamed = intake.rename(columns=lambda code: facts.head(str(code)))
    pieces: list[Piece] = [
        _sizes(facts, used, places),
        sum_table(
            "Feedstock taken in [t/yr]",
            "Yard",
            places,
            renamed,
            facts.digits,
            total="All",
            rows_of=["yards"],
        ),
        _catchment(facts, used, places),
        pads(facts, used, places),
        _unused(facts),
        Heading(f"Mix by {facts.word}"),
        Words([window(facts)]),
        *mixes(facts, used[:MOST_MIXES], places),
    ]
    if len(used) > MOST_MIXES:
        rest = len(used) - MOST_MIXES
        smaller = counted("yards", f"{rest} smaller yards")
        text = f"The mixes of {smaller} are in plan.xlsx, sheet mixes."
        pieces.append(Words([text]))
    return Section("yards", "The yards", pieces)


def _sizes(facts: Facts, used: list[str], places: list[str]) -> Table:
    """Size, room and compost of every yard in use."""
    scenario = facts.result.scenario
    sizes = rows_by(scenario.tables["yard_sizes"], "size")
    status, label = yard_status(facts.result), names(facts.result, "size")
    chosen = dict(facts.result.plan.yard_sizes)
    made = facts.result.plan.compost.groupby("yard")["made_t"].sum()
    compost = apportion(made.reindex(used).fillna(0.0), facts.digits, facts.made)
    fullest = facts.result.mixes.groupby("yard")["pad_used"].max()
    rows = []
    areas = {"site_m2": 0.0, "pad_m2": 0.0}
    for code, place, tonnes in zip(used, places, compost, strict=True):
        size = sizes[chosen[code]]
        for name in areas:
            areas[name] += round(float(size[name]))
        rows.append(
            (
                place,
                Markup('<span class="whole">{}</span>').format(status[code]),
                plain(label.get(chosen[code], chosen[code])),
                amount(size["site_m2"]),
                amount(size["pad_m2"]),
                amount(float(fullest.get(code, 0.0)) * 100),
                amount(tonnes, facts.digits),
            )
        )
    return Table(
        "Yards in use, largest intake first",
        [
            "Yard",
            "Status",
            "Size",
            "Site [m²]",
            "Pad [m²]",
            "Pad in use at its fullest [%]",
            "Compost made [t/yr]",
        ],
        rows,
        (
            "Total",
            "",
            "",
            amount(areas["site_m2"]),
            amount(areas["pad_m2"]),
            "",
            amount(sum(compost), facts.digits),
        ),
        words=3,
        note=" ".join(
            [
                "Pad in use is the room that active windrows take, as a share of the "
                "room for them.",
                *(MEANING[word] for word in MEANING if word in set(status.values())),
            ]
        ),
        rows_of=["yards"],
    )


def _catchment(facts: Facts, used: list[str], places: list[str]) -> Table:
    """Where the feedstock comes from, how wet and how rich the mixes are."""
    lanes = facts.result.lanes
    taken = lanes[(lanes["kind"] == "in") & (lanes["tonnes"] > 0)]
    taken = taken.assign(t_km=taken["tonnes"] * taken["km"])
    groups = taken.groupby("destination").agg(
        sources=("origin", "nunique"),
        tonnes=("tonnes", "sum"),
        t_km=("t_km", "sum"),
        longest=("km", "max"),
        trips=("trips", "sum"),
    )
    groups = groups.reindex(used)
    mixes = facts.result.mixes.groupby("yard")
    low, high = mixes.min(numeric_only=True), mixes.max(numeric_only=True)
    water = _water(facts).reindex(used).fillna(0.0)
    at_mixing, turning = water["water_t"], water["turning_water_t"]
    trips = apportion(groups["trips"])
    cubic = apportion(at_mixing + turning, facts.digits)
    later = apportion(turning, facts.digits)
    rows = []
    for place, code, n, m3, wet in zip(places, used, trips, cubic, later, strict=True):
        row = groups.loc[code]
        rows.append(
            (
                place,
                amount(row["sources"]),
                amount(row["t_km"] / row["tonnes"], 1),
                amount(row["longest"], 1),
                amount(n),
                amount(m3, facts.digits),
                amount(wet, facts.digits),
                between(_of(low, code, "cn"), _of(high, code, "cn")),
                between(
                    _of(low, code, "cn_available"), _of(high, code, "cn_available")
                ),
                between(
                    _of(low, code, "moisture") * 100,
                    _of(high, code, "moisture") * 100,
                    0,
                ),
            )
        )
    return Table(
        "Catchment, water and mixes",
        [
            "Yard",
            "Sources",
            "Mean haul [km]",
            "Longest haul [km]",
            "Trips in [1/yr]",
            "Water added [m³/yr]",
            "Of it while turning [m³/yr]",
            "C:N of mixes",
            "Available C:N",
            "Moisture [% of wet mass]",
        ],
        rows,
        (
            "Total",
            "",
            "",
            "",
            amount(trips.sum()),
            amount(cubic.sum(), facts.digits),
            amount(later.sum(), facts.digits),
            "",
            "",
            "",
        ),
        note="Hauls are one way, loaded; the mean is weighted by tonnes. A source may "
        "serve several yards. Water added counts both what goes into the mixes and "
        "what is added while turning. Available C:N counts only the carbon that "
        "microbes can use.",
        rows_of=["hauls", "mixes"],
    )


def _of(table: pd.DataFrame, code: str, column: str) -> float:
    """Give a yard's value; not a number where it has none."""
    return float(table[column].get(code, float("nan")))


def _water(facts: Facts) -> pd.DataFrame:
    """Water of every yard, at mixing and while turning. [m3/yr]"""
    parts = ["water_t", "turning_water_t"]
    return facts.result.mixes.groupby("yard")[parts].sum()


def _unused(facts: Facts) -> Words:
    """Name the sites that are not used, and existing yards given up."""
    table = facts.result.scenario.tables["yards"]
    status, label = yard_status(facts.result), names(facts.result, "yard")
    gone = given_up(facts.result)
    known = why_unused(facts.result)
    left, idle, forbidden, refused, barred = [], [], [], [], []
    for row in records(table):
        code = str(row["yard"])
        if status[code] in IN_USE:
            continue
        if code in gone:
            left.append(bdi(label[code]))
        elif status[code] == "closed":
            forbidden.append(bdi(label[code]))
        elif status[code] == "refused":
            why = why_refused(facts.result, code)
            why = quoted("screening", bdi(why))
            refused.append(Markup("{} ({})").format(bdi(label[code]), why))
        elif bar := known.get(f"yard:{code}"):
            barred.append(Markup("{} ({})").format(bdi(label[code]), bdi(bar)))
        else:
            idle.append(bdi(label[code]))
    parts = (
        ("Existing yards the plan gives up: {}.", left),
        ("Sites the scenario forbids: {}.", forbidden),
        (f"Candidates refused by the land screening, a {NOT_LAW}: {{}}.", refused),
        ("Sites that cannot be used: {}.", barred),
        ("Sites not used: {}.", idle),
    )
    comma = Markup(", ")
    said: list[Cell] = [
        Markup(text).format(comma.join(group)) for text, group in parts if group
    ]
    if idle or left:
        said.append(room_left(facts))
    return Words(said or ["Every site is used."])


def catchment_words(facts: Facts) -> str:
    """Say in a sentence how far feedstock comes."""
    lanes = facts.result.lanes
    taken = lanes[lanes["kind"] == "in"]
    tonnes = taken["tonnes"].sum()
    if not tonnes:
        return "Nothing is hauled."
    mean = float((taken["tonnes"] * taken["km"]).sum() / tonnes)
    used = collection(facts.result).groupby("source")["collected"].sum()
    return (
        "Feedstock comes from "
        f"{traced(facts, 'sources_used', f'{int((used > 1e-6).sum()):,}')} of "
        f"{traced(facts, 'sources', f'{len(used):,} sources')}, "
        f"{traced(facts, 'mean_haul', f'{amount(mean, 1)} km')} away on average."
    )
