"""The command `alternatives`: plans nearly as good that build at other sites."""

from __future__ import annotations

from typing import Annotated

import typer

from maps.commands.endings import ended
from maps.commands.jobs import PlanningJob, own_fleet, planning


@planning()
def alternatives(
    job: PlanningJob,
    within: Annotated[
        float,
        typer.Option(
            "--within", min=0.1, max=50, help="What may be given up of the cost, in %."
        ),
    ] = 3.0,
    differ: Annotated[
        int,
        typer.Option(
            "--differ",
            min=1,
            max=10,
            help="Sites more or fewer that tell two plans apart; a yard moved is two.",
        ),
    ] = 1,
    most: Annotated[
        int,
        typer.Option("--most", min=2, max=30, help="Largest number of plans shown."),
    ] = 9,
    prove: Annotated[
        bool,
        typer.Option(
            "--prove",
            help="Also try to prove which sites every plan or none within the limit "
            "has; takes a search for each.",
        ),
    ] = False,
) -> None:
    """Find plans that cost little more and build elsewhere: a page, maps, tables."""
    from logistics.studies import plans_nearby
    from maps.commands.progress_line import progress
    from maps.shared import whole_set
    from maps.studies import show_nearby, write_nearby, yard_names

    scenario = own_fleet(job.scenario)
    steps = 2 + (len(scenario.yards) if prove else 0)
    with progress(scenario, steps=steps) as report:
        nearby = plans_nearby(
            scenario,
            share=within / 100,
            least=differ,
            most=most,
            prove=prove,
            watch=report,
            begin=lambda number: report.step(number, max(steps, number + 1)),
        )
    if nearby is None:
        raise job.short(without="plan to set others beside")
    job.see_that_it_composts(nearby.found.plans[0].plan.yard_sizes)
    names = yard_names(scenario)
    with whole_set(job.out, "alternatives") as folder:
        write_nearby(nearby, scenario, names, folder)
    show_nearby(nearby, scenario, names)
    typer.echo(
        f"Written to {job.out}: alternatives.html, alternatives.xlsx, "
        "alternatives.csv, alternatives_plans/."
    )
    best = nearby.found.plans[0].plan
    raise ended(proven=best.gap <= scenario.settings.solve.gap + 1e-9)
