"""From files to a proposal: what becomes what, what is asked, what is left out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from logistics.bringing.body import Body
from logistics.bringing.collector import collector_paused
from logistics.bringing.complete import completed
from logistics.bringing.drafting import drafts_of
from logistics.bringing.gathering import Gathered, gathered
from logistics.bringing.guess import (
    as_table,
    fits,
    place_headings,
    proposed,
)
from logistics.bringing.questions import Question, question_of
from logistics.bringing.reading import read_file
from logistics.bringing.recipe import ASK, NAME, SheetRecipe, answered
from logistics.bringing.sheets import ReadSheet
from logistics.bringing.standing import Surroundings
from logistics.bringing.survey import with_forms
from logistics.bringing.swapped import swapped_sheets
from logistics.scenario import (
    Problem,
    ScenarioError,
    choose_from,
    tables,
)


@dataclass(frozen=True, eq=False)
class Proposal:
    """
    What files would become.

    Attributes
    ----------
    bodies
        Sheets with their recipes, those left out too.
    recipes
        All recipes, those of sheets that were not given this time too.
    questions
        What has to be answered first.
    gathered
        Rows of our tables; None while anything is asked.
    """

    bodies: Sequence[Body]
    recipes: tuple[SheetRecipe, ...]
    questions: Sequence[Question]
    gathered: Gathered | None = None
    warnings: Sequence[Problem] = field(default_factory=list)

    @property
    def faults(self) -> list[Problem]:
        """What keeps the rows from being written."""
        return [] if self.gathered is None else self.gathered.faults


@collector_paused()
def propose(
    files: Sequence[Path],
    standing: Surroundings,
    kept: Sequence[SheetRecipe] = (),
    answers: Iterable[str] = (),
) -> Proposal:
    """
    Read files and propose what they become.

    Parameters
    ----------
    files
        Read and never touched.
    standing
        The scenario they go into.
    kept
        Recipes of earlier runs.
    answers
        As in `Mills:values.season=milling`.

    Raises
    ------
    ScenarioError
        If a file cannot be read, or an answer goes to nothing.
    """
    told = [_answer(text) for text in answers]
    encodings = {r.file: r.told["encoding"] for r in kept
                 if r.told.get("encoding", ASK) != ASK}  # fmt: skip
    names = {path.name: path.name for path in files}
    encodings |= {names[label]: value for label, key, value in told
                  if key == "told.encoding" and label in names}  # fmt: skip
    faults: list[Problem] = []
    sheets: list[ReadSheet] = []
    for path in files:
        try:
            sheets += read_file(path, encodings)
        except ScenarioError as error:
            faults += error.problems
    if faults:
        raise ScenarioError(faults)
    sheets, left = with_forms(sheets)
    bodies = _bodies(sheets, left, kept, told, standing)
    recipes = tuple(body.recipe for body in bodies)
    given = {(r.file, r.sheet) for r in recipes}
    used = [_kept_for(kept, sheet) for sheet in sheets]
    others = tuple(r for r in kept if r not in used and (r.file, r.sheet) not in given)
    short = short_names(bodies)
    questions = [
        question_of(body, key, standing, short[body.recipe.label])
        for body in bodies
        for key in body.recipe.asked()
    ]
    if questions:
        return Proposal(bodies, (*recipes, *others), questions)
    made, warnings = _gather(bodies, standing)
    recipes = tuple(
        replace(r, codes={**r.codes, **made.codes.get(r.label, {})}) for r in recipes
    )
    return Proposal(bodies, (*recipes, *others), [], made, warnings)


def short_names(bodies: Sequence[Body]) -> dict[str, str]:
    """Return for the label of each sheet the shortest name that no other has."""
    files = Counter(body.sheet.file for body in bodies)
    sheets = Counter(body.sheet.name for body in bodies)
    found = {}
    for body in bodies:
        file, name = body.sheet.file, body.sheet.name
        short = file if files[file] == 1 else body.recipe.label
        found[body.recipe.label] = name if name and sheets[name] == 1 else short
    return found


def _answer(text: str) -> tuple[str, str, str]:
    """Part an answer into sheet, key and value."""
    place, _, value = text.partition("=")
    label, _, key = place.rpartition(":")
    if not label or not key or not value:
        why = f"{text!r} is not an answer"
        remedy = "Write it as in 'Mills:values.season=milling'"
        raise ScenarioError([Problem("--answer", None, "", None, why, remedy)])
    return label.strip(), key.strip(), value.strip()


def _kept_for(kept: Sequence[SheetRecipe], sheet: ReadSheet) -> SheetRecipe | None:
    """Return the recipe of an earlier run for a sheet, its own before one that fits."""
    own = [r for r in kept if r.file == sheet.file and r.sheet == sheet.name]
    like = own or [r for r in kept if r.table not in {"", ASK} and fits(r, sheet)]
    return like[0] if like else None


def _bodies(
    sheets: Sequence[ReadSheet],
    left: Mapping[int, str],
    kept: Sequence[SheetRecipe],
    told: Sequence[tuple[str, str, str]],
    standing: Surroundings,
) -> list[Body]:
    """Give every sheet its recipe, with the answers and all that its cells show."""
    found = []
    labels = set()
    for place, sheet in enumerate(sheets):
        recipe = _kept_for(kept, sheet)
        if recipe is None:
            recipe = proposed(sheet)
        else:
            moved = place_headings(recipe, sheet) if recipe.columns else None
            recipe = moved or _asked_anew(Body(sheet, recipe))
            recipe = replace(recipe, file=sheet.file, sheet=sheet.name)
        if place in left and recipe.why != "the recipe":
            recipe = SheetRecipe(sheet.file, sheet.name, why=left[place])
        mine = {recipe.label, sheet.file, sheet.name} - {""}
        labels |= mine
        mine_told = [(key, value) for label, key, value in told if label in mine]
        found.append(Body(sheet, _with_answers(sheet, recipe, mine_told)))
    lost = [label for label, _, _ in told if label not in labels]
    if lost:
        why = "is the name of no sheet or file that was given"
        remedy = choose_from(lost[0], sorted(labels))
        raise ScenarioError([Problem("--answer", None, "", lost[0], why, remedy)])
    used = [body for body in found if body.recipe.table not in {"", ASK}]
    done = []
    for body in found:
        if body not in used:
            done.append(body)
            continue
        others = [
            b for b in used if b is not body and b.recipe.table == body.recipe.table
        ]
        given = {ours for b in others for ours in (*b.places, *b.recipe.values)}
        recipe = completed(body, standing, given)
        done.append(body.with_recipe(recipe))
    return done


def _asked_anew(body: Body) -> SheetRecipe:
    """Ask for every heading of a recipe that a file does not have any more."""
    recipe = body.recipe
    for column in recipe.columns:
        if column.heading in body.missing:
            why = f"{column.heading!r} is not there any more"
            recipe = recipe.with_column(replace(column, heading=ASK, why=why))
    return recipe


def _with_answers(
    sheet: ReadSheet,
    recipe: SheetRecipe,
    answers: Sequence[tuple[str, str]],
) -> SheetRecipe:
    for key, value in sorted(answers, key=lambda pair: pair[0] != "table"):
        if key == "table" and value not in {*tables(), "none", "-"}:
            why, remedy = "is not a table", choose_from(value, tables())
            raise ScenarioError([Problem("--answer", None, key, value, why, remedy)])
        try:
            if key == "table" and value in tables() and value != recipe.table:
                recipe = as_table(sheet, value, recipe)
            recipe = answered(recipe, key, value)
        except (KeyError, ValueError):
            why = f"goes to nothing in {recipe.label}"
            remedy = f"Use a key that {NAME} or a question shows"
            raise ScenarioError(
                [Problem("--answer", None, key, value, why, remedy)]
            ) from None
    return recipe


def _gather(
    bodies: Sequence[Body], standing: Surroundings
) -> tuple[Gathered, list[Problem]]:
    rows, faults, warnings = [], [], []
    for body in bodies:
        if body.recipe.table:
            drafts = drafts_of(body, standing)
            rows += drafts.rows
            faults += drafts.faults
            warnings += drafts.warnings
    faults += swapped_sheets(rows)
    made = gathered(rows, {b.recipe.label: b.recipe for b in bodies}, standing)
    known = {(f.file, f.row) for f in faults}
    made.faults = faults + [
        f for f in made.faults
        if (f.file, f.row) not in known or not f.why.startswith("is given by no file")
    ]  # fmt: skip
    return made, [*warnings, *made.warnings]
