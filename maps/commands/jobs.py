"""
What commands that plan share: DIR, --change, --out, --seconds, and what comes first.

`planning` gives them to a command, and a `PlanningJob` in their place.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field, replace
from functools import wraps
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Any, Concatenate

import typer

from maps.commands.choices import Exit
from maps.commands.endings import Command, endings, fail
from maps.commands.options import Changes, Folder, Out, Seconds

if TYPE_CHECKING:
    from logistics.changes import ChangeSet
    from logistics.results import Result
    from logistics.scenario import Scenario

STOPPED = (
    "Stopped. Nothing was written; older outputs are unchanged. "
    "While a plan is being solved, one Ctrl-C alone keeps the best plan."
)


@dataclass(frozen=True)
class PlanningJob:
    """
    What a command that plans is to work on.

    Attributes
    ----------
    folder, out
        Folder of the scenario, and of the outputs; that can be written to.
    scenario
        With the settings and changes asked for.
    begun
        When the reading began, on the monotonic clock. [s]
    """

    folder: Path
    out: Path
    scenario: Scenario
    begun: float = field(default_factory=monotonic)

    def find(self, wanted: Sequence[str] | None) -> list[ChangeSet]:
        """Find changes by their names, and try them; all of DIR/changes if none."""
        from logistics.changes import apply_changes, find_changes, titled

        found = titled(find_changes(self.folder, list(wanted or [])), self.scenario)
        for one in found:
            apply_changes(self.scenario, one)
        return found

    def short(self, *, without: str) -> typer.Exit:
        """Say that the demands cannot be met; the caller raises what comes back."""
        message = f"The demands cannot be met, so there is no {without}. "
        message += f"See which: loamhaul plan {self.folder}"
        return fail(message, Exit.SHORTAGE)

    def see_that_it_meets(self, result: Result, *, without: str) -> None:
        """Stop if a plan does not meet the demands, or no yard can compost."""
        if why := result.summary.get("nothing_possible"):
            raise fail("\n".join(why), Exit.SHORTAGE)
        if result.plan.status == "shortage":
            raise self.short(without=without)

    def see_that_it_composts(self, yards: Collection[object]) -> None:
        """Stop, saying why, if a plan has no yard because none can compost."""
        if yards:
            return
        from logistics.diagnosis import checked_travel, nothing_possible
        from logistics.model import prepare

        made = prepare(self.scenario, checked_travel(self.scenario))
        if why := nothing_possible(self.scenario, made.instance):
            raise fail("\n".join(why), Exit.SHORTAGE)

    def end_if_base_is_short(self, status: str, yards: Collection[object]) -> None:
        """End what was written all the same with the code of demands not met."""
        self.see_that_it_composts(yards)
        if status == "shortage":
            typer.echo("Even the base plan cannot meet its demands: see loamhaul plan.")
            raise typer.Exit(Exit.SHORTAGE)


Body = Callable[Concatenate[PlanningJob, ...], None]


def planning(
    *, changes: bool = True, stopped: str = STOPPED
) -> Callable[[Body], Command]:
    """
    Make a function of a job a command that plans.

    The command takes DIR and the function's own options, then --change, --out and
    --seconds. It ends as `endings` has it.

    Parameters
    ----------
    changes
        Whether --change is taken, and the changes are made before all else.
    stopped
        What to say after Ctrl-C.
    """
    shared = dict(inspect.signature(_job, eval_str=True).parameters)
    if not changes:
        del shared["change"]

    def made(body: Body) -> Command:
        @wraps(body)
        def run(**options: Any) -> None:
            with endings(stopped):
                job = _job(**{name: options.pop(name) for name in shared})
                body(job, **options)

        _, *own = inspect.signature(body, eval_str=True).parameters.values()
        folder, *last = shared.values()
        _take(run, [folder, *own, *last])
        return run

    return made


def _take(command: Any, parameters: Sequence[inspect.Parameter]) -> None:
    """Let a command say that it takes these, so that typer makes options of them."""
    command.__signature__ = inspect.Signature(parameters)
    command.__annotations__ = {p.name: p.annotation for p in parameters}


def _job(
    folder: Folder, change: Changes = None, out: Out = None, seconds: Seconds = None
) -> PlanningJob:
    """Read a scenario, make the changes asked for, and see that outputs can be written.

    Raises
    ------
    ScenarioError
        With all faults.
    OSError
        If outputs could not be written.
    """
    begun = monotonic()
    scenario = read(folder)
    from logistics.scenario import with_settings
    from maps.shared import check_out

    out = out or (folder if folder.is_dir() else folder.parent) / "out"
    check_out(out)
    if seconds is not None:
        scenario = with_settings(scenario, {"solve.seconds": seconds})
    if change:
        from logistics.changes import apply_changes, find_changes

        for wanted in find_changes(folder, change):
            scenario = apply_changes(scenario, wanted)
    return PlanningJob(folder, out, scenario, begun)


def read(folder: Path) -> Scenario:
    """Read a scenario; stop if there is none."""
    if not folder.exists():
        message = f"There is no {folder}. Name a scenario folder."
        raise fail(message, Exit.USAGE)
    from logistics.scenario import read_scenario

    return read_scenario(folder)


def one_of(kind: str, wanted: str | None, known: Sequence[str]) -> None:
    """Stop if a code is given that is not one of those known."""
    if wanted is not None and wanted not in known:
        message = f"There is no {kind} {wanted!r}. Name one of {', '.join(known)}."
        raise fail(message, Exit.USAGE)


def own_fleet(scenario: Scenario) -> Scenario:
    """Decide own trucks once where `fleet.decide` asks; they stand in all futures."""
    if scenario.settings.fleet.decide != "yes":
        return scenario
    from logistics.results import run
    from logistics.scenario import change_setting, with_table
    from maps.commands.progress_line import progress

    with progress(scenario) as report:
        decided = run(scenario, progress=report).scenario.trucks
    counts = zip(decided["truck"], decided["owned"], strict=True)
    said = ", ".join(f"{int(count)} {code}" for code, count in counts)
    typer.echo(f"Own trucks, decided first: {said}.")
    settled = with_table(scenario, "trucks", decided)
    return replace(
        settled, settings=change_setting(settled.settings, "fleet.decide", "no")
    )
