"""Report, product standards: which the compost keeps as the plan makes it."""

from __future__ import annotations

import re

from logistics.accounts import standards_met
from logistics.scenario import records
from maps.report.pieces import Heading, Piece, Table, Words, listed, plain
from maps.report.plan_facts import Facts
from maps.shared import count

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

SEA = ("fish", "shell", "shrimp", "crab", "mussel", "oyster", "squid")
"""Words by which feedstock that may bring heavy metals from the sea is known."""

METALS = (
    "Heavy metals are not reckoned. Offal of fish, squid and shellfish may hold much "
    "cadmium, arsenic and mercury: have the first batches tested. EU Regulation "
    "2019/1009, Annex I, PFC 3(A), allows organic soil improvers 2 mg cadmium, 1 mg "
    "mercury, 120 mg lead and 800 mg zinc a kg of dry matter (from memory; check the "
    "text that holds for you)."
)


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
    )
    return [Heading("Product standards"), Words(_words(facts)), compared]


def _words(facts: Facts) -> list[str]:
    """Say how many standards no charge keeps, what helps, and what is not reckoned."""
    table, asked = standards_met(facts.result), facts.result.scenario.settings.product
    charges = int(table["charges"].max())
    none = table[table["met"] == 0]
    every = table[table["met"] == table["charges"]]
    text = (
        f"Of {count(len(table), 'standard')} compared, {len(every):,} "
        f"{'is' if len(every) == 1 else 'are'} kept by every one of the {charges:,} "
        f"charges, and {len(none):,} by none"
    )
    if len(none):
        text += f" ({listed(none['name'].tolist())})"
    found = [f"{text}."]
    helps = [
        remedy
        for start, remedy in HELPS.items()
        if table["missed"].str.contains(rf"(?:^|[,;] ){re.escape(start)}").any()
    ]
    if helps and not asked.standard:
        found.append(
            f"What would help: {listed(list(dict.fromkeys(helps)))}. With "
            "product.standard = the code of a standard, the plan keeps its limits in "
            "every charge, and shows what that costs."
        )
    if asked.standard:
        found.append(
            f"The plan was asked to keep {plain(asked.standard)} (product.standard) in "
            "every charge."
        )
    names = " ".join(facts.result.scenario.materials["name"]).lower()
    if any(word in names for word in SEA):
        found.append(METALS)
    return found
