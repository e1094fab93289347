"""Pages, tables and charts of many plans."""

from maps.studies.comparison import comparison_tables, show_comparison, write_comparison
from maps.studies.frontier_page import show_frontier, write_frontier
from maps.studies.nearby_page import show_nearby, write_nearby
from maps.studies.robust_page import show_robust, write_robust
from maps.studies.shares_page import show_shares, write_shares
from maps.studies.site_costs import show_sites
from maps.studies.stress_files import write_stress
from maps.studies.stress_tables import show_stress
from maps.studies.tables import yard_names
from maps.studies.why_page import show_why, write_why

__all__ = [
    "comparison_tables",
    "show_comparison",
    "show_frontier",
    "show_nearby",
    "show_robust",
    "show_shares",
    "show_sites",
    "show_stress",
    "show_why",
    "write_comparison",
    "write_frontier",
    "write_nearby",
    "write_robust",
    "write_shares",
    "write_stress",
    "write_why",
    "yard_names",
]
