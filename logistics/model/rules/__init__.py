"""Variables, one function a constraint with its inequality, the list `BLOCKS`."""

from logistics.model.rules.backhaul import rows_of_backhauls
from logistics.model.rules.backhaul_lanes import lanes_of_backhauls
from logistics.model.rules.blocks import build, shortage_terms
from logistics.model.rules.capacity import pad_years, poorest_contents
from logistics.model.rules.flows import recent
from logistics.model.rules.objective import cost_terms, goal_terms
from logistics.model.rules.programme import Programme, Quantity, amount_of
from logistics.model.rules.siting import most_delivered, most_hauled
from logistics.model.rules.sums import (
    SUMS,
    Index,
    Key,
    LaneFlowIndex,
    Side,
    keys_of_sum,
    weights,
)
from logistics.model.rules.variables import (
    EVERY,
    Table,
    Terms,
    Variables,
    based_types,
    flow_labels,
    option_names,
    options_of_yard,
)

__all__ = [
    "EVERY",
    "SUMS",
    "Index",
    "Key",
    "LaneFlowIndex",
    "Programme",
    "Quantity",
    "Side",
    "Table",
    "Terms",
    "Variables",
    "amount_of",
    "based_types",
    "build",
    "cost_terms",
    "flow_labels",
    "goal_terms",
    "keys_of_sum",
    "lanes_of_backhauls",
    "most_delivered",
    "most_hauled",
    "option_names",
    "options_of_yard",
    "pad_years",
    "poorest_contents",
    "recent",
    "rows_of_backhauls",
    "shortage_terms",
    "weights",
]
