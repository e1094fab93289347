"""The program that makes forms and copies of a scenario, in a folder, for the desk."""

from __future__ import annotations

import json
import sys
from pathlib import Path


def made(scenario_folder: Path, what: str, place: Path) -> str:
    """
    Make what is asked in a folder; return what is wrong, or nothing.

    Parameters
    ----------
    scenario_folder
        Folder of the scenario.
    what
        "survey", "paper", or a form of `write_scenario`.
    place
        Empty folder.
    """
    from logistics.scenario import ScenarioError, read_scenario
    from maps.forms import write_paper_forms, write_xlsform
    from maps.geo import write_scenario

    try:
        scenario = read_scenario(scenario_folder)
    except ScenarioError as error:
        return f"The tables have faults. The first: {error.problems[0]}"
    if what == "survey":
        write_xlsform(scenario, place / "survey.xlsx")
    elif what == "paper":
        write_paper_forms(scenario, place)
    else:
        write_scenario(scenario, what, scenario_folder, place)
    return ""


def main(asked: str) -> str:
    """Do what is asked; say what is wrong."""
    folder, what, place = json.loads(asked)
    try:
        return made(Path(folder), what, Path(place))
    except Exception:
        return "It could not be made: the program that makes it ended"


if __name__ == "__main__":
    sys.stdout.write(json.dumps(main(sys.stdin.read())))
