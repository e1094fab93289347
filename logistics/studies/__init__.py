"""Many plans of one district: changes, goals, futures, groups, a country."""

from logistics.studies.changed_districts import BASE_GAP
from logistics.studies.coalitions import Coalition, Sharing, by_work, share_cost
from logistics.studies.comparison import (
    Outcome,
    by_district,
    by_line,
    compare,
    equals_base,
    left_open,
    meets,
    overview,
    proven_difference,
    winners,
    yard_changes,
)
from logistics.studies.cost_frontier import (
    Point,
    frontier,
    frontier_table,
    knee,
    problem,
)
from logistics.studies.country import plan_coarse
from logistics.studies.each_site import (
    SiteCost,
    other_sites,
    site_changes,
    site_costs,
)
from logistics.studies.ends_by_range import ANEW, LINE, range_ends, with_ranges
from logistics.studies.entering import TurningPoint
from logistics.studies.frontier_limits import Against
from logistics.studies.l_shaped import (
    Decision,
    OptimalityCut,
    Recourse,
    decide,
    linear_recourse,
)
from logistics.studies.near_best import OtherPlans
from logistics.studies.near_marks import sites_table
from logistics.studies.near_pushes import Nearby, Pushed, plans_nearby
from logistics.studies.other_yards import other_yards_save
from logistics.studies.risk import Risk
from logistics.studies.robust_yards import (
    BASE,
    Chance,
    Robust,
    futures_table,
    robust,
    yards_table,
)
from logistics.studies.runs import RunsError, Standing, open_store
from logistics.studies.served_places import SERVED_GAP, why_place
from logistics.studies.site_answer import Ground, Kind, Service, SiteAnswer
from logistics.studies.stress_figures import (
    MONEY,
    cost_at_risk,
    ranking,
    runs_table,
    swings,
    yard_shares,
)
from logistics.studies.stress_runs import (
    OPERATE,
    REPLAN,
    Stress,
    base_yards,
    one_thread,
    spoiling,
    stress,
)
from logistics.studies.stress_scenarios import draws, ends, losses
from logistics.studies.turned_sites import (
    UP_TO,
    ground_of,
    sites_to_ask,
    why_site,
)

__all__ = [
    "ANEW",
    "BASE",
    "BASE_GAP",
    "LINE",
    "MONEY",
    "OPERATE",
    "REPLAN",
    "SERVED_GAP",
    "UP_TO",
    "Against",
    "Chance",
    "Coalition",
    "Decision",
    "Ground",
    "Kind",
    "Nearby",
    "OptimalityCut",
    "OtherPlans",
    "Outcome",
    "Point",
    "Pushed",
    "Recourse",
    "Risk",
    "Robust",
    "RunsError",
    "Service",
    "Sharing",
    "SiteAnswer",
    "SiteCost",
    "Standing",
    "Stress",
    "TurningPoint",
    "base_yards",
    "by_district",
    "by_line",
    "by_work",
    "compare",
    "cost_at_risk",
    "decide",
    "draws",
    "ends",
    "equals_base",
    "frontier",
    "frontier_table",
    "futures_table",
    "ground_of",
    "knee",
    "left_open",
    "linear_recourse",
    "losses",
    "meets",
    "one_thread",
    "open_store",
    "other_sites",
    "other_yards_save",
    "overview",
    "plan_coarse",
    "plans_nearby",
    "problem",
    "proven_difference",
    "range_ends",
    "ranking",
    "robust",
    "runs_table",
    "share_cost",
    "site_changes",
    "site_costs",
    "sites_table",
    "sites_to_ask",
    "spoiling",
    "stress",
    "swings",
    "why_place",
    "why_site",
    "winners",
    "with_ranges",
    "yard_changes",
    "yard_shares",
    "yards_table",
]
