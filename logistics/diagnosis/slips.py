"""What may be a slip in the tables and settings, though a plan can be made."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

import numpy as np

from logistics.composting import feedstocks
from logistics.diagnosis.finding import finding
from logistics.diagnosis.outliers import outliers
from logistics.scenario import (
    Problem,
    choose_from,
    clear_number,
    columns_of,
    decimal_sign_of,
    in_list,
    keys_of,
    library,
    read_tables,
    records,
    scaled,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from logistics.diagnosis.finding import Finding
    from logistics.scenario import Column, RawTable, Scenario

DAY_H = 24.0
MOST_FEES = 3
"""Sources with dear fees that are named one by one."""


LIKE_THOUSANDS = re.compile(r"[1-9]\d{0,2}\.\d{3}")
"""As 7.500 is written: seven and a half, or seven thousand five hundred."""


def cautions(scenario: Scenario) -> list[Problem]:
    """List what a planner should know of, and cannot accept away."""
    found = [*prices_not_stated(scenario), *headings_of_nothing(scenario)]
    found += shares_not_counted(scenario)
    if scenario.path is not None:
        scale = scenario.settings.finance.money_scale
        found += decimal_commas(read_tables(scenario.path).raw.values(), scale)
    return found


def doubted_figures(scenario: Scenario) -> list[Finding]:
    """Doubt dear fees, and figures of the files whose separator may be misread."""
    dear = tuple(_dear(scenario)["source"].astype(str))
    found = [finding("dear_fee", dear, problem) for problem in dear_fees(scenario)]
    found += [
        finding("dear_fee", ("years",), one) for one in dear_fees_by_year(scenario)
    ]
    if scenario.path is None:
        return found
    scale = scenario.settings.finance.money_scale
    tables = read_tables(scenario.path)
    for note in tables.notes:
        found.append(finding(note.check, (note.problem.file,), note.problem))
    for raw in tables.raw.values():
        doubted = doubtful_numbers(raw, scale)
        said = {(p.row, p.column) for p in doubted}
        far = [p for p in outliers(raw) if (p.row, p.column) not in said]
        for check, problems in (("point_or_thousands", doubted), ("far_off", far)):
            found += [finding(check, _codes(raw, p), p) for p in problems]
    return found


def _codes(raw: RawTable, problem: Problem) -> tuple[str, ...]:
    """Return the code of the row that a finding on a table of texts is about."""
    keys = raw.cells.get(next(iter(keys_of(raw.table)), ""))
    if keys is None or problem.row not in raw.rows:
        return (raw.table,)
    return (keys[raw.rows.index(problem.row)],)


def shares_not_counted(scenario: Scenario) -> list[Problem]:
    """Say once that a stated share of available carbon leaves the window as it is."""
    used = scenario.defaults_used
    column = used["column"].astype(str)
    if not ((used["table"] == "settings") & (column == "mix.cn_basis")).any():
        return []
    filled = (used["table"] == "materials") & (column == "available_carbon_pct")
    table = scenario.materials
    stated = ~table["material"].isin(used.loc[filled, "key"].astype(str))
    below = np.flatnonzero(stated & (table["available_carbon"] < 1))
    if not len(below):
        return []
    value = float(table["available_carbon"].iloc[below[0]]) * 100
    why = "is shown and sets the nitrogen lost, but the window of C:N counts all carbon"
    how = "Write mix.cn_basis = available to count this share, or total if not"
    place = ("materials.csv", int(below[0]) + 2, "available_carbon_pct")
    return [Problem(*place, f"{value:,.15g}", why, how)]


def decimal_commas(tables: Iterable[RawTable], scale: float = 1.0) -> list[Problem]:
    """Say once, with an example, that numbers with decimal commas were read as such."""
    seen = []
    for raw in tables:
        if decimal_sign_of(raw, scale) != ",":
            continue
        seen += [
            (float(text[-1]) == 0, raw.file, raw.rows[n], column.name, text)
            for column in columns_of(raw.table)
            if column.kind in ("number", "integer", "percent")
            for n, text in enumerate(raw.cells.get(column.name, []))
            if "," in text and not math.isnan(clear_number(text))
        ]
    if not seen:
        return []
    _, file, row, column, text = min(seen, key=lambda example: example[0])
    files = dict.fromkeys(example[1] for example in seen)
    also = "".join(f", {other}" for other in files if other != file)
    why = f"has a decimal comma and is read as {clear_number(text):.15g}"
    what = f"Check that the numbers are right in {file}{also}"
    return [Problem(file, row, column, text, why, what)]


def headings_of_nothing(scenario: Scenario) -> list[Problem]:
    """Warn of rows of the chart of accounts that no line of the ledger falls under."""
    lines = library("accounts").frame["entry"].tolist()
    own = scenario.accounts["entry"].tolist()
    why = "is not a line of the ledger, so no money falls under its heading"
    return [
        Problem("accounts.csv", None, "entry", entry, why, choose_from(entry, lines))
        for entry in own
        if entry not in lines
    ]


def _dear(scenario: Scenario) -> pd.DataFrame:
    sources = scenario.sources
    return sources[sources["tipping_fee_per_t"] > sources["disposal_cost_per_t"]]


def dear_fees(scenario: Scenario) -> list[Problem]:
    """Warn of sources that would pay more in fees than disposal costs them today."""
    dear = _dear(scenario)
    if dear.empty:
        return []
    named = [
        f"{row['source']} {row['tipping_fee_per_t']:,.15g} "
        f"(today {row['disposal_cost_per_t']:,.15g})"
        for row in records(dear.head(MOST_FEES))
    ]
    if len(dear) > MOST_FEES:
        named.append(f"{len(dear) - MOST_FEES} more")
    why = "above what disposal costs the source today, which is then worse off"
    verb = "is" if len(dear) == 1 else "are"
    what = "Lower the fee, state disposal_cost_per_t, or make sure that it must be paid"
    place = ("sources.csv", None, "tipping_fee_per_t", in_list(named))
    return [Problem(*place, f"{verb} {why}", what)]


def dear_fees_by_year(scenario: Scenario) -> list[Problem]:
    """Warn of years whose fee is more than disposal costs some source today."""
    today, found = scenario.sources["disposal_cost_per_t"], list[Problem]()
    what = "Lower the fee, or ask it of some sources with the change set_fee"
    for row, year in enumerate(records(scenario.table("years")), start=2):
        fee = float(year["tipping_fee_per_t"])
        dear = int((today < fee).sum())
        if dear:
            why = (
                f"is above what disposal costs today at {dear} of {len(today)} sources"
            )
            place = ("years.csv", row, "tipping_fee_per_t", f"{fee:.15g}")
            found.append(Problem(*place, why, what))
    return found


def prices_not_stated(scenario: Scenario) -> list[Problem]:
    """Warn of prices guessed from the currency's scale that a result rests on."""
    scale = scenario.settings.finance.money_scale
    used = scenario.defaults_used
    if scale == 1:
        return []
    told = f"is a default at the money scale 1:{scale:,.15g}, not a local price"
    found = []
    fuel = "finance.fuel_price_per_l"
    if fuel in used.loc[used["table"] == "settings", "column"].tolist():
        price = scenario.settings.finance.fuel_price_per_l
        place = ("scenario.toml", None, fuel, price)
        found.append(Problem(*place, told, "Give the local price of diesel"))
    markets = scenario.markets
    fed = markets[(markets["basis"] == "area") & (markets["amount"] > 0)]
    if not set(fed["crop"]) & set(scenario.crops["crop"]):
        return found
    guessed = set(used.loc[used["table"] == "fertilisers", "key"].tolist())
    rows = [r for r in records(scenario.fertilisers) if r["nutrient"] in guessed]
    if rows:
        prices = in_list(f"{r['name']} {r['price_per_kg']:,.15g}" for r in rows)
        told = told.replace("is a default", "are defaults").replace(
            "not a local price", "not local prices"
        )
        what = "Give the local prices in the table fertilisers"
        where = ("fertilisers.csv", None, "price_per_kg")
        found.append(Problem(*where, prices, told, what))
    return found


def doubtful_numbers(raw: RawTable, scale: float = 1.0) -> list[Problem]:
    """
    Warn of numbers whose point may separate thousands, as in 7.500.

    A cell is doubted where three figures follow its only point, the number without
    the point is allowed too, and lies nearer to the column's other numbers. In a column
    without others a cell is doubted where its last figure is a zero, which decimals
    seldom carry, and all cells where there are two or more: said once for all.
    """
    found = []
    for column in (scaled(one, scale) for one in columns_of(raw.table)):
        texts = raw.cells.get(column.name, [])
        if column.kind not in ("number", "integer", "percent"):
            continue
        doubted = [n for n, text in enumerate(texts) if LIKE_THOUSANDS.fullmatch(text)]
        others = [clear_number(x) for n, x in enumerate(texts) if n not in doubted]
        known = [value for value in others if value > 0]
        if not known and len(doubted) > 1:
            found += _whole_column(raw, column, doubted)
            continue
        for n in doubted:
            if _likely_thousands(texts[n], known, column):
                whole = texts[n].replace(".", "")
                why = f"is read as {float(texts[n]):g}, but may mean {whole}"
                small = f"{float(texts[n]):g}"
                what = f"Write {whole} if you mean thousands, otherwise {small}"
                place = (raw.file, raw.rows[n], column.name, texts[n])
                found.append(Problem(*place, why, what))
    return found


def _whole_column(raw: RawTable, column: Column, doubted: list[int]) -> list[Problem]:
    """Doubt a column in which every number has a point before three figures."""
    texts = [raw.cells[column.name][n] for n in doubted]
    most = max(float(text) for text in texts) * 1000
    if column.high is not None and most > column.high:
        return []
    whole, small = texts[0].replace(".", ""), f"{float(texts[0]):g}"
    why = f"is read as {small}, as are all {len(doubted)} numbers of the column with "
    why += f"a point before three figures, but may mean {whole}"
    what = f"Write {whole} and so on if you mean thousands, otherwise {small}"
    place = (raw.file, raw.rows[doubted[0]], column.name, texts[0])
    return [Problem(*place, why, what)]


def _likely_thousands(text: str, known: list[float], column: Column) -> bool:
    value = float(text)
    if column.high is not None and value * 1000 > column.high:
        return False
    if not known:
        return text.endswith("0")
    usual = sorted(known)[len(known) // 2]
    return value * math.sqrt(1000) < usual


def driving_days_only(scenario: Scenario) -> dict[str, str]:
    """
    Say which feedstock cannot wait over a day on which no truck drives.

    Returns
    -------
    dict
        Material to what is assumed of it; empty where trucks drive every day.
    """
    days = float(scenario.periods["days"].sum())
    work = float(scenario.periods["working_days"].sum())
    if days - work < 0.5:
        return {}
    found = {}
    for row in records(feedstocks(scenario)):
        keep = float(row["keep_hours"])
        if keep < 2 * DAY_H:
            found[str(row["material"])] = (
                f"keeps {keep:g} h; all of it is taken to arise on the {work:.0f} days "
                f"of {days:.0f} on which trucks drive"
            )
    return found
