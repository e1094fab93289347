"""The tables of a plan, and the workbooks and the terminal page that hold them."""

from maps.tables.all_tables import TABLES, tables
from maps.tables.backhaul import paired_on, saved_by_period
from maps.tables.book_charts import BookChart
from maps.tables.budget_workbook import BUDGET_SHEETS, write_budget
from maps.tables.flows import collection, demand_met, yards
from maps.tables.front_sheet import Front, write_front
from maps.tables.lineage import BASES, rests_on
from maps.tables.lineage_figures import SPENT, register
from maps.tables.lineage_record import Lineage
from maps.tables.months import compost_fill, pad_fill, store_fill
from maps.tables.people import by_district, fairness
from maps.tables.plan_workbook import workbook, write_tables, write_workbook
from maps.tables.sheet import head_points, number_width, write_sheet
from maps.tables.siting import reasons, why_refused
from maps.tables.terminal import reach_line, show
from maps.tables.trucks import driven_fleet
from maps.tables.unused import why_unused

__all__ = [
    "BASES",
    "BUDGET_SHEETS",
    "SPENT",
    "TABLES",
    "BookChart",
    "Front",
    "Lineage",
    "by_district",
    "collection",
    "compost_fill",
    "demand_met",
    "driven_fleet",
    "fairness",
    "head_points",
    "number_width",
    "pad_fill",
    "paired_on",
    "reach_line",
    "reasons",
    "register",
    "rests_on",
    "saved_by_period",
    "show",
    "store_fill",
    "tables",
    "why_refused",
    "why_unused",
    "workbook",
    "write_budget",
    "write_front",
    "write_sheet",
    "write_tables",
    "write_workbook",
    "yards",
]
