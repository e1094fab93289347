"""
Column generation inside branch and bound, with Lagrangian bounds.

A district is a facility location problem with a mixed-integer programme: few integer
decisions (which yard in which size), very many continuous flow columns. A small one is
given to HiGHS as it is. A large one is solved by branch-and-price:

- full master and restricted masters, branches (`master`, `flow_columns`, `matrix`);
- column generation with duals, reduced costs and pricing subproblems
  (`column_generation`, `subproblem`, `backhaul_duals`);
- a Lagrangian bound of every node, safe whatever the duals (`lagrangian`);
- nodes, branching rule, strong branching, rounding heuristic, reduced-cost fixing and
  incumbent (`branch_and_price`, `branching`);
- warm starts: from the year aggregated to one period (`temporal_aggregation`,
  `aggregated_plan`) and from an earlier plan (`warm_columns`, `simplex`);
- the flows of the incumbent's yards to optimality, and their shadow prices
  (`fixed_yards`, `duals`);
- elastic programming where demands conflict (`elastic`);
- the recourse problems of the L-shaped method, whose optimality cuts stay valid with
  lanes left out (`recourse`, `pool`; the method is in `studies.l_shaped`).

References, all from memory: Geoffrion, Lagrangean relaxation for integer programming,
Mathematical Programming Study 2, 1974. Barnhart, Johnson, Nemhauser, Savelsbergh and
Vance, Branch-and-price: column generation for solving huge integer programs, Operations
Research 46, 1998. Desrosiers and Luebbecke, A primer in column generation, in Column
Generation, Springer 2005. Klose and Goertz, A branch-and-price algorithm for the
capacitated facility location problem, European Journal of Operational Research 179,
2007. Dantzig and Wolfe, Decomposition principle for linear programs, Operations
Research 8, 1960. Neumaier and Shcherbina, Safe bounds in linear and mixed-integer
linear programming, Mathematical Programming 99, 2004. Van Slyke and Wets, L-shaped
linear programs with applications to optimal control and stochastic programming, SIAM
Journal on Applied Mathematics 17, 1969.
"""

from logistics.model.solving.consistent_plan import operate, solve
from logistics.model.solving.enforced import (
    bound_beside,
    cost_beside,
    plan_beside,
    plan_with_site,
    plan_without_site,
    with_site,
    without_site,
)
from logistics.model.solving.fleet_choice import choose_fleet
from logistics.model.solving.floor import least_goal
from logistics.model.solving.flow_columns import is_small
from logistics.model.solving.given_plan import YearMoney, money_nearby
from logistics.model.solving.held_yards import (
    HeldYards,
    Paid,
    asking,
    paying,
    wanted,
)
from logistics.model.solving.highs import (
    Effort,
    NoPlanError,
    Progress,
    Session,
    relative_gap,
)
from logistics.model.solving.homes_exchange import better_homes
from logistics.model.solving.matrix import Matrix, optimum
from logistics.model.solving.recourse import (
    Key,
    Operating,
    first_stage,
    forced,
    keys_of,
    second_stage,
)
from logistics.model.solving.served_whole import (
    KeptYards,
    Whole,
    by_haulage,
    by_yards,
    serve,
)
from logistics.model.solving.tangent import Tangent, tangent_of
from logistics.model.solving.yard_cuts import YardCut, YardCuts

__all__ = [
    "Effort",
    "HeldYards",
    "KeptYards",
    "Key",
    "Matrix",
    "NoPlanError",
    "Operating",
    "Paid",
    "Progress",
    "Session",
    "Tangent",
    "Whole",
    "YardCut",
    "YardCuts",
    "YearMoney",
    "asking",
    "better_homes",
    "bound_beside",
    "by_haulage",
    "by_yards",
    "choose_fleet",
    "cost_beside",
    "first_stage",
    "forced",
    "is_small",
    "keys_of",
    "least_goal",
    "money_nearby",
    "operate",
    "optimum",
    "paying",
    "plan_beside",
    "plan_with_site",
    "plan_without_site",
    "relative_gap",
    "second_stage",
    "serve",
    "solve",
    "tangent_of",
    "wanted",
    "with_site",
    "without_site",
]
