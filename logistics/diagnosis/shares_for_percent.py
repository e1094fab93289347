"""Percentages that look like shares: 0.106 typed where 10.6 % is meant."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, cast

from logistics.diagnosis.finding import Finding, finding, of_row
from logistics.scenario import Problem, flat_settings, library, plain_number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from logistics.scenario import Scenario

CHECK = "share_for_percent"
FAR_BELOW, NEAR = 20.0, 5.0
"""
How far below its usual value a percentage must lie, and how near a hundredfold comes.

Judgement: contents of one feedstock differ by a factor of 2 or 3 between samples, the
slip by 100.
"""


class Least(NamedTuple):
    """The least percentage above 0 that is not doubted, and what it rests on."""

    pct: float
    source: str


PRACTICE = "common practice, no source"
WOOD = "least of the raw materials in NRAES-54, 1992, Table A.1, is wood (from memory)"
LEAST = {
    ("materials", "ash_pct"): Least(
        0.25, "typical of softwood stems is 0.3: ISO 17225-1 Table B.1, from memory"
    ),
    ("materials", "p2o5_pct"): Least(0.02, PRACTICE),
    ("materials", "k2o_pct"): Least(0.02, PRACTICE),
    ("materials", "salt_pct"): Least(0.05, PRACTICE),
    ("materials", "store_loss_pct"): Least(0.3, PRACTICE),
    ("materials", "nitrogen_pct"): Least(0.04, WOOD),
    ("policy", "share_pct"): Least(1.0, PRACTICE),
    ("accounts", "wage_pct"): Least(1.0, PRACTICE),
    ("accounts", "fuel_pct"): Least(1.0, PRACTICE),
    ("prices", "physical_pct"): Least(1.0, PRACTICE),
    ("standards", "n_low_pct"): Least(0.05, PRACTICE),
    ("standards", "p2o5_low_pct"): Least(0.05, PRACTICE),
    ("standards", "k2o_low_pct"): Least(0.05, PRACTICE),
    ("standards", "npk_low_pct"): Least(0.2, PRACTICE),
    ("settings", "finance.inflation_pct"): Least(0.3, PRACTICE),
    ("settings", "policy.most_share_pct"): Least(1.0, PRACTICE),
    ("settings", "mix.margin_pct"): Least(1.5, PRACTICE),
    ("settings", "mix.salt_high_pct"): Least(0.05, PRACTICE),
    ("settings", "mix.product_n_low_pct"): Least(0.1, PRACTICE),
    ("settings", "mix.product_p2o5_low_pct"): Least(0.05, PRACTICE),
    ("settings", "mix.product_k2o_low_pct"): Least(0.05, PRACTICE),
    ("settings", "product.n_pct"): Least(0.1, PRACTICE),
    ("settings", "product.p2o5_pct"): Least(0.05, PRACTICE),
    ("settings", "product.k2o_pct"): Least(0.05, PRACTICE),
    ("settings", "product.salt_pct"): Least(0.05, PRACTICE),
}
"""Table and column to the least percentage that is not doubted."""
WET_NITROGEN = Least(
    0.3, "of what is not woody, nothing in NRAES-54, 1992, Table A.1, has less (memory)"
)
LABORATORY = {"lab_nitrogen": "nitrogen"}
"""Columns of the laboratory, and the material's own that each stands for."""


def shares_for_percent(scenario: Scenario) -> list[Finding]:
    """
    Doubt percentages that look like shares.

    Returns
    -------
    list of Finding
        One a cell or setting.
    """
    return [*_of_tables(scenario), *_of_laboratory(scenario), *_of_settings(scenario)]


def _of_tables(scenario: Scenario) -> Iterator[Finding]:
    usual = library("materials").frame.set_index("material")
    structure = scenario.materials["structure"].tolist()
    for table, column in LEAST:
        if table == "settings":
            continue
        frame = scenario.tables[table]
        shares = frame[column.removesuffix("_pct")].tolist()
        codes = (
            frame["material"].tolist() if table == "materials" else [""] * len(frame)
        )
        for place, share in enumerate(shares):
            pct = round(share * 100, 10)
            if not 0 < pct < 1:
                continue
            known = codes[place] in usual.index
            of_kind = (
                float(cast("float", usual.loc[codes[place], column])) if known else 0.0
            )
            least = LEAST[table, column].pct
            if column == "nitrogen_pct" and not structure[place]:
                least = WET_NITROGEN.pct
            if of_kind > 0:
                doubted = 0 < pct <= of_kind / FAR_BELOW and _near(pct, of_kind)
                doubted = doubted or (pct < least and of_kind >= 2 * least)
            else:
                doubted = pct < least
            if doubted:
                said = (pct, *_words(pct))
                yield of_row(CHECK, scenario, table, place, column, said)


def _near(pct: float, usual: float) -> bool:
    return usual / NEAR <= pct * 100 <= usual * NEAR


def _of_laboratory(scenario: Scenario) -> Iterator[Finding]:
    """Doubt laboratory values a hundredth of what the material has."""
    materials, sources = scenario.materials, scenario.sources
    for column, own in LABORATORY.items():
        usual = dict(zip(materials["material"], materials[own], strict=True))
        values = zip(sources["material"], sources[column], strict=True)
        for place, (material, share) in enumerate(values):
            pct, known = round(share * 100, 10), usual.get(material, 0.0) * 100
            if 0 < pct <= known / FAR_BELOW and _near(pct, known):
                said = (pct, *_words(pct))
                yield of_row(CHECK, scenario, "sources", place, f"{column}_pct", said)


def _of_settings(scenario: Scenario) -> Iterator[Finding]:
    values = flat_settings(scenario.settings)
    for (table, name), least in LEAST.items():
        pct = values.get(name) if table == "settings" else None
        if pct is not None and 0 < pct < least.pct:
            problem = Problem("scenario.toml", None, name, pct, *_words(pct))
            yield finding(CHECK, (name,), problem)


def _words(pct: float) -> tuple[str, str]:
    meant = plain_number(round(pct * 100, 8))
    return "% is so little that a share may be meant", f"Write {meant} for {meant} %"
