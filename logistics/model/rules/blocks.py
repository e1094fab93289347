"""Put the programme together from its blocks."""

from collections.abc import Callable

from logistics.model.problem import Instance
from logistics.model.rules.backhaul import backhaul_trips
from logistics.model.rules.blend import (
    keep_product,
    keep_structure,
    keep_windows,
    limit_density,
    limit_salt,
)
from logistics.model.rules.cover import keep_cover
from logistics.model.rules.distribution import (
    fit_compost_store,
    keep_compost,
    meet_demand,
    send_ripe_compost,
)
from logistics.model.rules.flows import (
    count_arrivals,
    draw_water,
    fit_pad,
    fit_store,
    keep_held_fresh,
    keep_stock,
    keep_stock_fresh,
    keep_supply,
    limit_decay,
)
from logistics.model.rules.nearby import limit_exposed, limit_worst_farms
from logistics.model.rules.nutrients import hold_contents, respect_nutrient_limits
from logistics.model.rules.objective import goal_terms, keep_budget, keep_emissions
from logistics.model.rules.programme import Programme
from logistics.model.rules.siting import (
    keep_apart,
    keep_least_shares,
    limit_capital,
    limit_share_of_intake,
    limit_yards,
    link_dispatch,
    link_intake,
    one_size_per_yard,
    serve_whole,
)
from logistics.model.rules.standard import meet_standard
from logistics.model.rules.trucks import (
    base_trucks,
    limit_hire,
    link_bases,
    share_busy_hours,
    share_saved_hours,
    share_trucks,
)
from logistics.model.rules.variables import Terms, Variables, add_variables

Block = Callable[[Programme, Variables, Instance], None]

BLOCKS: list[Block] = [
    one_size_per_yard,
    link_intake,
    link_dispatch,
    keep_supply,
    keep_held_fresh,
    count_arrivals,
    keep_stock,
    keep_stock_fresh,
    limit_decay,
    keep_cover,
    keep_windows,
    limit_density,
    keep_structure,
    limit_salt,
    keep_product,
    meet_standard,
    fit_pad,
    fit_store,
    draw_water,
    keep_compost,
    send_ripe_compost,
    fit_compost_store,
    meet_demand,
    hold_contents,
    respect_nutrient_limits,
    share_trucks,
    share_busy_hours,
    base_trucks,
    link_bases,
    limit_hire,
    share_saved_hours,
    backhaul_trips,
    keep_least_shares,
    limit_share_of_intake,
    limit_yards,
    limit_capital,
    keep_apart,
    serve_whole,
    limit_exposed,
    limit_worst_farms,
    keep_budget,
    keep_emissions,
]
"""Every rule of a plan."""

LINKS = (link_intake, link_dispatch)
"""Rules that follow from the others once the yards are given."""


def build(
    instance: Instance,
    *,
    elastic: str | None = None,
    linked: bool = True,
    lanes: bool = True,
) -> tuple[Programme, Variables]:
    """
    Write the full programme for an instance.

    Parameters
    ----------
    instance
        Index sets and numbers.
    elastic
        Give this demand of the board (or `EVERY`) a slack, and minimise the slacks, as
        shares of what was asked.
    linked
        False leaves out the link rows. With the yards given they cut nothing off,
        and would take a part of the duals of supply, demand and pad.
    """
    programme = Programme()
    variables = add_variables(programme, instance, elastic=elastic, lanes=lanes)
    for block in BLOCKS:
        if linked or block not in LINKS:
            block(programme, variables, instance)
    if elastic is not None:
        programme.minimise(shortage_terms(variables))
    else:
        programme.minimise(*goal_terms(variables, instance))
    return programme, variables


def shortage_terms(variables: Variables) -> Terms:
    """Elastic slack of all demands, in thousandths of what was asked."""
    return [(slack.variable, 1e3 / slack.scale) for slack in variables.slacks]
