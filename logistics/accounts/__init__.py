"""What officials ask of a result: budget, cash, labour, nutrients, gases, who pays."""

from logistics.accounts.budget import Book, book, estimates, identities, unit_costs
from logistics.accounts.cashflow import cash_flow, sensitivity, switching, worth
from logistics.accounts.chart import cut, entry_code
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
from logistics.accounts.labour import work_table
from logistics.accounts.nutrients import (
    STEPS,
    nutrient_account,
    nutrient_coverage,
    standard_table,
)

__all__ = [
    "EXACT_PARTIES",
    "STEPS",
    "Book",
    "Group",
    "book",
    "cash_flow",
    "core_breaches",
    "cut",
    "dearer_together",
    "emission_account",
    "emission_bounds",
    "entry_code",
    "estimates",
    "groups",
    "identities",
    "nutrient_account",
    "nutrient_coverage",
    "proportional",
    "sampled_shapley",
    "sensitivity",
    "shapley",
    "shapley_range",
    "soil_carbon",
    "standard_table",
    "steadiest",
    "switching",
    "unit_costs",
    "values_of",
    "without_factors",
    "work_table",
    "worth",
]
