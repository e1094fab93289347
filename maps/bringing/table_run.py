"""One run of `bring` with tables: proposed, and written as one set."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from maps.disk import write_set
from maps.shared import typed

if TYPE_CHECKING:
    from logistics.bringing import Merged, Proposal, SheetRecipe

MOST_LINES = 12
"""Lines of a kind that are shown."""


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
    name
        Name that a new district gets; that of its folder if empty.
    """

    def __init__(
        self,
        files: Sequence[Path],
        folder: Path,
        recipe: Path | None,
        answers: Sequence[str],
        name: str = "",
    ) -> None:
        from logistics.bringing import NAME

        self.files, self.folder = files, folder
        self.recipe = recipe or folder / NAME
        self.answers = list(answers)
        self.name = name or folder.resolve().name
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

    def keep_recipe(self, proposal: Proposal) -> None:
        """Write the recipe, so that it can be edited; nothing else is touched."""
        from logistics.bringing import recipe_text
        from logistics.scenario import replace_file

        self.recipe.parent.mkdir(parents=True, exist_ok=True)
        replace_file(self.recipe, recipe_text(proposal.recipes))

    def changes(self, proposal: Proposal) -> list[str]:
        """Say what would happen to the rows of each table; nothing if it cannot."""
        from logistics.bringing import merged

        if proposal.gathered is None or proposal.faults:
            return []
        made = merged(proposal.gathered, self.standing, self.name)
        notes = [f"Note: {said}." for said in proposal.gathered.said]
        return [*change_lines(made, future=True), *notes]

    def write(self, proposal: Proposal) -> list[str]:
        """
        Write tables, settings and recipe as one set; return what to say of it.

        A file that cannot be written leaves all as they were.
        """
        from logistics.bringing import merged, recipe_text

        if proposal.gathered is None:
            return []
        made = merged(proposal.gathered, self.standing, self.name)
        files = {self.folder / path.name: data for path, data in made.files.items()}
        files[self.recipe] = recipe_text(proposal.recipes).encode()
        if self.new:
            names = {path.name for path in files}
            files = {self.folder / path.name: path.read_bytes()
                     for path in sorted(self.draft.iterdir())
                     if path.name not in names} | files  # fmt: skip
        self.folder.mkdir(parents=True, exist_ok=True)
        write_set(files)
        return [*change_lines(made), *left_to_do(self.folder)]


def left_to_do(folder: Path) -> list[str]:
    """Say what the check still finds, or what comes next."""
    faults = faults_left(folder)
    return faults or [f"The tables can be read. Next: loamhaul check {typed(folder)}"]


def faults_left(folder: Path) -> list[str]:
    """Say what the check still finds; nothing if the tables can be read."""
    from logistics.scenario import ScenarioError, read_scenario

    try:
        read_scenario(folder)
    except ScenarioError as error:
        told = [str(problem) for problem in error.problems[:MOST_LINES]]
        many = len(error.problems)
        head = f"{many} fault{'' if many == 1 else 's'} left for `loamhaul check`:"
        return [head, *told]
    return []


def change_lines(made: Merged, *, future: bool = False) -> list[str]:
    """Say what happens to the rows of each table."""
    from logistics.scenario import in_list

    lines = []
    for change in made.changes:
        parts = [
            f"{count:,} {what}"
            for count, what in (
                (change.added, "added"),
                (change.changed, "changed"),
                (change.same, "as before"),
                (change.gone, "of the examples taken out"),
                (change.kept, "in no file kept"),
            )
            if count
        ]
        done = "rows to write" if future else "rows written"
        lines.append(f"{change.table}, {done}: {in_list(parts)}.")
        lines += [f"  {cell}" for cell in change.cells]
    lines += [f"Also, {said}." for said in made.said]
    return lines
