"""Faults that show only when cells or tables are seen together."""

from collections.abc import Callable, Mapping, Sequence
from math import isnan

from logistics.scenario.cells import Cells
from logistics.scenario.code_checks import (
    check_district_names,
    check_districts,
    check_keys,
    check_references,
    check_setting_codes,
)
from logistics.scenario.coordinates import (
    check_across,
    check_points,
    check_rules,
    check_shapes,
)
from logistics.scenario.faults import Problem
from logistics.scenario.schema import columns_of, number_text
from logistics.scenario.seasons import check_periods, check_profiles
from logistics.scenario.table_set import Tables
from logistics.scenario.work_calendar import check_work_calendar

BASIS_NEEDS: dict[str, dict[str, tuple[str, ...]]] = {
    "sources": {
        "processed": ("waste_pct",),
        "cropped": ("yield_t_ha", "residue_ratio"),
        "animals": ("kg_per_head_day",),
    },
    "markets": {"area": ("rate_t_ha",)},
}
YEAR_DIGITS = 4
CARBON_SHARE = 1.8  # organic matter over carbon, handbook rule (from memory)


def check_links(tables: Tables) -> list[Problem]:
    """Run every check of the list CHECKS; all faults together."""
    return [problem for check in CHECKS for problem in check(tables)]


def check_rows(tables: Tables) -> list[Problem]:
    """Find tables without rows that a plan cannot do without."""
    problems = []
    for table in ("materials", "sources", "calendar", "yards", "yard_sizes", "trucks"):
        cells = tables.cells.get(table)
        if cells is not None and not cells.rows:
            remedy = "Write at least one row under the headings"
            problems.append(Problem(cells.file, None, "", None, "has no rows", remedy))
    return problems


def check_basis(tables: Tables) -> list[Problem]:
    """Find rows whose basis needs a column that is blank, or has no use for it."""
    problems = []
    for table, needs in BASIS_NEEDS.items():
        cells = tables.cells.get(table)
        if cells is None:
            continue
        bases = cells.frame["basis"].tolist()
        wanted = {name for names in needs.values() for name in names}
        numbers = {name: cells.frame[name].tolist() for name in wanted}
        for position in cells.good("basis"):
            for name in needs.get(bases[position], ()):
                blank = isnan(numbers[name][position])
                if blank and (position, name) not in cells.bad:
                    unit = {c.name: c.unit for c in columns_of(table)}[name]
                    why = f"is blank, but basis {bases[position]} needs it"
                    problems.append(
                        cells.problem(position, name, why, f"Write a number [{unit}]")
                    )
        problems += _figures_of_no_use(cells, needs)
    markets = tables.cells.get("markets")
    return problems + (_limits_without_area(markets) if markets else [])


def _figures_of_no_use(
    cells: Cells, needs: Mapping[str, tuple[str, ...]]
) -> list[Problem]:
    """Find figures that the basis does not use; a forgotten basis leaves them over."""
    problems = []
    bases = cells.frame["basis"].tolist()
    for wanted, names in needs.items():
        for name in names:
            values = cells.frame[name].tolist()
            for position in cells.good(name, "basis"):
                if bases[position] != wanted and not isnan(values[position]):
                    why = f"is not used if the basis is {bases[position]}"
                    remedy = f"Set basis to {wanted}, or leave this cell blank"
                    value = values[position]
                    problems.append(cells.problem(position, name, why, remedy, value))
    return problems


def _limits_without_area(markets: Cells) -> list[Problem]:
    problems = []
    for name in (f"{key}_limit_kg_ha" for key in ("n", "p2o5", "k2o", "salt")):
        values = markets.frame[name].tolist()
        bases = markets.frame["basis"].tolist()
        for position in markets.good(name, "basis"):
            if not isnan(values[position]) and bases[position] != "area":
                why = "is a limit per hectare, but the basis is not area"
                remedy = (
                    "Set basis to area and give amount in ha, or leave this cell blank"
                )
                value = values[position]
                problems.append(markets.problem(position, name, why, remedy, value))
    return problems


def check_carbon(tables: Tables) -> list[Problem]:
    """Find more carbon than the organic matter can hold, and materials all water."""
    materials, sources = tables.cells.get("materials"), tables.cells.get("sources")
    if materials is None:
        return []
    frame = materials.frame
    carbon, moisture = frame["carbon_pct"].tolist(), frame["moisture_pct"].tolist()
    ashes = frame["ash_pct"].fillna(0.0).tolist()
    ash = dict(zip(frame["material"], ashes, strict=True))
    problems = []
    for position in materials.good("carbon_pct", "ash_pct"):
        value, own = carbon[position], ashes[position]
        problems += _too_much_carbon(materials, position, "carbon_pct", value, own)
    for position in materials.good("moisture_pct"):
        value = moisture[position]
        if value >= 100:
            why, remedy = "leaves no dry matter", "Write the moisture of the material"
            problems.append(
                materials.problem(position, "moisture_pct", why, remedy, value)
            )
    if sources is not None:
        values = sources.frame["lab_carbon_pct"].tolist()
        codes = sources.frame["material"].tolist()
        for position in sources.good("lab_carbon_pct", "material"):
            own = ash.get(codes[position], 0.0)
            value = values[position]
            name = "lab_carbon_pct"
            problems += _too_much_carbon(sources, position, name, value, own)
    return problems


def _too_much_carbon(
    cells: Cells, position: int, name: str, carbon: float, ash: float
) -> list[Problem]:
    most = (100 - ash) / CARBON_SHARE
    if not carbon > most + 1e-9:
        return []
    why = f"is too much carbon with {number_text(ash)} % ash"
    remedy = f"Write at most {most:.1f}, or correct ash_pct"
    return [cells.problem(position, name, why, remedy, carbon)]


def check_yards(tables: Tables) -> list[Problem]:
    """Find built sizes larger than their site, and sites too small for any size."""
    yards, sizes = tables.cells.get("yards"), tables.cells.get("yard_sizes")
    if yards is None or sizes is None or not sizes.rows:
        return []
    whole = sizes.good("size", "site_m2")
    codes, sites = sizes.frame["size"].tolist(), sizes.frame["site_m2"].tolist()
    room = {codes[p]: sites[p] for p in whole}
    complete = len(whole) == len(sizes.rows)
    problems = []
    areas = yards.frame["area_m2"].tolist()
    existing = yards.frame["existing_size"].tolist()
    for position in yards.good("area_m2", "existing_size"):
        area, built = areas[position], existing[position]
        if built in room and room[built] > area:
            why = f"is too small for {built}, which takes {number_text(room[built])} m2"
            remedy = "Correct area_m2, or existing_size"
            problems.append(yards.problem(position, "area_m2", why, remedy, area))
        elif not built and complete and min(room.values()) > area:
            least = number_text(min(room.values()))
            why = "is too small for any yard size"
            remedy = f"Write at least {least}, add a smaller size, or delete the yard"
            problems.append(yards.problem(position, "area_m2", why, remedy, area))
    return problems


def check_trucks(tables: Tables) -> list[Problem]:
    """Find feedstock that no truck may carry, and fleets of no truck at all."""
    trucks, sources = tables.cells.get("trucks"), tables.cells.get("sources")
    if trucks is None or not trucks.rows:
        return []
    lists = trucks.frame["carries"].tolist()
    if any(name == "carries" for _, name in trucks.bad):
        return []
    carried = {word for words in lists for word in words}
    problems = []
    if sources is not None and "all" not in carried:
        values = sources.frame["material"].tolist()
        for position in sources.good("material"):
            if values[position] not in carried:
                why = "is carried by no truck"
                remedy = f"Add it to carries in {trucks.file}"
                value = values[position]
                problems.append(
                    sources.problem(position, "material", why, remedy, value)
                )
    markets = tables.cells.get("markets")
    if markets is not None and markets.rows and not carried & {"all", "compost"}:
        why, remedy = "lets no truck carry compost", "Add the word compost to carries"
        problems.append(Problem(trucks.file, None, "carries", None, why, remedy))
    good = trucks.good("owned", "hire_limit")
    number = trucks.frame["owned"].fillna(0) + trucks.frame["hire_limit"].fillna(1)
    if len(good) == len(trucks.rows) and not number.any():
        why = "has no truck that is owned or can be hired"
        remedy = (
            "Write the number of trucks you own in owned, or leave hire_limit blank"
        )
        problems.append(Problem(trucks.file, None, "owned", None, why, remedy))
    return problems


def check_places(tables: Tables) -> list[Problem]:
    """Find points and shapes that do not lie in the district."""
    pointed = ("sources", "yards", "markets", "people", "places")
    points = {t: tables.cells[t] for t in pointed if t in tables.cells}
    problems = check_across(points, tables.box)
    for cells in points.values():
        problems += check_points(cells, tables.box)
    for table, kind in (("roads", "line"), ("land", "shape")):
        if table in tables.cells and tables.cells[table].rows:
            problems += check_shapes(tables.cells[table], kind, tables.box)
    return problems


def check_siting(tables: Tables) -> list[Problem]:
    """Find rules of the land screening that lack a value or cannot be measured."""
    rules = tables.cells.get("siting_rules")
    return check_rules(rules) if rules else []


def check_calendar(tables: Tables) -> list[Problem]:
    """Find season profiles and periods that do not make up a year."""
    problems: list[Problem] = []
    if "periods" in tables.cells:
        problems += check_periods(tables.cells["periods"])
    if "calendar" in tables.cells:
        problems += check_profiles(tables.cells["calendar"], tables.periods)
    return problems


def check_period_prices(tables: Tables) -> list[Problem]:
    """Find prices of periods that are of no market and no source, or of both."""
    cells = tables.cells.get("period_prices")
    if cells is None:
        return []
    markets, sources = (cells.frame[c].tolist() for c in ("market", "source"))
    problems = []
    for position in cells.good("market", "source"):
        if bool(markets[position]) == bool(sources[position]):
            both = bool(markets[position])
            why = (
                "is given, but so is a source" if both else "is blank, and so is source"
            )
            remedy = "Name either a market (compost) or a source (feedstock)"
            value = markets[position] or None
            problems.append(cells.problem(position, "market", why, remedy, value))
    return problems


def check_years(tables: Tables) -> list[Problem]:
    """Find years ahead that are none, or do not follow one another."""
    cells = tables.cells.get("years")
    if cells is None:
        return []
    problems, before = list[Problem](), None
    texts = cells.frame["year"].tolist()
    for position in cells.good("year"):
        text = texts[position]
        if not (len(text) == YEAR_DIGITS and text.isascii() and text.isdigit()):
            why, remedy = "is not a year", "Write four digits, such as 2027"
            problems.append(cells.problem(position, "year", why, remedy, text))
            continue
        if before is not None and int(text) != before + 1:
            why = f"does not follow {before}"
            remedy = "Give every year a row, one after the other"
            problems.append(cells.problem(position, "year", why, remedy, text))
        before = int(text)
    return problems


CHECKS: Sequence[Callable[[Tables], list[Problem]]] = (
    check_rows,
    check_keys,
    check_references,
    check_setting_codes,
    check_districts,
    check_district_names,
    check_basis,
    check_carbon,
    check_yards,
    check_trucks,
    check_places,
    check_siting,
    check_calendar,
    check_period_prices,
    check_work_calendar,
    check_years,
)
