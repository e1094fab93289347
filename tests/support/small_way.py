"""A way through three years of a small district, planned: a yard opens, then grows."""

import pandas as pd
from support.places import ROOT

from logistics.changes import ChangeSet, Step
from logistics.scenario import Scenario, read_scenario, with_table
from logistics.years import WayAhead, plan_years, years_ahead

SMALL = ROOT / "tests" / "data" / "good_small"
NAN = float("nan")
YEARS = pd.DataFrame(
    {
        "year": ["2027", "2028", "2029"],
        "capital": [60_000.0, 60_000.0, 90_000.0],
        "carry_over": [True, True, True],
        "recurrent": [NAN, NAN, 40_000.0],
        "supply": [0.6, 1.0, 1.1],
        "demand": [0.6, 1.0, 1.1],
        "wages": 1.0,
        "fuel": 1.0,
        "compost_price": 1.0,
        "tipping_fee_per_t": NAN,
        "subsidy_per_t": NAN,
        "changes": [(), (), ("lost",)],
    }
)
LOST = ChangeSet("lost", "Lost", "", (Step("close_yard", {"yard": "shoal"}, "lost"),))


def district() -> Scenario:
    """Return the small district, where disposal is dear and a bank lends 60 %."""
    scenario = read_scenario(SMALL)
    dear = scenario.sources["disposal_cost_per_t"] * 4 + 20
    sources = scenario.sources.assign(disposal_cost_per_t=dear)
    loan = {"loan": "bank", "name": "Bank", "share": 0.6, "rate": 0.08, "years": 5}
    loan |= {"grace_years": 1, "kind": "annuity", "from_year": "", "until_year": ""}
    tables = {"sources": sources, "years": YEARS, "loans": pd.DataFrame([loan])}
    for name, table in tables.items():
        scenario = with_table(scenario, name, table)
    return scenario


def small_way() -> WayAhead:
    """Plan it."""
    scenario = district()
    way = plan_years(scenario, years_ahead(scenario, {"lost": LOST}), seconds=20)
    assert way is not None
    return way
