"""Report, climate: gases today and with the plan, each with its range."""

from __future__ import annotations

from logistics.accounts import (
    emission_account,
    emission_bounds,
    soil_carbon,
    values_of,
    without_factors,
)
from logistics.scenario import Row, records
from maps.report.origins import traced
from maps.report.pieces import Heading, Piece, Section, Table, Words, plain
from maps.report.plan_facts import Facts
from maps.shared import amount, apportion, digits_for

WHAT = {
    "today": "Today: all of it disposed of as now",
    "plan": "With the plan",
    "difference": "The plan against today",
}
KG_PER_T = 1000.0


def section(facts: Facts) -> Section:
    """Write the climate page."""
    totals, effects = emission_bounds(facts.result)
    middle = totals.set_index("what") / KG_PER_T
    digits = digits_for(float(middle["co2e"].abs().max()))
    rows = [
        (WHAT[name], *(amount(middle[end][name], digits) for end in ENDS))
        for name in middle.index
    ]
    pieces: list[Piece] = [
        Words([_in_short(facts, records(middle.loc[["difference"]])[0], digits)]),
        Table(
            "A year's emissions with their range [t CO2e]",
            ["What", "Middle", "Low", "High"],
            rows,
            note="For the range, each factor is moved through its published range, one "
            "at a time, and the effects are added as independent errors. Factors "
            "without a published range count as certain, so the true range is wider.",
            rows_of=["emission_range"],
        ),
        _lines(facts, digits),
        Heading("Where the range comes from"),
        Table(
            "The plan against today with one factor at an end of its range [t CO2e]",
            [
                "Factor",
                "Low end",
                "High end",
                "Result at the low end",
                "Result at the high end",
            ],
            [
                (
                    plain(row["factor"]),
                    amount(row["low"], 2),
                    amount(row["high"], 2),
                    amount(row["at_low"] / KG_PER_T, digits),
                    amount(row["at_high"] / KG_PER_T, digits),
                )
                for row in records(effects)
            ],
            rows_of=["emission_range"],
        ),
        Words(_notes(facts, digits)),
    ]
    return Section("climate", "Climate", pieces)


def _unknown(facts: Facts) -> list[str]:
    """Say how much goes a way today for which no factor is known."""
    tonnes = without_factors(facts.result)
    if tonnes.empty:
        return []
    ways = " and ".join(
        f"{traced(facts, f'disposed/{way}', said)} a year {GOES[str(way)]}"
        for way, said in (
            (way, f"{amount(value, facts.digits)} t") for way, value in tonnes.items()
        )
    )
    text = (
        f"Today {ways}. No factor is known for that, so it counts as no emission, "
        "today and in the plan."
    )
    if "sea" in tonnes:
        text += (
            " What rots in water fouls it, and dumping there is often forbidden; local "
            "law decides."
        )
    return [text]


GOES = {"left": "lie where they arise", "sea": "go into the sea, a lake or a river"}
ENDS = ("co2e", "low", "high")


def _in_short(facts: Facts, middle: Row, digits: int) -> str:
    """Say what can be said of the sign, and no more."""
    low, high = middle["low"], middle["high"]
    value = traced(facts, "gases", f"{amount(abs(middle['co2e']), digits)} t CO2e")
    value += " a year"
    ends = (
        f"between {traced(facts, 'gases_low', amount(low, digits))} and "
        f"{traced(facts, 'gases_high', amount(high, digits))} t"
    )
    word = "more" if middle["co2e"] > 0 else "less"
    if low <= 0 <= high:
        return (
            f"With the middle factors the plan emits {value} {word} than today, but "
            f"the range, {ends}, includes zero: we cannot say whether the plan is good "
            "or bad for the climate. Emissions from windrows are the least certain; "
            "well-aired windrows are said to emit less (common practice, no source)."
        )
    return f"The plan emits {value} {word} than today, {ends}."


def _lines(facts: Facts, digits: int) -> Table:
    """List both cases by line and gas; rounded to fit the totals."""
    account = emission_account(facts.result)
    sums = account.groupby(["case", "line", "gas"], sort=False)[["kg", "co2e"]].sum()
    sums = sums.sort_index(level="case", ascending=False, sort_remaining=False)
    table = sums.reset_index()
    shown = apportion(table["co2e"] / KG_PER_T, digits)
    rows = [
        (
            "Today" if row["case"] == "today" else "Plan",
            plain(row["line"]),
            row["gas"],
            amount(row["kg"] / KG_PER_T, 1),
            amount(part, digits),
        )
        for row, part in zip(records(table), shown, strict=True)
    ]
    return Table(
        "By line and gas",
        ["Case", "Line", "Gas", "Gas [t]", "As CO2e [t]"],
        rows,
        words=3,
        note="Values below zero are emissions avoided. Months are in plan.xlsx, sheet "
        "emissions.",
        rows_of=["emissions"],
    )


def _notes(facts: Facts, digits: int) -> list[str]:
    """State the GWP, and what is not counted."""
    values = values_of(facts.result.scenario.factors)
    kept = soil_carbon(facts.result) / KG_PER_T
    off = traced(facts, "factor/soil_carbon_share", "0")
    carbon = traced(facts, "soil_carbon", f"{amount(kept, digits)} t CO2")
    soil = (
        f"Carbon kept in the soil, {carbon} a year by the factor soil_carbon_share, is "
        "not in any total."
        if kept
        else f"Carbon kept in the soil is not counted (factor soil_carbon_share is "
        f"{off})."
    )
    methane, laughing = (
        traced(facts, f"factor/{name}", f"{values[name]:g}")
        for name in ("gwp_ch4", "gwp_n2o")
    )
    return [
        f"Warming over a century: CH4 {methane}, N2O {laughing} times CO2. Factors "
        "with their sources are in plan.xlsx, sheet assumptions.",
        "Counted are what is left behind, windrows, trucks and machines, less mineral "
        "nitrogen that compost replaces in the first year; the goal co2e counts the "
        "same. Building yards and making trucks are not counted.",
        f"{soil} Carbon dioxide from plants and fish is not counted, nor nitrous oxide "
        "of fields, whether they get compost or mineral nitrogen.",
        *_unknown(facts),
    ]
