"""Report, product standards: which the compost keeps as the plan makes it."""

from __future__ import annotations

import re

from markupsafe import Markup

from logistics.accounts import standards_met
from logistics.scenario import records
from maps.report.origins import counted, quoted
from maps.report.pieces import Cell, Heading, Piece, Table, Words, bdi, listed, plain
from maps.report.plan_facts import Facts
from maps.shared import count, metals_words

HELPS = {
    "C:N at most": "a lower C:N of the mixes (mix.cn_low), or feedstock that rots "
    "further",
    "C:N at least": "a higher C:N of the mixes",
    "moisture": "drying the compost (process.product_moisture_pct)",
    "organic C": "feedstock with more carbon",
    "N at least": "feedstock richer in nitrogen",
    "P2O5": "feedstock richer in phosphate",
    "K2O": "feedstock richer in potash",
    "N + P2O5 + K2O": "feedstock richer in nutrients",
}
"""What helps against a limit that charges miss, by how the limit begins."""


def standards(facts: Facts) -> list[Piece]:
    """Say which product standards the compost keeps, and what would help."""
    table = standards_met(facts.result)
    if table.empty:
        return []
    rows = [
        (
            plain(row["name"]),
            f"{row['met']:,} of {row['charges']:,}",
            plain(row["missed"]) or "–",
        )
        for row in records(table)
    ]
    compared = Table(
        "Charges of compost that keep a product standard, in the limits a plan can "
        "reckon",
        ["Standard", "Charges that keep it", "Limits missed (by charges)"],
        rows,
        words=3,
        note="Calculated, never a certificate; limits may have changed. Yard and "
        "charge are in plan.xlsx, sheet standards.",
        rows_of=["standards"],
    )
    return [Heading("Product standards"), Words(_words(facts)), compared]


def _words(facts: Facts) -> list[Cell]:
    """Say how many standards no charge keeps, what helps, and what is not reckoned."""
    table, asked = standards_met(facts.result), facts.result.scenario.settings.product
    charges = int(table["charges"].max())
    none = table[table["met"] == 0]
    every = table[table["met"] == table["charges"]]
    said = Markup("Of {} compared, {} {} kept by every one of the {} charges, {}{}.")
    names = listed([quoted("standards", bdi(name)) for name in none["name"]])
    found: list[Cell] = [
        said.format(
            counted("standards", count(len(table), "standard")),
            counted("standards", f"{len(every):,}"),
            "is" if len(every) == 1 else "are",
            counted("mixes", f"{charges:,}"),
            Markup("and {} by none").format(counted("standards", f"{len(none):,}")),
            Markup(" ({})").format(names) if len(none) else "",
        )
    ]
    helps = [
        remedy
        for start, remedy in HELPS.items()
        if table["missed"].str.contains(rf"(?:^|[,;] ){re.escape(start)}").any()
    ]
    if helps and not asked.standard:
        found.append(
            f"What would help: {listed(list(dict.fromkeys(helps)))}. With "
            "product.standard = the code of a standard, the plan keeps its limits in "
            "every charge; compare --change setting:name=product.standard,value=CODE "
            "shows what that costs."
        )
    if asked.standard:
        found.append(
            f"The plan was asked to keep {plain(asked.standard)} (product.standard) in "
            "every charge."
        )
    metals = metals_words(facts.result.scenario)
    return [*found, *(quoted("assumptions", words) for words in metals)]
