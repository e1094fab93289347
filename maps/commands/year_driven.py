"""A plan with its haulage as driven, and what is said where it is not."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logistics.results import Result

STOPPED_ROUNDS = "Haulage is an estimate: you stopped its rounds."

LEFT_OUT = (
    "Ctrl-C: the rounds are left out and the plan is written. Press Ctrl-C again to "
    "end with nothing written."
)
"""What is said where the rounds are stopped."""


def with_rounds(result: Result) -> tuple[Result, str]:
    """
    Drive the year of a plan, showing how it stands.

    Returns
    -------
    Result, str
        The plan with haulage as driven and nothing to say; or as it was, and why.
    """
    from logistics.rounds import NotDrivenError, plan_as_driven
    from maps.commands.interrupts import keeping
    from maps.commands.progress_line import year_progress

    try:
        with keeping(LEFT_OUT), year_progress() as counted:
            return plan_as_driven(result, counted), ""
    except NotDrivenError as error:
        return result, f"Haulage is an estimate: {error}."
    except KeyboardInterrupt:
        return result, STOPPED_ROUNDS
