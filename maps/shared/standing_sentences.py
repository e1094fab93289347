"""What a plan rests on: settings, defaults, travel basis, sources and cautions."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import pandas as pd

from logistics.composting import (
    NUTRIENTS,
    fertiliser_saving,
    first_year,
    over_rotation,
)
from logistics.diagnosis import driving_days_only
from logistics.scenario import flat_settings, is_money, records, settings_columns
from maps.shared.doubted import doubt_words
from maps.shared.figures import amount, count, enough
from maps.shared.haulage_words import rounds_words
from maps.shared.mix_words import available_words, nitrogen_words, window_words
from maps.shared.money_units import MoneyUnit

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario, Settings

NOT_LOCAL = "default, not local"
IF_BLANK = {"process.nitrogen_loss_pct": "follows each mix"}
"""What a setting left blank does, where it does not switch something off."""
HEADINGS = ["topic", "item", "value", "unit", "standing", "note"]

CAUTIONS = (
    (
        "Fish waste",
        "Spoils within hours and draws flies, rodents and birds. Mix it in and cover "
        "it on the day it comes; wear gloves and boots; wash out trucks after it.",
    ),
    (
        "Windrow heat",
        "Windrows reach 55 to 70 °C and dry, deep or badly wetted heaps can catch "
        "fire. Keep a thermometer, water and a fire break at hand.",
    ),
    (
        "Run-off",
        "Water that drains from pads carries nitrogen and germs. Keep it out of "
        "streams and wells.",
    ),
    (
        "Lifting and machinery",
        "Loaders, turners and tipping trucks kill. Keep people and machines apart; "
        "lift in pairs or by machine.",
    ),
    (
        "Siting",
        "Setbacks and land screening here are for planning. Local codes and licensed "
        "practice decide.",
    ),
)
"""Cautions that go with every plan (common practice, no source)."""


SEA = ("fish", "shell", "shrimp", "crab", "mussel", "oyster", "squid")
"""Words by which feedstock that may bring heavy metals from the sea is known."""

METALS = (
    "Heavy metals are not reckoned. Offal of fish, squid and shellfish may hold much "
    "cadmium, arsenic and mercury: have the first batches tested. EU Regulation "
    "2019/1009, Annex I, PFC 3(A), allows organic soil improvers 2 mg cadmium, 1 mg "
    "mercury, 120 mg lead and 800 mg zinc a kg of dry matter (from memory; check the "
    "text that holds for you)."
)


def metals_words(scenario: Scenario) -> list[str]:
    """Warn of heavy metals where feedstock from the sea is composted."""
    named = " ".join(scenario.tables["materials"]["name"]).lower()
    return [METALS] if any(word in named for word in SEA) else []


def settings_rows(settings: Settings, defaults: set[str]) -> pd.DataFrame:
    """
    List every setting with its value, unit and standing.

    Parameters
    ----------
    settings
        Settings of the scenario.
    defaults
        Names of settings that nobody filled in, for example ``mix.cn_low``.

    Returns
    -------
    DataFrame
        topic, item, value, unit, standing, note.
    """
    rows = []
    values = flat_settings(settings)
    scale = settings.finance.money_scale
    for name, column in settings_columns().items():
        value = values[name]
        standing = NOT_LOCAL if name in defaults else "stated by the scenario"
        if name in defaults and scale != 1 and is_money(column) and value:
            standing = f"{NOT_LOCAL}, at the money scale 1:{scale:,.15g}"
        if value is None or (value == "" and column.kind == "code"):
            value, standing = IF_BLANK.get(name, "off"), "not stated"
        rows.append(("Setting", name, value, column.unit, standing, column.meaning))
    return pd.DataFrame(rows, columns=HEADINGS)


LEAST = "Smallest share of the yearly supply to collect"


def board_demands(scenario: Scenario) -> dict[str, float]:
    """Say which share of what the board wants collected, in the order of its table."""
    found = {}
    for row in records(scenario.tables["policy"]):
        of = " ".join(x for x in (str(row["material"]), str(row["district"])) if x)
        item = f"{row['rule']} {of or 'all feedstock'}"
        found[item] = float(row["share"])
    return found


def assumptions(result: Result) -> pd.DataFrame:
    """
    Everything the plan rests on, in one table.

    Returns
    -------
    DataFrame
        topic, item, value, unit, standing, note.
    """
    scenario = result.scenario

    def rows_of(table: str, *columns: str) -> Iterator[tuple[Any, ...]]:
        wanted = [*columns, "status", "source"]
        return scenario.tables[table][wanted].itertuples(index=False)

    used = scenario.defaults_used
    defaults = set(used.loc[used["table"] == "settings", "column"].astype(str))
    cautions = [("Caution", item, "", "", "", note) for item, note in CAUTIONS]
    cautions += [
        ("Caution", "Heavy metals", "", "", "", note) for note in metals_words(scenario)
    ]
    basis = [
        ("Travel", "Distances and times", result.travel.basis, "", "", travel_note())
    ]
    basis += [
        ("Plan", "Small loads", "", "", "", words) for words in small_load_words(result)
    ]
    basis += [
        ("Supply", code, "", "", "", words)
        for code, words in driving_days_only(scenario).items()
    ]
    basis += [("Check", kind, "", "", "", said) for kind, said in doubt_words(scenario)]
    if len(result.mixes):
        basis += [
            ("Plan", "What every mix keeps", "", "", "", window_words(result)),
            ("Plan", "Available carbon", "", "", "", available_words(result)),
            ("Plan", "Nitrogen lost", "", "", "", nitrogen_words(result)),
        ]
    words = rounds_words(result, MoneyUnit(scenario.settings.currency))
    basis.append(("Plan", "How sure haulage is", "", "", "", words))
    if "coarsened" in result.summary:
        words = result.summary["coarsened"]["words"]
        basis.append(("Plan", "Coarse problem", "", "", "", words))
    materials = [
        ("Material", name or code, code, "", status, source)
        for code, name, status, source in rows_of("materials", "material", "name")
    ]
    asked = [
        ("Asked by the board", item, share * 100, "%", "stated by the scenario", LEAST)
        for item, share in board_demands(scenario).items()
    ]
    factors = [
        ("Factor", code, value, unit, status, source)
        for code, value, unit, status, source in rows_of(
            "factors", "factor", "value", "unit"
        )
    ]
    fertiliser = fertiliser_rows(result)
    head = pd.DataFrame(
        [*cautions, *basis, *asked, *fertiliser, *materials], columns=HEADINGS
    )
    tail = pd.DataFrame(factors, columns=HEADINGS)
    parts = [head, settings_rows(scenario.settings, defaults), tail]
    return pd.concat([part for part in parts if len(part)], ignore_index=True)


RICE_NEED = {"n": 100.0, "p2o5": 40.0, "k2o": 60.0}
"""Mineral fertiliser given to a crop of rice without compost (from memory). [kg/ha]"""

USUAL_RATE_T_HA = 5.0
"""Compost on rice; trials in Myanmar, Thailand and Korea used 5 to 12 (read). [t/ha]"""


def fertiliser_rows(result: Result) -> list[tuple[Any, ...]]:
    """Say what the plan's compost saves a rice farm, in the first year and later."""
    mixes = result.mixes
    if mixes.empty:
        return []
    made = mixes["product_t"]
    content = {k: float((mixes[k] * made).sum() / made.sum()) for k in NUTRIENTS}
    moisture = result.scenario.settings.process.product_moisture
    item = f"{USUAL_RATE_T_HA:g} t/ha on rice given " + "-".join(
        f"{need:g}" for need in RICE_NEED.values()
    )
    rows, factors = [], result.scenario.factors
    for when, usable in (
        ("In the first year", first_year(factors)),
        ("Applied year after year", over_rotation(factors)),
    ):
        saving = fertiliser_saving(
            USUAL_RATE_T_HA, moisture, content, RICE_NEED, usable
        )
        note = (
            f"{saving.words(when)} Village practice speaks of 30 to 40 % (common "
            "practice, no source)."
        )
        share = round(100 * saving.share, 1)
        rows.append(("Fertiliser saved", item, share, "%", NOT_LOCAL, note))
    return rows


def small_load_words(result: Result) -> list[str]:
    """Say in a sentence or two what became of small loads; nothing without any."""
    small, settings = result.plan.small_loads, result.scenario.settings
    least, load = settings.haul.least_t_per_30_days, settings.haul.least_load_t
    limits = [
        *([f"{least:g} t in 30 days between two places"] if least else []),
        *([f"{load:g} t a trip"] if load else []),
    ]
    below = " or ".join(limits)
    words = []
    if small.left_out:
        words.append(
            f"{count(small.left_out, 'small load')} of less than {below}, "
            f"{enough(small.tonnes)} t a year in total, "
            f"{'was' if small.left_out == 1 else 'were'} left out; this adds "
            f"{amount(small.cost, 2)} {settings.currency} a year to the plan's cost."
        )
    if small.kept:
        stay = "stays" if small.kept == 1 else "stay"
        words.append(
            f"{count(small.kept, 'load')} of less than {below} {stay}: without "
            f"{'it' if small.kept == 1 else 'them'} demands could not be met."
        )
    return words


def travel_note() -> str:
    """Say what the travel figures leave out."""
    return (
        "One way, by the quickest route for the truck and season. A bridge limit is "
        "compared with the truck's tare plus full payload."
    )


def defaults_used(result: Result) -> pd.DataFrame:
    """Every cell that nobody filled in and that took its default."""
    return result.scenario.defaults_used.reset_index(drop=True)
