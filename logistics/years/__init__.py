"""
From today to the last year: which yard opens, grows and closes in which year.

Several periods with budgets, as in Jena, Cordeau and Gendron, Dynamic facility location
with generalized modular capacities, Transportation Science 49(3), 2015 (from memory);
here the running of a year is a programme of months with mixes, solved by cuts.
"""

from logistics.years.counted_early import early_compost
from logistics.years.horizon import YearAhead, years_ahead
from logistics.years.many_futures import YearsForFutures, years_for_futures
from logistics.years.phasing import CHOICE, CapitalShortError, plan_years
from logistics.years.way import WayAhead

__all__ = [
    "CHOICE",
    "CapitalShortError",
    "WayAhead",
    "YearAhead",
    "YearsForFutures",
    "early_compost",
    "plan_years",
    "years_ahead",
    "years_for_futures",
]
