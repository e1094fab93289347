"""Outputs appear as one set or not at all, and what an older run left goes with it."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from fnmatch import fnmatchcase
from pathlib import Path

SETTINGS_FILE = "scenario.toml"
"""What marks the folder of a district, where no output may go."""

OF_A_MONTH = (
    *("rounds.xlsx", "rounds.json", "rounds_map.html", "run_sheets_day_*.html"),
    *("yard_choice.csv", "yard_sheets/*.html", "geojson/*.geojson", "gpx/*.gpx"),
)
"""Files of the rounds of one period."""

SETS: Mapping[str, tuple[str, ...]] = {
    "plan": (
        *("summary.json", "map.html", "report.html", "explain.html"),
        *("plan.xlsx", "budget.xlsx"),
        *("plan.gpkg", "plan.kml", "plan.csv/*.csv"),
    ),
    "compare": (
        *("compare.html", "compare_sheet.html", "compare.xlsx", "compare.csv/*.csv"),
    ),
    "frontier": ("frontier.html", "frontier.xlsx", "frontier.csv"),
    "alternatives": (
        *("alternatives.html", "alternatives.xlsx", "alternatives.csv"),
        "alternatives_plans/*.toml",
    ),
    "robust": ("robust.xlsx", "robust.csv/*.csv"),
    "stress": (*("stress.html", "stress.xlsx", "stress.csv", "stress_futures/*.toml"),),
    "why": ("why.html", "why.json"),
    "shares": ("shares.html", "shares.xlsx", "shares.csv/*.csv"),
    "rounds": OF_A_MONTH,
    "rounds_all": (
        *(
            "overview.xlsx",
            "overview.csv",
            "budget.xlsx",
            *(f"rounds_*/{name}" for name in OF_A_MONTH),
        ),
    ),
    "sheets": ("*.html",),
    "stick": (
        *("*.txt", "manual.html", "install.*", "wheels/*.whl"),
        *("pins/*.txt", "programs/*/uv*", "python/*", "demos/*/*", "demos/*/changes/*"),
    ),
}
"""
What a command writes into its folder; a star stands for codes, days and tables.

Files so named may be replaced, and go when a later run does not write them. All others
in the folder are the user's.
"""


def check_out(out_dir: Path) -> None:
    """Raise OSError at once if outputs could not, or must not, be written there."""
    if out_dir.exists() and not out_dir.is_dir():
        message = f"{out_dir} is a file; name a folder for the outputs"
        raise NotADirectoryError(message)
    if (out_dir / SETTINGS_FILE).exists():
        message = (
            f"{out_dir} holds the tables of a district, and outputs beside them would "
            f"be read as tables; name another folder, such as {out_dir / 'out'}"
        )
        raise FileExistsError(message)
    nearest = out_dir.absolute()
    while not nearest.exists():
        nearest = nearest.parent
    if not nearest.is_dir() or not os.access(nearest, os.W_OK):
        message = f"{nearest} cannot be written to; name another folder"
        raise PermissionError(message)


@contextmanager
def whole_set(out_dir: Path, command: str) -> Iterator[Path]:
    """
    Give a folder to write into; at the end all that is in it moves into `out_dir`.

    It is a temporary folder, inside `out_dir` if that is there and beside it if not, so
    always on the same disk. If anything fails, or somebody stops the run, nothing is
    moved, or moved back, and `out_dir` is as it was. What an older run of the command
    wrote goes: a set is of one run. All else in `out_dir`, and in the folders of the
    set, is left alone.

    Parameters
    ----------
    out_dir
        Folder for the outputs; made if it is not there.
    command
        Whose outputs they are: a key of `SETS`, which names all of them.

    Raises
    ------
    OSError
        If `out_dir` cannot be written to.
    """
    ours = SETS[command]
    check_out(out_dir)
    out_dir.parent.mkdir(parents=True, exist_ok=True)
    place = out_dir if out_dir.exists() else out_dir.parent
    work = Path(tempfile.mkdtemp(prefix=f".{out_dir.name}-", dir=place))
    try:
        new, old = work / "new", work / "old"
        new.mkdir()
        old.mkdir()
        yield new
        _see_that_all_are_named(new, ours, command)
        _swap(new, old, out_dir, ours)
    finally:
        shutil.rmtree(work, ignore_errors=True)


def _files(folder: Path) -> Iterator[str]:
    """Paths of all files in a folder, from there, with / between."""
    for path in folder.rglob("*"):
        if not path.is_dir() or path.is_symlink():
            yield path.relative_to(folder).as_posix()


def _named(name: str, ours: Collection[str]) -> bool:
    """
    Say whether a path is one of the set; a star does not reach into folders.

    >>> _named("plan.csv/yards.csv", ["plan.csv/*.csv"]), _named("a/b.html", ["*.html"])
    (True, False)
    """
    return any(
        fnmatchcase(name, one) and name.count("/") == one.count("/") for one in ours
    )


def _see_that_all_are_named(new: Path, ours: Collection[str], command: str) -> None:
    """Raise if something was written that `SETS` does not name: it would not go."""
    unnamed = sorted(name for name in _files(new) if not _named(name, ours))
    if unnamed:
        message = f"{', '.join(unnamed)} must be named in SETS[{command!r}]"
        raise RuntimeError(message)


def _swap(new: Path, old: Path, out_dir: Path, ours: Collection[str]) -> None:
    """Exchange the set in `out_dir` for the new one; undo all if one move fails."""
    if not out_dir.exists():
        new.rename(out_dir)
        return
    older = (path for one in ours for path in out_dir.glob(one) if path.is_file())
    stale = sorted({path.relative_to(out_dir).as_posix() for path in older})
    fresh = sorted(_files(new))
    done: list[tuple[Path, Path]] = []
    emptied: set[Path] = set()
    try:
        for name in fresh:
            if (out_dir / name).is_dir() and not (out_dir / name).is_symlink():
                message = f"{out_dir / name} is a folder, where a file must be written"
                raise IsADirectoryError(message)
        for name in stale:
            _move(out_dir / name, old / name, done)
            emptied.add((out_dir / name).parent)
        for name in fresh:
            _move(new / name, out_dir / name, done)
    except BaseException:
        for here, there in reversed(done):
            there.rename(here)
        raise
    for folder in emptied - {out_dir}:
        if not any(folder.iterdir()):
            folder.rmdir()


def _move(here: Path, there: Path, done: list[tuple[Path, Path]]) -> None:
    """Rename, and remember it."""
    there.parent.mkdir(parents=True, exist_ok=True)
    here.rename(there)
    done.append((here, there))
