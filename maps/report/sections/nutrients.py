"""Report, nutrients: from waste through compost to fields, and what a farm saves."""

from __future__ import annotations

import pandas as pd

from logistics.composting import (
    NUTRIENTS,
    feedstocks,
    inside_compost,
    source_feedstock,
)
from logistics.scenario import records
from maps.report.origins import quoted, stated, traced
from maps.report.pieces import Heading, Piece, Section, Table, Words, plain
from maps.report.plan_facts import Facts
from maps.report.sections.fields import (
    NAMES,
    fields,
    limited_groups,
    need_words,
    yard_content,
)
from maps.report.sections.standards import standards
from maps.shared import (
    amount,
    apportion,
    digits_for,
    fertiliser_rows,
    names,
    nitrogen_words,
)

OF_FEEDSTOCK = {"n": "nitrogen", "p2o5": "p2o5", "k2o": "k2o"}
TINY_T = 1e-9


def contents(facts: Facts) -> pd.DataFrame:
    """Give the nutrients in a tonne as received: rows feedstocks, N P2O5 K2O. [t/t]"""
    table = feedstocks(facts.result.scenario).set_index("feedstock")
    return pd.DataFrame(
        {key: (1 - table["moisture"]) * table[OF_FEEDSTOCK[key]] for key in NUTRIENTS}
    )


def chain(facts: Facts) -> pd.DataFrame:
    """
    Follow the nutrients from where they arise to the fields.

    Returns
    -------
    DataFrame
        Rows arises, left, waiting, charged, lost, compost, leftover, delivered;
        columns n, p2o5, k2o. Losses are what is missing between two counts. [t/yr]
    """
    result = facts.result
    each, of_source = contents(facts), source_feedstock(result.scenario)
    plan = result.plan

    def in_feedstock(codes: pd.Series, tonnes: pd.Series) -> pd.Series:
        grains = each.reindex(codes).mul(tonnes.to_numpy(), axis=0)
        return grains.sum()

    dry = 1 - result.scenario.settings.process.product_moisture
    made = result.mixes["product_t"] * dry
    supply = result.supply
    left = plan.uncollected
    rows = {
        "arises": in_feedstock(
            supply["source"].map(of_source), supply["tonnes_per_year"]
        ),
        "left": in_feedstock(left["source"].map(of_source), left["tonnes"]),
        "charged": in_feedstock(plan.charges["feedstock"], plan.charges["tonnes"]),
        "compost": result.mixes[list(NUTRIENTS)].mul(made, axis=0).sum(),
        "delivered": inside_compost(
            result.scenario, result.mixes, plan.compost, plan.deliveries
        ).sum(),
    }
    rows["waiting"] = rows["arises"] - rows["left"] - rows["charged"]
    rows["lost"] = rows["charged"] - rows["compost"]
    rows["leftover"] = rows["compost"] - rows["delivered"]
    order = ("arises", "left", "waiting", "charged", "lost", "compost", "leftover")
    table = pd.DataFrame(rows).T.loc[[*order, "delivered"], list(NUTRIENTS)]
    return table.where(table.abs() > TINY_T, 0.0)


CHAIN_WORDS = {
    "arises": "In the whole supply",
    "left": "− left uncollected",
    "waiting": "− lost with feedstock while it waits",
    "charged": "= into windrows",
    "lost": "− lost in composting",
    "compost": "= in the compost made",
    "leftover": "− in compost left over or in store losses",
    "delivered": "= delivered to fields",
}


def section(facts: Facts) -> Section:
    """Write the nutrient page."""
    if facts.result.mixes.empty:
        nothing = Words(["No compost is made, so no nutrients reach the fields."])
        return Section("nutrients", "Nutrients", [nothing])
    pieces: list[Piece] = [
        _chain_table(facts),
        _content(facts),
        Heading("On the fields"),
        fields(facts),
        Words([need_words(facts)]),
        *([table] if (table := limited_groups(facts)) is not None else []),
        *standards(facts),
        Heading("What a farm saves"),
        Words(_savings(facts)),
        Heading("Salt"),
        Words(_salt(facts)),
    ]
    return Section("nutrients", "Nutrients", pieces)


def _chain_table(facts: Facts) -> Table:
    """List the chain; every step is rounded to fit the next."""
    table = chain(facts)
    digits = max(1, digits_for(float(table.to_numpy()[0].sum())))
    shown = {}
    for key in NUTRIENTS:
        ends = ["left", "waiting", "lost", "leftover", "delivered"]
        parts = dict(zip(ends, apportion(table.loc[ends, key], digits), strict=True))
        parts["compost"] = parts["leftover"] + parts["delivered"]
        parts["charged"] = parts["compost"] + parts["lost"]
        parts["arises"] = parts["charged"] + parts["waiting"] + parts["left"]
        shown[key] = parts
    rows = [
        (CHAIN_WORDS[step], *(amount(shown[key][step], digits) for key in NUTRIENTS))
        for step in table.index
        if step in ("arises", "charged", "compost", "delivered")
        or any(shown[key][step] for key in NUTRIENTS)
    ]
    lost = quoted("assumptions", nitrogen_words(facts.result))
    return Table(
        "From waste to fields: nutrients [t/yr]",
        ["Step", *(NAMES[key] for key in NUTRIENTS)],
        rows,
        note=f"{lost} No phosphate or potash is counted as "
        "lost; run-off from pads would take some. Compost that leaves a yard is "
        "counted at the content of its store at that time.",
        rows_of=["nutrients"],
    )


def _content(facts: Facts) -> Table:
    """List what the compost of every yard holds."""
    content = yard_content(facts) * 1000
    label = names(facts.result, "yard")
    mixes = facts.result.mixes
    ratio = (mixes["product_cn"] * mixes["product_t"]).groupby(mixes["yard"]).sum()
    ratio = ratio / mixes["product_t"].groupby(mixes["yard"]).sum()
    rows = [
        (
            plain(label[str(row["yard"])]),
            *(amount(row[key], 1) for key in NUTRIENTS),
            amount(row["ratio"], 1),
        )
        for row in records(content.assign(ratio=ratio).reset_index())
    ]
    return Table(
        "Content of a tonne of compost, as delivered [kg/t]",
        ["Yard", *(NAMES[key] for key in NUTRIENTS), "C:N [1]"],
        rows,
        note="Calculated from the mixes with the materials' values; have it measured "
        "before you declare it or sell by content.",
        rows_of=["mixes"],
    )


def _savings(facts: Facts) -> list[str]:
    """Say what the compost saves a farm, see `assumptions.fertiliser_rows`."""
    found = []
    for row in fertiliser_rows(facts.result):
        item, note = (quoted("assumptions", plain(row[at])) for at in (1, 5))
        text = f"{item} kg/ha of N, P2O5 and K2O. {note}"
        for code in ("p2o5", "k2o"):
            text = text.replace(code.upper(), NAMES[code])
        found.append(text)
    return found


def _salt(facts: Facts) -> list[str]:
    """Warn of salt, with what the mixes bring."""
    table = feedstocks(facts.result.scenario).set_index("feedstock")
    charges = facts.result.plan.charges
    salt = float((charges["feedstock"].map(table["salt"]) * charges["tonnes"]).sum())
    caution = (
        "Salt harms seedlings and sensitive crops such as beans, and soils that drain "
        "badly (common practice, no source): measure the conductivity of the first "
        "batches, and keep salty compost for crops and soils that tolerate it."
    )
    if not salt:
        return [
            "The table materials gives no salt for these feedstocks, so none is "
            f"counted. {caution}"
        ]
    share = salt / float(facts.result.mixes["product_t"].sum())
    limit = facts.result.scenario.settings.mix.salt_high
    kept = (
        "No limit is set for salt in mixes (mix.salt_high_pct is off)."
        if limit is None
        else "Salt in mixes is limited to "
        f"{stated(facts, 'mix.salt_high_pct', limit * 100)} % of their wet mass."
    )
    tonnes = traced(facts, "salt", amount(salt, max(1, digits_for(salt))))
    part = traced(facts, "salt_share", amount(share * 100, 2))
    return [
        f"The feedstock brings {tonnes} t of salt a "
        f"year. If none is washed out, it makes up {part} % of the "
        f"compost's wet mass on average. {kept} {caution}"
    ]
