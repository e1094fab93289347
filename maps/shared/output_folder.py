"""Outputs appear as one set or not at all, and what an older run left goes with it."""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from fnmatch import fnmatchcase
from functools import partial
from pathlib import Path

from logistics.scenario import tables
from maps.shared.swapping import NEW, swap_sets, take_back, work_folder

SETTINGS_FILE = "scenario.toml"
"""What marks the folder of a district, where no output may go."""

ROOM_BYTES = 20_000_000
"""What the outputs of a command may need; less is taken for a full disk. [bytes]"""

OF_A_MONTH = (
    *("rounds.xlsx", "rounds.json", "rounds_map.html", "run_sheets_day_*.html"),
    *("yard_choice.csv", "yard_sheets/*.html", "geojson/*.geojson", "gpx/*.gpx"),
)
"""Files of the rounds of one period."""

OF_A_PLAN = (
    *("summary.json", "map.html", "report.html", "explain.html"),
    *("plan.xlsx", "budget.xlsx"),
    *("plan.gpkg", "plan.kml", "plan.csv/*.csv"),
)
"""Files of one plan."""

OF_A_SCENARIO = tables()
"""Its tables: a star would take files of the user's own away."""

SETS: Mapping[str, tuple[str, ...]] = {
    "plan": OF_A_PLAN,
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
    "years": (
        *("way.html", "way.xlsx", "way.json", "way/*.csv"),
        *(f"last_year/{name}" for name in OF_A_PLAN),
    ),
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
    "export": (
        *("tables.gpkg", "tables.xlsx", "places.kml", SETTINGS_FILE, "changes/*.toml"),
        *(f"{table}.csv" for table in OF_A_SCENARIO),
    ),
    "form": (
        "survey.xlsx",
        *(f"paper/{name}.html" for name in ("sources", "yards", "markets", "roads")),
    ),
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
    """
    Raise OSError at once if outputs could not, or must not, be written there.

    What a run that was killed left there is put in order first; see `take_back`.
    """
    if out_dir.exists() and not out_dir.is_dir():
        message = f"{out_dir} is a file; name a folder for the outputs"
        raise NotADirectoryError(message)
    if (out_dir / SETTINGS_FILE).exists():
        message = (
            f"{out_dir} holds the tables of a district, and outputs beside them would "
            f"be read as tables; name another folder, such as {out_dir / 'out'}"
        )
        raise FileExistsError(message)
    take_back(out_dir)
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
    moved, or moved back, and `out_dir` is as it was; where the program is killed while
    it moves, the next command with this folder moves back. What an older run of the
    command wrote goes: a set is of one run. All else in `out_dir`, and in the folders
    of the set, is left alone.

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
    with work_folder(place, out_dir) as work:
        new = work / NEW
        try:
            yield new
        except Exception as error:
            full = full_disk(error, new)
            if full is None:
                raise
            raise full from error
        _see_that_all_are_named(new, ours, command)
        standing = partial(_standing, out_dir, ours)
        swap_sets(work, out_dir, standing, sorted(_files(new)))


@contextmanager
def doing(what: str) -> Iterator[None]:
    """Note on any error what was being done, for the report of an error of ours."""
    try:
        yield
    except Exception as error:
        error.add_note(what)
        raise


def full_disk(error: Exception, folder: Path) -> OSError | None:
    """
    Tell whether an error comes of a full disk: libraries that write say many things.

    Parameters
    ----------
    error
        What a writer raised.
    folder
        Where it wrote, below the folder of the outputs.

    Returns
    -------
    OSError or None
        What to raise in its place.
    """
    free = shutil.disk_usage(folder).free
    if isinstance(error, OSError) or free >= ROOM_BYTES:
        return None
    said = f"{os.strerror(errno.ENOSPC)}: {free / 1e6:.0f} MB are left, and outputs"
    said += f" may need {ROOM_BYTES / 1e6:.0f} MB"
    return OSError(errno.ENOSPC, said, str(folder.parents[1]))


def _standing(out_dir: Path, ours: Collection[str]) -> list[str]:
    """List the files of a set that are in a folder: paths from there."""
    found = (path for one in ours for path in out_dir.glob(one) if path.is_file())
    return sorted({path.relative_to(out_dir).as_posix() for path in found})


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
