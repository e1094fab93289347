"""An invented district with accents: ten feedstocks, French months, named districts."""

import pandas as pd
from support.fake_result import lanes, ledger, mixes, plan, result, table

from logistics.composting.supply import yearly_supply

MONTHS = (
    *("janvier", "février", "mars", "avril", "mai", "juin", "juillet", "août"),
    *("septembre", "octobre", "novembre", "décembre"),
)
FEEDSTOCKS = (
    *("Bagasse", "Fumier de bœuf", "Déchets de poisson", "Paille de blé"),
    *("Coques d’arachide", "Lisier", "Marc de café", "Pulpe de manioc"),
    *("Fanes d’igname", "Drêche"),
)
PLACES = ("Güell", "São Tomé", "L’Étang-Salé", "Ångström", "Þórshöfn", "Łódź",
          "Œuf-en-Ternois", "Ñuñoa", "Çeşme", "İzmir")  # fmt: skip
DISTRICTS = {"north": "Région du Nord-Est", "south": ""}


def _lanes(codes, periods):
    """Every feedstock to the hill yard in every month, in shares that tell apart."""
    parts = []
    for k, code in enumerate(codes[:-1]):
        one = (
            lanes().iloc[:1].assign(origin=f"s{k}", material=code, tonnes=30.0 + 9 * k)
        )
        parts += [one.assign(period=period) for period in periods]
    out = lanes().iloc[-1:]
    parts += [out.assign(period=period) for period in periods]
    return pd.concat(parts, ignore_index=True)


def accented():
    """Return the district of `fake_result` with ten feedstocks and accented names."""
    planned = result(name="Güell")
    tables = planned.scenario.tables
    count, codes = len(FEEDSTOCKS), [f"m{k}" for k in range(len(FEEDSTOCKS))]
    periods = [f"p{k:02}" for k in range(12)]

    def longer(which, **columns):
        frame = tables[which]
        more = frame.iloc[[0] * len(next(iter(columns.values())))]
        tables[which] = more.reset_index(drop=True).assign(**columns)

    longer("materials", material=codes, name=list(FEEDSTOCKS), colour=[""] * count)
    longer(
        "sources",
        source=[f"s{k}" for k in range(count)],
        name=list(PLACES),
        material=codes,
        lon=[-31.12 + 0.014 * k for k in range(count)],
        lat=[-0.9 - 0.013 * (k % 4) for k in range(count)],
        district=["north", "south"] * (count // 2),
        amount=[1500.0] * count,
    )
    longer(
        "periods",
        period=periods,
        name=list(MONTHS),
        days=[365 / 12] * 12,
    )
    tables["calendar"] = table(
        season=["even"] * 12, period=periods, share=[1 / 12] * 12
    )
    tables["districts"] = table(district=list(DISTRICTS), name=list(DISTRICTS.values()))
    old = "Cour de l’Île, ancien terrain communal"
    tables["yards"]["name"] = ["Cour de Güell", old]
    driven = _lanes(codes, periods)
    inward = driven[driven["kind"] == "in"]
    planned.plan = plan(
        hauls=inward.rename(columns={"origin": "source", "destination": "yard"})[
            ["source", "yard", "truck", "period", "tonnes"]
        ],
        deliveries=table(
            yard=["hill"] * 12,
            market=["paddy"] * 12,
            truck=["light"] * 12,
            period=periods,
            tonnes=[50.0] * 12,
        ),
        uncollected=table(source=["s9"] * 12, period=periods, tonnes=[50.0] * 12),
        held=plan().held.iloc[:0],
        compost=pd.concat([plan().compost.iloc[:1]] * 12).assign(period=periods),
        charges=inward.rename(columns={"destination": "yard", "material": "feedstock"})[
            ["yard", "feedstock", "period", "tonnes"]
        ],
    )
    planned.lanes = driven
    planned.mixes = pd.concat([mixes().iloc[:1]] * 12, ignore_index=True).assign(
        period=periods
    )
    planned.ledger = ledger().assign(period="year")
    planned.summary["haul_cost"] = 1_034_378_408.0  # of a currency with many noughts
    vars(planned.scenario).update(tables)
    planned.supply = yearly_supply(planned.scenario)
    return planned
