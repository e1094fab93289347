"""
The program that reads what was dropped in and proposes what becomes of it.

It works in the folder of the drop: a copy of the scenario (`stage`) gets the tables,
then the map, by the steps of the command `bring`. What is written after a yes are the
files of that copy, so they are what was shown.
"""

from __future__ import annotations

import json
import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from maps.desk.archive import ZipFault, ZipLimits, unpack
from maps.desk.book import digest_of, input_files
from maps.desk.drops import SHAPE

if TYPE_CHECKING:
    from logistics.bringing import Body, Proposal

STAGE = "stage"
LIMITS = ZipLimits(files=200, depth=4)
MOST_SHOWN = 12
"""Lines of a kind that are shown."""
Told = dict[str, Any]


def proposed(drop: Path, target: Path | None, name: str, answers: list[str]) -> Told:
    """
    Read the files of a drop and say what they would become, as JSON can hold it.

    Parameters
    ----------
    drop
        Folder of the drop.
    target
        Scenario that they go into; None if a new one is made.
    name
        Name of the new one.
    answers
        As `--answer` takes them.
    """
    from logistics.scenario import ScenarioError

    stage = drop / STAGE
    shutil.rmtree(stage, ignore_errors=True)
    stage.mkdir()
    told: Told = {"sheets": [], "questions": [], "warnings": [], "faults": [],
                  "changes": [], "map": [], "left": [], "ready": False}  # fmt: skip
    if target is not None:
        told["digest"] = digest_of(target)
        for path in input_files(target):
            shutil.copyfile(path, stage / path.name)
    try:
        told["ready"] = _propose(told, _files(drop), stage, name, answers)
    except ScenarioError as error:
        told["faults"] += [str(problem) for problem in error.problems]
    except ZipFault as fault:
        told["faults"].append(str(fault))
    return told


def _files(drop: Path) -> list[Path]:
    """Files of a drop; those in ZIP files are unpacked beside them."""
    shapes = drop / "shapes"
    shutil.rmtree(shapes, ignore_errors=True)
    found = []
    for path in sorted((drop / "files").iterdir()):
        if path.suffix.lower() != ".zip":
            found.append(path)
            continue
        place = shapes / path.stem
        place.mkdir(parents=True)
        try:
            unpack(path, place, LIMITS, SHAPE)
        except ZipFault as fault:
            message = f"{path.name} {fault}. A ZIP file is read if it is a share file "
            message += "of Loamhaul, or holds shapefiles and nothing else"
            raise ZipFault(message) from None
        inside = sorted(place.rglob("*.[sS][hH][pP]"))
        if not inside:
            message = f"{path.name} holds no shapefile"
            raise ZipFault(message)
        found += inside
    names = [path.name for path in found]
    if twice := {name for name in names if names.count(name) > 1}:
        message = f"{min(twice)} is there twice. Give one of them another name"
        raise ZipFault(message)
    return found


def _propose(
    told: Told, files: list[Path], stage: Path, name: str, answers: list[str]
) -> bool:
    """Fill in what is told; return whether all of it may be written."""
    from logistics.scenario import read_scenario
    from maps.bringing import (
        HEIGHTS,
        MAP,
        TABLES,
        Bringing,
        GroundBringing,
        faults_left,
        sorted_files,
    )

    parts = sorted_files(files)
    if HEIGHTS in parts:
        message = f"{parts[HEIGHTS][0].name} is a raster, which does not say what it "
        message += "holds. Bring it with the command: loamhaul bring --as heights"
        raise ZipFault(message)
    of_maps = [one for one in answers if ":kind=" in one]
    of_tables = [one for one in answers if one not in of_maps]
    if TABLES in parts:
        with Bringing(parts[TABLES], stage, None, of_tables, name) as run:
            proposal = run.propose()
            _tell(told, proposal)
            told["changes"] = run.changes(proposal)
            if proposal.questions or proposal.faults:
                return False
            run.write(proposal)
    told["left"] = faults_left(stage)
    if MAP not in parts:
        return True
    if not any(stage.iterdir()):
        message = "A map needs a scenario that has its sites: choose it above, or drop "
        message += "the tables with the map"
        raise ZipFault(message)
    ground = GroundBringing(parts[MAP], stage, None, of_maps, anew=False)
    told["map"] = ground.propose(read_scenario(stage), MAP)
    ground.write(MAP)
    told["left"] = faults_left(stage)
    return True


def _tell(told: Told, proposal: Proposal) -> None:
    from logistics.bringing import short_names

    short = short_names(proposal.bodies)
    told["sheets"] = [_sheet(b, short[b.recipe.label]) for b in proposal.bodies]
    told["questions"] = [
        {"place": q.place, "text": q.text, "choices": list(q.choices)}
        for q in proposal.questions
    ]
    told["warnings"] = _first([*map(str, proposal.warnings)])
    told["faults"] = [str(fault) for fault in proposal.faults]


def _first(lines: list[str]) -> list[str]:
    more = len(lines) - MOST_SHOWN
    return [*lines[:MOST_SHOWN], *([f"{more} more of the kind"] if more > 0 else [])]


def _sheet(body: Body, short: str) -> Told:
    """Say what a sheet is taken for, column by column, and what is left out."""
    from logistics.scenario import in_list

    recipe, sheet = body.recipe, body.sheet
    pairs = [f"{key} = {value}" for part in (recipe.values, recipe.told)
             for key, value in part.items()]  # fmt: skip
    pairs += [f"{ours}: {word!r} is {meant}" for ours, words in recipe.words.items()
              for word, meant in words.items()]  # fmt: skip
    columns = []
    for column in recipe.columns if recipe.table not in {"", "?"} else ():
        first = next((text for _, text in body.texts(column.ours)), "")
        unit = {"ours": ""}.get(column.unit, column.unit)
        columns.append([column.ours, column.heading, unit, first[:40],
                        column.confidence, column.why])  # fmt: skip
    return {
        "label": sheet.label,
        "short": short,
        "table": recipe.table,
        "sure": recipe.confidence,
        "why": recipe.why,
        "heads": "" if sheet.layer else in_list(map(str, recipe.heading_rows)),
        "rows": len(body.rows),
        "said": list(sheet.said),
        "columns": columns,
        "pairs": pairs,
        "unused": list(body.unused) if recipe.table else [],
        "left": _first([f"Row {row}: {why}" for row, why in body.left]),
    }


def main(asked: str) -> Told:
    """Do what is asked; whatever a strange file does, there are words for it."""
    drop, target, name, answers = json.loads(asked)
    try:
        return proposed(Path(drop), Path(target) if target else None, name, answers)
    except Exception:
        words = "These files could not be read: the program that reads them ended"
        return {"faults": [words], "ready": False}


if __name__ == "__main__":
    sys.stdout.write(json.dumps(main(sys.stdin.read())))
