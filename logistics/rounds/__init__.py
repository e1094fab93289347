"""A planned month as driven rounds, a yard's month, and feedback to the plan."""

from logistics.rounds.anew import Anew, plan_anew
from logistics.rounds.anew_differences import (
    in_short,
    place_differences,
    truck_differences,
)
from logistics.rounds.at_hand import AtHand, Counted, Hauled
from logistics.rounds.day_pieces import KINDS, Piece, pieces
from logistics.rounds.driven_fleet import fleet_driven
from logistics.rounds.driven_money import above_plan, as_driven, haulage_by_period
from logistics.rounds.driven_year import NotDrivenError, drive_year, plan_as_driven
from logistics.rounds.driving import Driven, drive, processes
from logistics.rounds.feedback_loop import Turn, by_turn, cheapest, feedback
from logistics.rounds.fleet import (
    fleet_by_period,
    fleet_by_yard,
    homes,
    own_trucks_worth,
)
from logistics.rounds.located import (
    FREE,
    PLANNED,
    NoChoiceError,
    YardChoice,
    choose_yards,
)
from logistics.rounds.rest_of_month import RestOfMonth, plan_rest
from logistics.rounds.tables import by_freight, calls, summary, tours
from logistics.rounds.trouble import Trouble, Turned
from logistics.rounds.visit_list import planned_flows
from logistics.rounds.windrow_calendar import (
    area_by_day,
    date_of,
    events,
    period_day,
    turnings,
    windrows,
    zone_m2,
)
from logistics.rounds.yard_month import arrivals, balance, cover

__all__ = [
    "FREE",
    "KINDS",
    "PLANNED",
    "Anew",
    "AtHand",
    "Counted",
    "Driven",
    "Hauled",
    "NoChoiceError",
    "NotDrivenError",
    "Piece",
    "RestOfMonth",
    "Trouble",
    "Turn",
    "Turned",
    "YardChoice",
    "above_plan",
    "area_by_day",
    "arrivals",
    "as_driven",
    "balance",
    "by_freight",
    "by_turn",
    "calls",
    "cheapest",
    "choose_yards",
    "cover",
    "date_of",
    "drive",
    "drive_year",
    "events",
    "feedback",
    "fleet_by_period",
    "fleet_by_yard",
    "fleet_driven",
    "haulage_by_period",
    "homes",
    "in_short",
    "own_trucks_worth",
    "period_day",
    "pieces",
    "place_differences",
    "plan_anew",
    "plan_as_driven",
    "plan_rest",
    "planned_flows",
    "processes",
    "summary",
    "tours",
    "truck_differences",
    "turnings",
    "windrows",
    "zone_m2",
]
