"""What `bring` shows and writes: the proposal as tables, all files as one set."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

import typer
from rich.table import Table

from maps.shared import clean, print_table, text_console

if TYPE_CHECKING:
    from logistics.bringing import Body, Merged, Proposal, SheetRecipe

MOST_LINES = 12
"""Lines of a kind that are printed."""


class Bringing:
    """
    One run of `bring`: a new folder is filled beside its place and moved on a yes.

    Parameters
    ----------
    files, folder
        What is brought, and where to.
    recipe
        File of the recipe, if it is not in the folder.
    answers
        As the option takes them.
    """

    def __init__(
        self,
        files: Sequence[Path],
        folder: Path,
        recipe: Path | None,
        answers: Sequence[str],
    ) -> None:
        from logistics.bringing import NAME

        self.files, self.folder = files, folder
        self.recipe = recipe or folder / NAME
        self.answers = list(answers)
        there = {path.name for path in folder.iterdir()} if folder.exists() else set()
        self.new = there <= {NAME}
        self.draft = Path(tempfile.mkdtemp(prefix="bring-")) if self.new else folder

    def __enter__(self) -> Bringing:
        """Fill a new scenario beside its place."""
        from logistics.scenario import new_scenario

        if self.new:
            new_scenario(self.draft, "csv")
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Take away what was filled."""
        if self.new:
            shutil.rmtree(self.draft, ignore_errors=True)

    def propose(self, answers: Sequence[str] = ()) -> Proposal:
        """Propose, with more answers than before."""
        from logistics.bringing import propose, read_recipe, standing_of

        self.answers += answers
        kept: tuple[SheetRecipe, ...] = ()
        if self.recipe.is_file():
            text = self.recipe.read_text(encoding="utf-8")
            kept = read_recipe(text, self.recipe.name)
        self.standing = standing_of(self.draft)
        return propose(self.files, self.standing, kept, self.answers)

    def ready(self, proposal: Proposal) -> bool:
        """Whether nothing is asked and nothing is wrong; says what is."""
        from logistics.scenario import ScenarioError

        if proposal.questions:
            many = len(proposal.questions)
            typer.echo(
                f"{many} question{'' if many == 1 else 's'} to answer first: in "
                f"{self.recipe}, where a ? stands, or with --answer."
            )
            return False
        if proposal.faults:
            typer.echo(str(ScenarioError(proposal.faults)), err=True)
            return False
        return True

    def keep_recipe(self, proposal: Proposal) -> None:
        """Write the recipe, so that it can be edited; nothing else is touched."""
        from logistics.bringing import recipe_text
        from logistics.scenario import replace_file

        self.recipe.parent.mkdir(parents=True, exist_ok=True)
        replace_file(self.recipe, recipe_text(proposal.recipes))
        typer.echo(f"The recipe is in {self.recipe}.")

    def write(self, proposal: Proposal) -> list[str]:
        """
        Write tables, settings and recipe as one set; return what to say of it.

        A file that cannot be written leaves all as they were.
        """
        from logistics.bringing import merged, recipe_text

        if proposal.gathered is None:
            return []
        made = merged(proposal.gathered, self.standing, self.folder.resolve().name)
        files = {self.folder / path.name: data for path, data in made.files.items()}
        files[self.recipe] = recipe_text(proposal.recipes).encode()
        if self.new:
            names = {path.name for path in files}
            files = {self.folder / path.name: path.read_bytes()
                     for path in sorted(self.draft.iterdir())
                     if path.name not in names} | files  # fmt: skip
        self.folder.mkdir(parents=True, exist_ok=True)
        _write_set(files)
        return [*_lines(made), *self._left_to_do()]

    def _left_to_do(self) -> list[str]:
        """Say what the check still finds."""
        from logistics.scenario import ScenarioError, read_scenario

        try:
            read_scenario(self.folder)
        except ScenarioError as error:
            told = [str(problem) for problem in error.problems[:MOST_LINES]]
            many = len(error.problems)
            head = f"{many} fault{'' if many == 1 else 's'} left for `loamhaul check`:"
            return [head, *told]
        return [f"The tables can be read. Next: loamhaul check {self.folder}"]

    def show(self, proposal: Proposal) -> None:
        """Print the proposal."""
        for body in proposal.bodies:
            _show_sheet(body)
        for question in proposal.questions:
            typer.echo(f"? {clean(question.place)}\n    {clean(question.text)}")
            if question.choices:
                from logistics.scenario import in_list

                typer.echo(f"    One of: {clean(in_list(question.choices))}")
        for warning in _first([*proposal.warnings]):
            typer.echo(f"Warning: {clean(warning)}")
        if proposal.gathered is not None and not proposal.faults:
            from logistics.bringing import merged

            for line in _lines(
                merged(proposal.gathered, self.standing, self.folder.resolve().name),
                future=True,
            ):
                typer.echo(clean(line))
            for said in proposal.gathered.said:
                typer.echo(clean(f"Note: {said}."))


def _first(texts: Sequence[object]) -> list[str]:
    shown = [str(text) for text in texts[:MOST_LINES]]
    more = len(texts) - len(shown)
    return [*shown, f"{more} more of the kind"] if more > 0 else shown


def _show_sheet(body: Body) -> None:
    """Print one sheet: what it is taken for, its columns, and what is left out."""
    from logistics.scenario import in_list

    recipe, sheet = body.recipe, body.sheet
    if not recipe.table:
        typer.echo(
            clean(f"{sheet.label}: left out, because {recipe.why or 'so told'}.")
        )
        return
    table = "which table is asked" if recipe.table == "?" else f"table {recipe.table}"
    heads = in_list(map(str, recipe.heading_rows))
    rows = "" if sheet.layer else f", headings in row {heads}"
    typer.echo(
        clean(f"{sheet.label}: {table} ({recipe.confidence}: {recipe.why}){rows}, "
              f"{len(body.rows):,} rows.")
    )  # fmt: skip
    for said in sheet.said:
        typer.echo(clean(f"  It {said}."))
    if recipe.table == "?":
        return
    if recipe.columns:
        _show_columns(body)
    for name in ("values", "told"):
        for key, value in getattr(recipe, name).items():
            typer.echo(clean(f"  {key} = {value}"))
    for ours, words in recipe.words.items():
        pairs = in_list(f"{word!r} is {meant}" for word, meant in words.items())
        typer.echo(clean(f"  {ours}: {pairs}"))
    if body.unused:
        typer.echo(clean(f"  Columns left out: {in_list(body.unused)}."))
    for line in _first([f"Row {row} left out: {why}" for row, why in body.left]):
        typer.echo(clean(f"  {line}."))
    typer.echo("")


def _show_columns(body: Body) -> None:
    table = Table(box=None)
    for head in ("column", "from", "unit", "first cell", "sure?", "because"):
        table.add_column(head)
    for column in body.recipe.columns:
        first = next((text for _, text in body.texts(column.ours)), "")
        unit = {"ours": ""}.get(column.unit, column.unit)
        cells = (column.ours, column.heading, unit, first[:30], column.confidence,
                 column.why)  # fmt: skip
        table.add_row(*map(clean, cells))
    print_table(text_console(), table)


def _lines(made: Merged, *, future: bool = False) -> list[str]:
    """Say what happens to each table."""
    lines = []
    for change in made.changes:
        parts = [
            f"{count:,} {what}"
            for count, what in (
                (change.added, "added"),
                (change.changed, "changed"),
                (change.same, "as before"),
                (change.gone, "example rows taken out"),
                (change.kept, "of which no file speaks stay"),
            )
            if count
        ]
        from logistics.scenario import in_list

        head = "would be" if future else "Written:"
        lines.append(f"{change.table} {head} {in_list(parts)}" if future
                     else f"{head} {change.table}, rows {in_list(parts)}.")  # fmt: skip
        lines += [f"  {cell}" for cell in change.cells]
    lines += [f"Also, {said}." for said in made.said]
    return lines


def _write_set(files: dict[Path, bytes]) -> None:
    """Write all files, or leave all as they were."""
    before = {path: path.read_bytes() if path.is_file() else None for path in files}
    drafts = {path: path.with_name(path.name + ".part") for path in files}
    try:
        for path, data in files.items():
            drafts[path].write_bytes(data)
        for path in files:
            drafts[path].replace(path)
    except BaseException:
        for path, old in before.items():
            drafts[path].unlink(missing_ok=True)
            if old is None:
                path.unlink(missing_ok=True)
            else:
                path.write_bytes(old)
        raise
