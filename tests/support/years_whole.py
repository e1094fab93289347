"""Years ahead given to the solver in one piece, beside the cuts of the engine."""

from dataclasses import replace

import numpy as np
import pandas as pd
from scipy import sparse
from support.small_way import district

from logistics.model import Effort, Matrix, Session, optimum, prepare
from logistics.model.rules import build
from logistics.model.solving.matrix import matrix_of
from logistics.scenario import change_setting, with_table
from logistics.years import years_ahead
from logistics.years.cutting import choose
from logistics.years.first_stage import Money, first_stage_of
from logistics.years.futures import (
    keys_in,
    kind_of,
    option_costs,
    running_cost,
    to_be_run,
)
from logistics.years.purchases import purchases

NAN = float("nan")
PLAIN = {"carry_over": True, "recurrent": NAN, "wages": 1.0, "fuel": 1.0}
PLAIN |= {"compost_price": 1.0, "tipping_fee_per_t": NAN, "subsidy_per_t": NAN}


def ahead_of(capital, supply, *, first=2027, discount=None):
    """Return years with some capital each and a share of the supply."""
    scenario = district()
    if discount is not None:
        settings = change_setting(scenario.settings, "finance.discount_pct", discount)
        scenario = replace(scenario, settings=settings)
    rows = [
        {"year": str(first + n), "capital": money, "supply": share, "demand": share}
        | PLAIN
        | {"changes": ()}
        for n, (money, share) in enumerate(zip(capital, supply, strict=True))
    ]
    columns = scenario.table("years").columns
    table = pd.DataFrame(rows)[list(columns)]
    scenario = with_table(scenario, "years", table)
    return scenario, years_ahead(scenario, {})


class Ready:
    """The first stage of some years, and what running each of them takes."""

    def __init__(self, ahead, goal="cost", *, asked_from=0, held=None):
        made = [prepare(one.scenario) for one in ahead]
        self.runs = [
            replace(to_be_run(m.instance, m.scenario, one.recurrent), goal=goal)
            for m, one in zip(made, ahead, strict=True)
        ]
        for y, inst in enumerate(self.runs):
            policy = inst.policy
            if y < asked_from:
                policy = replace(policy, least_shares=())
            inst = replace(inst, policy=policy)
            self.runs[y] = inst if held is None else inst.holding(held)
        keys = list(dict.fromkeys(key for inst in self.runs for key in keys_in(inst)))
        self.keys, offered = keys, [set(keys_in(inst)) for inst in self.runs]
        scenarios = [one.scenario for one in ahead]
        self.bought = purchases(scenarios, keys, offered)
        finance = scenarios[0].settings.finance
        running = [
            [running_cost(option_costs(s)[key]) for key in keys] for s in scenarios
        ]
        self.money = Money(
            np.array([one.capital for one in ahead]),
            np.array([float(one.carry_over) for one in ahead]),
            np.array(running),
            finance.idle,
            finance.discount,
        )
        self.stage = first_stage_of(keys, self.bought, offered, set(), None, self.money)
        if goal != "cost":
            self.stage = self.stage.unpriced()
        self.weights = self.stage.weights

    def chosen(self, gap=1e-6):
        """Choose by cuts, each year a kind of its own."""
        session = Session(Effort(seconds=60, threads=1))
        kinds = [
            kind_of(inst, self.keys, [y], session) for y, inst in enumerate(self.runs)
        ]
        start = np.zeros(len(self.stage.matrix.cost))
        found = optimum(replace(self.stage.matrix, cost=start), integer=True)
        return choose(self.stage, kinds, {}, found.values, session, gap=gap)

    def in_one_piece(self, held=()):
        """
        Give the solver all years with all rules; None where demands cannot be met.

        The programme of each year is that of a plan, what is open in it tied to what
        works in the stage.

        Parameters
        ----------
        held
            Columns of the stage whose sum is held, and at what.
        """
        stage = self.stage.matrix
        programmes = [build(inst) for inst in self.runs]
        years = [matrix_of(programme) for programme, _ in programmes]
        of = [stage, *years]
        weights = [1.0, *self.weights]
        ties = []
        for y, (_, variables) in enumerate(programmes):
            place = {key: n for n, key in enumerate(self.keys)}
            pick = [self.stage.working[y][place[key]] for key in keys_in(self.runs[y])]
            opened = [z.number for z in variables.opened.values()]
            lines = np.arange(len(pick))
            blocks = [sparse.csr_matrix((len(pick), len(m.cost))) for m in of]
            for block, at, sign in ((0, pick, -1.0), (1 + y, opened, 1.0)):
                values = np.full(len(pick), sign)
                shape = blocks[block].shape
                blocks[block] = sparse.csr_matrix((values, (lines, at)), shape=shape)
            ties.append(sparse.hstack(blocks))
        sums = [value for _, value in held]
        for columns, _ in held:
            line = sparse.csr_matrix(
                (np.ones(len(columns)), (np.zeros(len(columns), dtype=int), columns)),
                shape=(1, sum(len(m.cost) for m in of)),
            )
            ties.append(line)
        count = sum(line.shape[0] for line in ties) - len(sums)
        whole = Matrix(
            rows=sparse.vstack(
                [sparse.block_diag([m.rows for m in of]), *ties]
            ).tocsc(),
            cost=np.concatenate([w * m.cost for w, m in zip(weights, of, strict=True)]),
            low=np.concatenate([m.low for m in of]),
            high=np.concatenate([m.high for m in of]),
            below=np.concatenate([*(m.below for m in of), np.zeros(count), sums]),
            above=np.concatenate([*(m.above for m in of), np.zeros(count), sums]),
            constant=sum(w * m.constant for w, m in zip(weights, of, strict=True)),
            integer=np.concatenate(
                [stage.integer, *(np.zeros(len(m.cost), dtype=bool) for m in years)]
            ),
        )
        found = optimum(whole, integer=True, gap=1e-7)
        return None if found is None else found.value
