"""
The register of figures: what each is called, and how it comes from the tables.

A figure that is shown to people outside a table needs an entry here; `traced` of the
report refuses any other. An entry of `each` is one for every material, yard and so on;
its code then has the key behind a slash.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from logistics.composting import NUTRIENTS
from logistics.results import SAVINGS
from maps.shared import names
from maps.tables.lineage_inputs import inputs, proof
from maps.tables.lineage_nearby import nearby
from maps.tables.lineage_record import ALL, Lineage
from maps.tables.lineage_terms import Formula, Number, Rows

if TYPE_CHECKING:
    from logistics.results import Result

SUPPLIERS = 3
"""Largest suppliers that have an entry of their own."""
PERCENT = Number(100)
SPENT = {
    "yards": ("yards",),
    "haulage": ("haulage in", "haulage out", "pairing", "fleet", "rounds"),
    "feedstock": ("feedstock",),
}
"""What the programme spends on: accounts of the ledger, and what pairing saves."""


def register(result: Result) -> dict[str, Lineage]:
    """List the figures of a plan by their codes, in order."""
    parts = (
        _yards, _tonnes, _suppliers, _money, _hauls, _fields, _gases, nearby, proof,
        inputs,
    )  # fmt: skip
    return {each.code: each for part in parts for each in part(result)}


def _yards(result: Result) -> Iterator[Lineage]:
    """Sites, yards in use, their area and intake."""
    states: dict[str, Formula] = {
        word: Rows("yards", where=(("status", "=", word),))
        for word in ("new", "enlarged", "existing")
    }
    used = states["new"] + states["enlarged"] + states["existing"]
    yield Lineage("yards", "Yards in use", "", used)
    yield Lineage("yards_new", "Yards to be built", "", states["new"])
    yield Lineage("yards_enlarged", "Yards to be enlarged", "", states["enlarged"])
    yield Lineage("yards_existing", "Yards kept as built", "", states["existing"])
    gone = (("status", "=", "closed"), ("built already", "<>", ""))
    yield Lineage(
        "yards_given_up", "Existing yards given up", "", Rows("yards", where=gone)
    )
    yield Lineage("sites", "Sites considered", "", Rows("yards"), ("yards",))
    for code, name in names(result, "size").items():
        rows = Rows("yards", where=(("size", "=", name),))
        yield Lineage(f"yards_of_size/{code}", f"Yards in use: {name}", "", rows)
    label = names(result, "yard")
    for code in map(str, result.plan.yards["yard"]):
        here = (("yard", "=", code),)
        for what, name, column, unit in (
            ("intake", "Feedstock taken in", "intake [t/yr]", "t/yr"),
            ("site_area", "Area of the site", "site [m2]", "m²"),
        ):
            rows = Rows(
                "yards", column, here, how="sum" if what == "intake" else "look"
            )
            rests = (ALL,) if what == "intake" else ("yards",)
            title = f"{name}: {label[code]}"
            yield Lineage(f"{what}/{code}", title, unit, rows, rests)
        inward = (("direction", "=", "to yard"), ("to", "=", code))
        tonnes = Rows("hauls", "tonnes [t]", inward)
        far = Rows("hauls", "tonnes [t]", inward, times="one way [km]") / tonnes
        title = f"Mean haul: {label[code]}"
        yield Lineage(f"yard_haul/{code}", title, "km", far)
    for status in ("unused", "refused"):
        rows = Rows("yards", where=(("status", "=", status),))
        yield Lineage(f"sites_{status}", f"Sites {status}", "", rows, ("yards",))


def _tonnes(result: Result) -> Iterator[Lineage]:
    """Name what arises, is collected and left; compost made and delivered."""
    columns = (
        ("supply", "Supply of feedstock", "supply [t/yr]", ("supply", "calendar")),
        ("collected", "Feedstock collected", "collected [t/yr]", (ALL,)),
        ("left", "Feedstock left uncollected", "left uncollected [t/yr]", (ALL,)),
    )
    keys: list[tuple[str, str, tuple[tuple[str, str, str], ...]]] = [("", "", ())]
    keys += [
        (f"/{code}", f": {name}", (("material", "=", name),))
        for code, name in names(result, "material").items()
        if code in set(result.scenario.sources["material"])
    ]
    for key, of, where in keys:
        for code, name, column, rests in columns:
            rows = Rows("supply", column, where)
            yield Lineage(f"{code}{key}", f"{name}{of}", "t/yr", rows, rests)
        taken, arises = (
            Rows("supply", column, where)
            for column in ("collected [t/yr]", "supply [t/yr]")
        )
        title = f"Share of the supply collected{of}"
        share = PERCENT * taken / arises
        yield Lineage(f"collected_share{key}", title, "%", share)
    for way in sorted(set(map(str, result.scenario.sources["disposal"]))):
        where = (("today uncollected material is", "=", way),)
        rows = Rows("supply", "supply [t/yr]", where)
        title = f"Supply that today goes a way: {way}"
        yield Lineage(f"disposed/{way}", title, "t/yr", rows, ("supply", "calendar"))
    sent = Rows("deliveries", "delivered [t]")
    unmet = Rows("deliveries", "not met [t]")
    yield Lineage("made", "Compost made", "t/yr", Rows("compost", "ready [t]"))
    yield Lineage("delivered", "Compost delivered", "t/yr", sent)
    yield Lineage("unmet", "Compost asked for, not delivered", "t/yr", unmet)
    met = PERCENT * sent / (sent + unmet)
    yield Lineage("demand_met", "Share of the demand met", "%", met)
    groups = Rows("deliveries") / Rows("paired_by_period")
    yield Lineage("markets", "Groups of farms", "", groups, ("markets",))


def _suppliers(result: Result) -> Iterator[Lineage]:
    """Name sources, those that are used, and the largest."""
    used = Rows("supply", where=(("collected [t/yr]", ">", 1e-6),))
    yield Lineage("sources", "Sources", "", Rows("supply"), ("supply",))
    yield Lineage("sources_used", "Sources the plan collects from", "", used)
    forced = result.scenario.sources.get("must_collect")
    if forced is not None and forced.any():
        rows = Rows("supply", where=(("must be collected", "=", "yes"),))
        name = "Sources that must be collected"
        yield Lineage("sources_forced", name, "", rows, ("supply",))
    lanes = result.lanes[result.lanes["kind"] == "in"]
    taken = lanes.groupby("origin")["tonnes"].sum()
    top = taken[taken > 0].sort_values(ascending=False, kind="stable").head(SUPPLIERS)
    label: dict[str, str] = names(result, "source")
    whole: Formula | None = None
    for code in map(str, top.index):
        rows = Rows("supply", "collected [t/yr]", (("source", "=", code),))
        whole = rows if whole is None else whole + rows
        yield Lineage(f"supplier/{code}", f"Collected at {label[code]}", "t/yr", rows)
    if whole is not None:
        share = PERCENT * whole / Rows("supply", "collected [t/yr]")
        yield Lineage("suppliers_share", "Share of the largest suppliers", "%", share)


def _money(result: Result) -> Iterator[Lineage]:
    """Costs, income, net cost, capital and payments."""
    money = result.scenario.settings.currency
    each, yearly = f"amount [{money}/yr]", f"{money}/yr"

    def ledger(*where: tuple[str, str, str | float]) -> Rows:
        return Rows("ledger", each, where)

    def budget(*where: tuple[str, str, str | float]) -> Rows:
        return Rows("budget", each, where)

    ours = ("paid by", "=", "the programme")
    saved: Formula = Number(0)
    for account in SAVINGS:  # they may be below zero, and are then no income
        saved = saved + budget(("account", "=", account))
    others = (ours, *(("account", "<>", account) for account in SAVINGS))
    costs = budget((each, ">", 0.0), *others) + saved
    income = Number(0) - budget((each, "<", 0.0), *others)
    collected = Rows("supply", "collected [t/yr]")
    yield Lineage("costs", "Costs of the year", yearly, costs)
    yield Lineage("income", "Income of the year", yearly, income)
    yield Lineage("net", "Net cost of the year", yearly, ledger())
    own = ledger(ours)
    yield Lineage("programme", "Net cost to the programme", yearly, own)
    theirs = ledger(("paid by", "=", "the sources"))
    yield Lineage("sources_pay", "Paid by the sources", yearly, theirs)
    title = "Net cost to the programme of a tonne collected"
    yield Lineage("net_per_t", title, f"{money}/t", own / collected)
    haulage: Formula = ledger(("account", "=", "haulage in"))
    for account in ("haulage out", "pairing", "fleet"):
        haulage = haulage + ledger(("account", "=", account))
    yield Lineage("haulage", "Haulage with trucks", yearly, haulage)
    owned = ledger(("line", "=", "owned trucks"))
    rests = ("trucks",)
    yield Lineage("owned_trucks", "Standing cost of own trucks", yearly, owned, rests)
    sales = Number(0) - ledger(("line", "=", "sale"))
    yield Lineage("sales", "Sales of compost", yearly, sales)
    cover = PERCENT * sales / costs
    yield Lineage("sales_cover", "Sales as a share of the costs", "%", cover)
    tenth = Number(0.1) * sales
    yield Lineage("sales_tenth", "A tenth of the sales", yearly, tenth)
    for code, accounts in SPENT.items():
        spent: Formula = saved if set(SAVINGS) <= set(accounts) else Number(0)
        for account in (each for each in accounts if each not in SAVINGS):
            of = ("account", "=", account)
            spent = spent + budget((each, ">", 0.0), ours, of)
        title = f"Share of the costs: {code}"
        yield Lineage(f"cost_share/{code}", title, "%", PERCENT * spent / costs)
    today = Rows("gains", f"pays today [{money}/yr]", (("who", "=", "sources"),))
    yield Lineage("sources_today", "Paid by the sources today", yearly, today)
    cost = f"cost [{money}]"
    yield Lineage("capital", "Capital to be found first", money, Rows("capital", cost))
    for item in ("works", "machines"):
        rows = Rows("capital", cost, (("item", "=", item),))
        yield Lineage(item, f"Capital to be found first: {item}", money, rows)
    yield from _years(money)
    yield from _ranges(money)
    yield from _ends(result, money)
    dearer = Rows("worse_off", f"amount [{money}/yr] more")
    yield Lineage("worse_off", "Fees above today's disposal", yearly, dearer)
    paid = f"amount [{money}]"
    whole = Rows("spending", paid)
    yield Lineage("spending", "Recurrent money of the year", money, whole)
    for code, name in names(result, "period").items():
        rows = Rows("spending", paid, (("period", "=", name),))
        yield Lineage(f"spending/{code}", f"Recurrent money, {name}", money, rows)
    least = Number(0.01) * costs / collected
    title = "Worth below which a limit is left out"
    yield Lineage("least_worth", title, f"{money}/unit", least)


def _years(money: str) -> Iterator[Lineage]:
    """Name what the years come to, for whom."""
    for code, name, unit, what in (
        ("value_programme", "Present value to the programme", money,
         "the programme: net present value of its own money"),
        ("payback", "Paid back after", "yr",
         "the programme: its own money is paid back after"),
        ("rate_of_return", "Return on the programme's money", "% a year",
         "the programme: return on its own money"),
        ("value_sources", "Present value to the sources", money,
         "the sources: net present value of what they gain"),
        ("value_district", "Present value to both together", money,
         "the district: the two together; nobody is paid this"),
    ):  # fmt: skip
        rows = Rows("over_the_years", "value", (("what", "=", what),), how="look")
        yield Lineage(code, name, unit, rows, (ALL, "prices"))


def _ranges(money: str) -> Iterator[Lineage]:
    """Name the ends between which the money lies."""
    for code, name in (
        ("net", "net cost"),
        ("haulage", "haulage"),
        ("capital", "capital"),
    ):
        where = (("figure", "=", name),)
        for end in ("low", "high"):
            rows = Rows("money_range", f"{end} [{money}]", where, how="look")
            title = f"{end.capitalize()} end of {name} in nine cases of ten"
            yield Lineage(f"{code}_{end}", title, money, rows, (ALL, "ranges"))


def _ends(result: Result, money: str) -> Iterator[Lineage]:
    """Name what each uncertain number does to the net cost at both its ends."""
    for row in result.range_ends.itertuples():
        here = (("range", "=", str(row.range)), ("name", "=", str(row.name)))
        for end in ("low", "high"):
            for code, name, column, unit in (
                ("end_value", "value", f"{end} [in the unit of the range]", ""),
                (
                    "end_net",
                    "change of net cost",
                    f"change of net cost at the {end} end [{money}]",
                    money,
                ),
            ):
                rows = Rows("range_ends", column, here, how="look")
                title = f"{row.name}: {name} at the {end} end"
                key = f"{code}/{end}/{row.range}/{row.Index}"
                yield Lineage(key, title, unit, rows, (ALL, "ranges"))


def _hauls(result: Result) -> Iterator[Lineage]:
    """How far feedstock comes; what each district brings."""
    inward = (("direction", "=", "to yard"),)
    tonnes = Rows("hauls", "tonnes [t]", inward)
    far = Rows("hauls", "tonnes [t]", inward, times="one way [km]") / tonnes
    yield Lineage("mean_haul", "Mean haul to the yards", "km", far)
    label = names(result, "district")
    taken, work = "collected [t/yr]", "hauled to the yards [t·km/yr]"
    for code in dict.fromkeys(map(str, result.scenario.sources["district"])):
        name = label.get(code, code)
        here = (("district", "=", name),)
        mine, carried = Rows("districts", taken, here), Rows("districts", work, here)
        share = PERCENT * mine / Rows("districts", taken)
        yield Lineage(f"district_t/{code}", f"Share of the tonnes: {name}", "%", share)
        share = PERCENT * carried / Rows("districts", work)
        title = f"Share of the tonne-kilometres: {name}"
        yield Lineage(f"district_tkm/{code}", title, "%", share)
        title = f"Mean haul: {name}"
        yield Lineage(f"district_haul/{code}", title, "km", carried / mine)


def _fields(result: Result) -> Iterator[Lineage]:
    """Nutrients on the fields, fertiliser not bought, salt."""
    money = result.scenario.settings.currency
    fertilisers = result.scenario.fertilisers
    crops = (ALL, "crops")
    for nutrient, name in zip(
        fertilisers["nutrient"], fertilisers["name"], strict=True
    ):
        if nutrient in NUTRIENTS:
            where = (("nutrient", "=", str(nutrient).upper()),)
            kg = Rows("coverage", "not bought in the first year [kg/yr]", where)
            title = f"Not bought in the first year: {name}"
            yield Lineage(f"replaced/{nutrient}", title, "t", kg / Number(1000), crops)
    for code, when in (
        ("saved_first", "saved in the first year"),
        ("saved_later", "saved if dressed every year"),
    ):
        rows = Rows("coverage", f"amount [{money}/yr] {when}")
        yield Lineage(code, f"Fertiliser {when}", f"{money}/yr", rows, crops)
    salt = Rows("mixes", "salt in it [t]")
    made = Rows("mixes", "compost from it [t]")
    yield Lineage("salt", "Salt in the feedstock", "t/yr", salt, (ALL, "materials"))
    share = PERCENT * salt / made
    yield Lineage("salt_share", "Salt in the compost", "% of wet mass", share)


def _gases(result: Result) -> Iterator[Lineage]:
    """Emissions against today."""
    unit, rests = "t CO2e", (ALL, "gases")
    where = (("what", "=", "the plan against today"),)
    for code, column, name in (
        ("gases", "middle", "Emissions of the plan against today"),
        ("gases_low", "low", "Low end of the emissions against today"),
        ("gases_high", "high", "High end of the emissions against today"),
    ):
        rows = Rows("emission_range", f"{column} [t of CO2e]", where, how="look")
        yield Lineage(code, name, unit, rows, rests)
    rows = Rows(
        "emission_range",
        "middle [t of CO2e]",
        (("what", "=", "carbon kept in the soil"),),
        how="look",
    )
    soil = Number(0) - rows
    yield Lineage("soil_carbon", "Carbon kept in the soil", "t CO2", soil, rests)
