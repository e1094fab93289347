"""Many futures on one page for a board: stress.html."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
from markupsafe import Markup

from logistics.studies import (
    MONEY,
    OPERATE,
    cost_at_risk,
    ranking,
    runs_table,
    spoiling,
    swings,
)
from maps.report import Chart, Piece, Section, Table, Words, bdi, listed, plain
from maps.shared import (
    ALL_ESTIMATED,
    MoneyUnit,
    amount,
    cell_text,
    count,
    head_text,
    net_text,
    render,
    surplus,
    united,
)
from maps.studies.stress_basis import basis_section, end_text, yards_section
from maps.studies.stress_charts import Mark, Swing, histogram, tornado
from maps.studies.stress_tables import (
    ANSWERS,
    draws_words,
    material_names,
    risk_with_units,
    stress_unit,
)

if TYPE_CHECKING:
    from logistics.studies import Stress

CHARTED, LISTED = 15, 30
TONNES = MoneyUnit("t")
"""Tonnes are shown as they are."""
NOTHING = 0.5
"""Differences below this are no difference. [money/yr]"""
CAUTION = (
    "Planning figures are not permits. A future that is cheap may still leave fish "
    "waste to rot: look at the tonnes too. Fish waste spoils within hours and draws "
    "animals; windrows run hot; run-off needs drains and a pond; lifting, machines and "
    "driving hours have rules of their own. Local codes and licensed practice decide."
)


def _summary(found: Stress, table: pd.DataFrame) -> Section:
    """Say in a few sentences what was tried and what came out."""
    unit = stress_unit(found, table)
    base = table[table["kind"] == "base"].iloc[0]
    worst = ranking(table)
    drawn = cost_at_risk(found, table)
    lines: list[str | Markup] = [
        Markup(
            "The base plan {} <strong>{} {}</strong> a year. {} were planned with its "
            "yards kept and everything else planned afresh: {} lost one at a time, {} "
            "at both ends, and {}."
        ).format(
            "leaves a surplus of" if surplus(base["cost"]) else "costs",
            unit.text(abs(base["cost"])),
            bdi(unit.name),
            count(len(found.futures) - 1, "future"),
            count(len(worst), "source, market, yard or road",
                  "sources, markets, yards and roads"),
            count(len(found.ranges), "range"),
            count(sum(f.kind == "draw" for f in found.futures), "draw"),
        )
    ]  # fmt: skip
    if len(worst):
        named = [
            Markup("{} ({})").format(bdi(r["title"]), _more(r["against_base"], unit))
            for _, r in worst.head(3).iterrows()
        ]
        lines.append(Markup("What hurts most: {}.").format(listed(named)))
    unmet = table[(table["status"] == "shortage") & (table["kind"] != "base")]
    if len(unmet):
        names = [bdi(title) for title in unmet["title"].head(6).unique()]
        lines.append(
            Markup(
                "<strong>In {} the demands cannot all be met</strong>, for example {}; "
                "the cost is then for the plan that falls least short."
            ).format(count(len(unmet), "future"), listed(names))
        )
    if len(drawn):
        cost = drawn.iloc[0]
        lines.append(
            f"{draws_words(drawn, unit)} Every draw was planned anew with the "
            "yards kept."
        )
        lines.append(
            Markup(
                "Over all draws the year {} {} {} on average; over the worst tenth the "
                "average is {}, over the worst twentieth {}."
            ).format(
                "leaves a surplus of" if surplus(cost["mean"]) else "costs",
                unit.text(abs(cost["mean"])),
                bdi(unit.name),
                net_text(cost["cvar_90"], unit),
                net_text(cost["cvar_95"], unit),
            )
        )
    return Section("summary", "In short", [Words(lines)])


def _more(value: float, unit: MoneyUnit) -> str:
    return f"+{unit.text(value)}" if value > 0 else unit.text(value)


def _losses(found: Stress, table: pd.DataFrame) -> Section:
    """Rank the losses."""
    scenario = found.scenario
    unit = stress_unit(found, table)
    worst, names = ranking(table), material_names(scenario)
    spoils = spoiling(scenario)
    told = worst[
        (worst["against_base"].abs() >= NOTHING) | (worst["status"] == "shortage")
    ]
    bars = [
        Swing(
            r["title"],
            0.0,
            r["against_base"] / unit.factor,
            "",
            _more(r["against_base"], unit),
        )
        for _, r in told.head(CHARTED).iterrows()
    ]
    heads = ["What happens", f"against the base [{unit.name}/yr]"]
    heads += [f"{names[m]} left, more than in the base [t/yr]" for m in spoils]
    heads += ["collected [t/yr]", "note"]
    rows = [
        (
            bdi(r["title"]),
            _more(r["against_base"], unit),
            *(_more(round(r[f"more_left_{m}"]), TONNES) for m in spoils),
            amount(r["collected"]),
            _note(r, unit),
        )
        for _, r in told.head(LISTED).iterrows()
    ]
    saves = int((told["against_base"] < 0).sum())
    note = "All losses are in stress.xlsx, sheet what hurts most. "
    idle = len(worst) - len(told)
    if idle:
        note += f"{count(idle, 'loss', 'losses')} would change nothing. "
    if saves:
        note += (
            f"{count(saves, 'loss', 'losses')} would lower the net cost: losing a "
            "source also saves the cost of fetching or disposing of its feedstock. "
        )
    note += "The annuity on a lost yard's works and machines is still counted."
    pieces: list[Piece] = []
    if bars:
        drawing = tornado(
            "loss",
            "What hurts most",
            f"{len(bars)} losses, worst first: {bars[0].name} costs "
            f"{amount(bars[0].high, unit.digits)} more than the base",
            bars,
            f"{unit.name} a year against the base",
        )
        caption = "Net cost of a year compared with the base plan"
        pieces.append(Chart(caption, drawing, rows_of=["what hurts most"]))
    table_ = Table(
        *("Losses, worst first", heads, rows),
        note=note,
        kind="wide",
        rows_of=["what hurts most"],
    )
    pieces.append(table_)
    return Section("losses", "What hurts most", pieces)


def _note(row: pd.Series, unit: MoneyUnit) -> str:
    """Say what is special of a future."""
    if row["status"] == "shortage":
        return "demands cannot be met"
    if row["still_owed"] > 0:
        return f"{unit.text(row['still_owed'])} of it still owed"
    return ""


def _ranges(found: Stress, table: pd.DataFrame) -> Section | None:
    """Show what each range does at its ends."""
    swing = swings(found, table)
    if swing.empty:
        return None
    unit = stress_unit(found, table)
    bars = [
        Swing(
            r["name"],
            r["cost_low"] / unit.factor,
            r["cost_high"] / unit.factor,
            end_text(r["low"]),
            end_text(r["high"]),
        )
        for _, r in swing.iterrows()
    ]
    drawing = tornado(
        "range",
        "Effect of each range",
        f"{len(bars)} ranges, widest first: {bars[0].name}",
        bars,
        f"{unit.name} a year against the base",
    )
    rows = [
        (
            bdi(r["name"]),
            end_text(r["low"]),
            end_text(r["high"]),
            _more(r["cost_low"], unit),
            _more(r["cost_high"], unit),
        )
        for _, r in swing.iterrows()
    ]
    heads = ["Range", "low end", "high end", f"cost at the low end [{unit.name}/yr]"]
    heads.append(f"cost at the high end [{unit.name}/yr]")
    note = (
        "One range at a time: all its numbers move together to one end, and everything "
        "else stays as in the base. Figures are differences from the base. More "
        "feedstock can cost more, because what the yards cannot take is disposed of as "
        "today."
    )
    pieces: list[Piece] = [
        Chart(
            "Each range at its low and high ends (numbers on the bars)",
            drawing,
            rows_of=["ranges at their ends"],
        ),
        Table(
            *("Ranges, widest first", heads, rows),
            note=note,
            kind="wide",
            rows_of=["ranges at their ends"],
        ),
    ]
    return Section("ranges", "Effect of each range", pieces, fresh_page=True)


def _draws(found: Stress, table: pd.DataFrame) -> Section | None:
    """Show the distribution over the draws."""
    drawn = table[(table["kind"] == "draw") & (table["answer"] == OPERATE)]
    if drawn.empty:
        return None
    money = stress_unit(found, table)
    names = material_names(found.scenario)
    pieces: list[Piece] = []
    for number, (_, row) in enumerate(cost_at_risk(found, table).iterrows()):
        if row["measure"] in MONEY[1:]:
            continue  # in the table below
        code = row["measure"].removeprefix("left_")
        cost = code == "cost"
        unit = f"{money.name} a year" if cost else "t a year"
        factor = money.factor if cost else 1.0
        what = "Net cost" if cost else f"{plain(names[code])} left uncollected"
        marks = [
            Mark("base plan", row["base"] / factor),
            Mark("mean", row["mean"] / factor),
            Mark("mean of the worst 10 %", row["cvar_90"] / factor),
            Mark("mean of the worst 5 %", row["cvar_95"] / factor),
        ]
        drawing = histogram(
            f"draw{number}",
            what,
            f"{len(drawn)} draws, most {united(row['most'] / factor, unit)}",
            (drawn[row["measure"]] / factor).tolist(),
            marks,
            unit,
        )
        caption = f"{what}: {len(drawn)} draws"
        pieces.append(Chart(caption, drawing, rows_of=["futures"]))
    for answer, words in ANSWERS.items():
        shown = risk_with_units(found, table, answer)
        if not shown.empty:
            sheet = "draws" if answer == OPERATE else "draws re-planned"
            pieces.append(_risk_table(shown, words, money, sheet))
    return Section("draws", "Results of the draws", pieces, fresh_page=True)


def _risk_table(shown: pd.DataFrame, words: str, unit: MoneyUnit, sheet: str) -> Table:
    """Set the distribution, a measure a row."""
    columns = [c for c in shown.columns if c not in {"measure", "draws", "deviation"}]
    rows = [
        (
            bdi(head_text(row["measure"], unit)),
            *(
                amount(row[c])
                if c.startswith("draws")
                else cell_text(row["measure"], row[c], unit)
                for c in columns
            ),
        )
        for _, row in shown.iterrows()
    ]
    note = (
        "All draws count equally. The mean of the worst 10 % (conditional value at "
        "risk, CVaR) is what a bad year costs on average; after Rockafellar and "
        "Uryasev, Journal of Risk 2(3), 2000."
    )
    caption = f"Over {int(shown['draws'].iloc[0])} draws, {words}"
    heads = ["Measure", *columns]
    return Table(caption, heads, rows, note=note, kind="wide", rows_of=[sheet])


def sections(found: Stress) -> list[Section]:
    """Write every section in order."""
    table = runs_table(found)
    made = [
        _summary(found, table),
        _losses(found, table),
        _ranges(found, table),
        _draws(found, table),
        yards_section(found),
        basis_section(found),
    ]
    return [section for section in made if section is not None]


def stress_html(found: Stress) -> str:
    """Make the page: one file, no scripts, nothing loaded."""
    settings = found.scenario.settings
    return render(
        "stress.html.j2",
        name=plain(settings.name),
        story=plain(settings.story),
        sections=sections(found),
        caution=f"{ALL_ESTIMATED} {CAUTION}",
    )
