"""What officials ask of a result: budget, cash, labour, nutrients, gases, who pays."""

from logistics.accounts.budget import (
    Book,
    book,
    bought,
    estimates,
    identities,
)
from logistics.accounts.cashflow import (
    RATE,
    cash_flow,
    rate_of_return,
    sensitivity,
    switching,
    worth,
)
from logistics.accounts.chart import cut
from logistics.accounts.cost_shares import (
    EXACT_PARTIES,
    Group,
    core_breaches,
    dearer_together,
    groups,
    proportional,
    sampled_shapley,
    shapley,
    shapley_range,
    steadiest,
)
from logistics.accounts.emissions import (
    emission_account,
    emission_bounds,
    soil_carbon,
    values_of,
    without_factors,
)
from logistics.accounts.exposure import (
    YEAR,
    exposed_places,
    exposure_table,
    heads_within,
    nearness,
)
from logistics.accounts.fairness import (
    DISTRICTS,
    FARMS,
    SOURCES,
    by_area,
    fairness_table,
    gini,
    haulage_by_district,
    nearest_yard,
)
from logistics.accounts.gains import PROGRAMME, who_gains, worse_off
from logistics.accounts.labour import work_table
from logistics.accounts.loans import loan_table
from logistics.accounts.nutrients import (
    STEPS,
    nutrient_account,
    nutrient_coverage,
    standard_table,
)
from logistics.accounts.repricing import entries_repriced, repriced
from logistics.accounts.returns import (
    discounted_payback,
    payback,
    present_value,
    rates_of_return,
)
from logistics.accounts.standard_counts import standards_met
from logistics.accounts.units import unit_costs
from logistics.accounts.years_money import (
    against_nothing,
    cash_short,
    district_worth,
    district_years,
    years_cash,
)
from logistics.results import entry_code

__all__ = [
    "DISTRICTS",
    "EXACT_PARTIES",
    "FARMS",
    "PROGRAMME",
    "RATE",
    "SOURCES",
    "STEPS",
    "YEAR",
    "Book",
    "Group",
    "against_nothing",
    "book",
    "bought",
    "by_area",
    "cash_flow",
    "cash_short",
    "core_breaches",
    "cut",
    "dearer_together",
    "discounted_payback",
    "district_worth",
    "district_years",
    "emission_account",
    "emission_bounds",
    "entries_repriced",
    "entry_code",
    "estimates",
    "exposed_places",
    "exposure_table",
    "fairness_table",
    "gini",
    "groups",
    "haulage_by_district",
    "heads_within",
    "identities",
    "loan_table",
    "nearest_yard",
    "nearness",
    "nutrient_account",
    "nutrient_coverage",
    "payback",
    "present_value",
    "proportional",
    "rate_of_return",
    "rates_of_return",
    "repriced",
    "sampled_shapley",
    "sensitivity",
    "shapley",
    "shapley_range",
    "soil_carbon",
    "standard_table",
    "standards_met",
    "steadiest",
    "switching",
    "unit_costs",
    "values_of",
    "who_gains",
    "without_factors",
    "work_table",
    "worse_off",
    "worth",
    "years_cash",
]
