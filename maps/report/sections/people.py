"""Report, people: who lives near yards and busy roads, and how evenly a plan lies."""

from __future__ import annotations

import math

from markupsafe import Markup

from logistics.accounts import YEAR, exposed_places, exposure_table
from logistics.scenario import records
from maps.report.origins import stated, traced
from maps.report.pieces import (
    Heading,
    Piece,
    Section,
    Table,
    Words,
    bdi,
    plain,
)
from maps.report.plan_facts import Facts
from maps.shared import amount, names
from maps.tables import by_district, fairness

MOST_PLACES = 10
NO_STUDY = (
    "This is a planning measure: people counted by distance. It is no study of odour, "
    "dust or noise, which depend on wind, ground, weather and how a yard is run. Local "
    "codes and a licensed assessor decide."
)
HOW = (
    "Weighted heads count in full at the edge of the nearest open yard, evenly less "
    "down to nothing at the last distance (a convention, no law of odour). The Gini "
    "index is nothing where all are equal, near one where one has all. The worst "
    "tenth is the tenth of the tonnes with the longest ways, or the dearest haulage."
)


def section(facts: Facts) -> Section:
    """Write who is near, and how distances lie."""
    pieces: list[Piece] = []
    table = exposure_table(facts.result)
    if table.empty:
        text = (
            "We cannot say who lives near the yards: the table people is empty, and no "
            "village of the table land says how many live there."
        )
        pieces.append(Words([text]))
    else:
        pieces += [Words([_in_short(facts), NO_STUDY]), _months(facts)]
        pieces += _places(facts)
    pieces += [Heading("How evenly it lies"), *_evenly(facts), Words([HOW])]
    return Section("people", "Who lives near, who is far", pieces)


def _in_short(facts: Facts) -> Markup:
    """Count the people of the year."""
    near = facts.result.scenario.settings.people
    year = exposure_table(facts.result).set_index("period").loc[YEAR]

    def heads(code: str) -> str:
        return traced(facts, f"people_{code}", amount(year[code]))

    metres = {
        code: stated(facts, f"people.{code}_m", getattr(near, f"{code}_m"))
        for code in ("near", "middle", "far", "road")
    }
    every = exposed_places(facts.result)["heads"].sum()
    text = Markup(
        f"Of {traced(facts, 'people', amount(every))} people in the tables, "
        f"{heads('near')} live within {metres['near']} m of an open yard, "
        f"{heads('middle')} within {metres['middle']} m and {heads('far')} within "
        f"{metres['far']} m; weighted by distance that is {heads('weighted')}."
    )
    if year["worst"]:
        text += Markup(" Most of this weight lies on {}.").format(bdi(year["worst"]))
    if facts.result.travel.driven is None:
        return text + " Without roads in the tables, nobody can be counted beside them."
    trucks = stated(facts, "people.trucks_per_day", near.trucks_per_day)
    return text + (
        f" Within {metres['road']} m of a road with {trucks} or more trucks on a "
        f"working day in some {facts.word} live {heads('road')}."
    )


def _months(facts: Facts) -> Table:
    """List the people by period."""
    table = exposure_table(facts.result)
    near = facts.result.scenario.settings.people
    rows = [
        (
            plain(facts.period_name.get(str(row["period"]), str(row["period"]))),
            *(
                amount(row[code])
                for code in ("near", "middle", "far", "weighted", "road")
            ),
        )
        for row in records(table[table["period"] != YEAR])
    ]
    heads = [f"{x:g} m" for x in (near.near_m, near.middle_m, near.far_m)]
    return Table(
        "People near yards at work, and near busy roads [heads]",
        [facts.word.capitalize(), *heads, "Weighted", "Busy road"],
        rows,
        rows_of=["exposure"],
    )


def _places(facts: Facts) -> list[Piece]:
    """List the places with most people by weight."""
    table = exposed_places(facts.result)
    table = table.assign(by=table["heads"].astype(float) * table["weight"])
    table = table[table["by"] > 0].sort_values("by", ascending=False, kind="stable")
    label = names(facts.result, "yard")
    rows = [
        (
            bdi(row["name"] or row["place"]),
            bdi(label[str(row["yard"])]),
            amount(row["heads"]),
            amount(row["metres"]),
            amount(row["by"]),
            amount(row["passes"], 1),
        )
        for row in records(table.head(MOST_PLACES))
    ]
    if not rows:
        return []
    heads = [
        *("Place", "Nearest yard", "People [heads]", "Distance [m]"),
        *("Weighted [heads]", "Trucks [1/day]"),
    ]
    return [
        Table(
            "Places nearest to the yards",
            heads,
            rows,
            words=2,
            note="Trucks: on the busiest road near, in the busiest "
            f"{facts.word}. Every place is in plan.xlsx, sheet people.",
            rows_of=["people"],
        )
    ]


def _evenly(facts: Facts) -> list[Piece]:
    """Lay out Gini, worst tenth and greatest; and the same by district."""
    whole, area = fairness(facts.result), by_district(facts.result)
    pieces: list[Piece] = []
    money = plain(facts.currency)
    if len(whole):
        unit = "[unit beside it]"
        columns = (
            f"mean by tonnes {unit}",
            f"mean of the worst tenth {unit}",
            f"greatest {unit}",
        )
        rows = [
            (
                plain(row["of whom"]),
                *(_number(row[column], 1) for column in columns),
                _number(row["Gini index [1]"], 2),
                bdi(row["greatest is at"]),
            )
            for row in records(whole)
        ]
        heads = ["Of whom", "Mean", "Worst tenth", "Greatest", "Gini", "Greatest at"]
        pieces.append(
            Table(
                f"How evenly distances [km] and haulage [{money}/t] lie",
                heads,
                rows,
                rows_of=["fairness"],
            )
        )
    if len(area) > 1:
        numbers = [head for head in area.columns if head != "district"]
        counts = ("farms [1]", "sources [1]")
        rows = [
            (
                bdi(row["district"] or "no district"),
                *(_number(row[h], 0 if h in counts else 1) for h in numbers),
            )
            for row in records(area)
        ]
        heads = ["District", *(plain(h[0].upper() + h[1:]) for h in numbers)]
        pieces.append(
            Table(
                f"Distances [km] and haulage [{money}/t] by district",
                heads,
                rows,
                rows_of=["distances"],
            )
        )
    return pieces


def _number(value: object, digits: int) -> str:
    """Write a number; a dash where there is none."""
    number = float(str(value))
    return "–" if math.isnan(number) else amount(number, digits)
