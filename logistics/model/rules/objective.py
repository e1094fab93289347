"""What a plan costs, leaves behind and emits, as sums over its decisions."""

from logistics.model.problem import PART, Instance
from logistics.model.rules.programme import Programme
from logistics.model.rules.variables import Terms, Variables


def cost_terms(var: Variables, inst: Instance) -> tuple[Terms, float]:
    """
    Net annual cost: yards, haulage, purchases, present disposal, less sales.

    Returns
    -------
    tuple
        Terms [money] and the constant part, the trucks owned anyway. [money/yr]
    """
    terms: Terms = [(z, float(inst.options.annual[o])) for o, z in var.opened.items()]
    terms += var.sum_of("money")
    terms += [
        (u, float(inst.supply.left_money_per_t[i])) for (i, _), u in var.left.items()
    ]
    terms += [(y, inst.policy.whole[n].per_t or 0.0) for n, y in var.wanting.items()]
    price = inst.yards.water_per_t[inst.options.yard]
    terms += [(w, float(price[o])) for (o, _), w in var.water.items()]
    handling = inst.options.handling_per_t + price * inst.turning_water
    terms += [(b, float(handling[o])) for (o, _, _), b in var.charge.items()]
    terms += [(g, inst.leftover_per_t) for g in var.leftover.values()]
    hire = inst.trucks.hire_per_hour
    terms += [(h, float(hire[v])) for (v, _), h in var.hired.items()]
    terms += [(h, float(hire[v])) for (_, v, _), h in var.hired_at.items()]
    terms += [(b, PART * float(hire[v])) for (_, v, _), b in var.busy.items()]
    if inst.backhauls is not None:
        terms += [
            (b, -float(inst.backhauls.money[n, t])) for (n, t), b in var.paired.items()
        ]
    return terms, inst.trucks.fixed_annual


def uncollected_terms(var: Variables, inst: Instance) -> tuple[Terms, float]:
    """Tonnes that stay where they arise. [t]"""
    return [(u, 1.0) for u in var.left.values()], 0.0


def co2e_terms(var: Variables, inst: Instance) -> tuple[Terms, float]:
    """
    Emissions of the year, the lines of `accounts.emission_account` for the plan.

    Haulage, what is left, and windrows with their machines, less mineral nitrogen that
    compost replaces; what is left over replaces none. [kg CO2e]
    """
    terms = var.sum_of("co2e")
    left = inst.supply.left_co2e_per_t
    terms += [(u, float(left[i])) for (i, _), u in var.left.items()]
    terms += [(b, float(inst.charge_co2e[m])) for (_, m, _), b in var.charge.items()]
    terms += [(g, inst.leftover_co2e) for g in var.leftover.values()]
    if inst.backhauls is not None:
        terms += [
            (b, -float(inst.backhauls.co2e[n, t])) for (n, t), b in var.paired.items()
        ]
    return terms, 0.0


GOALS = {"cost": cost_terms, "uncollected": uncollected_terms, "co2e": co2e_terms}


def goal_terms(var: Variables, inst: Instance) -> tuple[Terms, float]:
    """Return the terms and the constant of the instance's goal."""
    return GOALS[inst.goal](var, inst)


def keep_budget(p: Programme, var: Variables, inst: Instance) -> None:
    """Spend at most so much a year, net: cost <= limit."""
    limit = inst.policy.budget_limit
    if limit is not None:
        terms, constant = cost_terms(var, inst)
        scale = abs(limit) or max(1.0, constant + float(inst.options.annual.sum()))
        what = ("annual budget", "district", "year", "money")
        slack = var.add_slack(p, "most", *what, scale)
        p.at_most("budget", terms + [(x, -1.0) for x, _ in slack], limit - constant)


def keep_emissions(p: Programme, var: Variables, inst: Instance) -> None:
    """Emit at most so much a year: CO2e <= limit."""
    limit = inst.policy.co2e_limit
    if limit is not None:
        terms, constant = co2e_terms(var, inst)
        what = ("emissions limit", "district", "year", "kg CO2e")
        slack = var.add_slack(p, "most", *what, max(abs(limit), 1.0))
        p.at_most("emissions", terms + [(x, -1.0) for x, _ in slack], limit - constant)
