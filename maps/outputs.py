"""
Every file of a plan, written so that a killed run leaves the old ones whole.

To add an output, write a function from Result and path to nothing and name it in
`OUTPUTS`.
"""

from __future__ import annotations

import json
import math
import os
import shutil
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from maps.geo import write_geopackage, write_kml, write_map
from maps.report import write_report
from maps.tables import tables, write_budget, write_workbook

if TYPE_CHECKING:
    from logistics.results import Result


def plain(value: object) -> object:
    """
    Turn a value into what JSON holds: plain numbers, text, lists; no NaN.

    >>> plain({"b": float("nan"), "a": (1, 2.5)})
    {'a': [1, 2.5], 'b': None}
    """
    if isinstance(value, Mapping):
        keys = sorted(value, key=str)
        return {str(key): plain(value[key]) for key in keys}
    if isinstance(value, list | tuple | set | frozenset):
        items = sorted(value, key=str) if isinstance(value, set | frozenset) else value
        return [plain(item) for item in items]
    if hasattr(value, "item") and not isinstance(value, str):
        return plain(value.item())
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if value is None or isinstance(value, str | bool | int):
        return value
    return str(value)


def write_summary(result: Result, path: Path) -> None:
    """Write summary.json: sorted keys, plain numbers, no NaN."""
    text = json.dumps(
        plain(result.summary), indent=2, sort_keys=True, allow_nan=False, default=str
    )
    path.write_text(text + "\n", encoding="utf-8", newline="\n")


def write_tables(result: Result, path: Path) -> None:
    """Write every table as <name>.csv into the folder `path`."""
    path.mkdir()
    for name, table in tables(result).items():
        table.to_csv(
            path / f"{name}.csv", index=False, encoding="utf-8", lineterminator="\n"
        )


OUTPUTS: dict[str, Callable[[Result, Path], None]] = {
    "summary.json": write_summary,
    "map.html": write_map,
    "report.html": write_report,
    "plan.xlsx": write_workbook,
    "budget.xlsx": write_budget,
    "plan.gpkg": write_geopackage,
    "plan.kml": write_kml,
    "plan.csv": write_tables,
}
"""Name of the file or folder -> the function that writes it."""


def check_out(out_dir: Path) -> None:
    """Raise OSError at once if the outputs could not be written later."""
    if out_dir.exists() and not out_dir.is_dir():
        message = f"{out_dir} is a file; name a folder for the outputs"
        raise NotADirectoryError(message)
    nearest = out_dir.absolute()
    while not nearest.exists():
        nearest = nearest.parent
    if not nearest.is_dir() or not os.access(nearest, os.W_OK):
        message = f"{nearest} cannot be written to; name another folder"
        raise PermissionError(message)


def write_outputs(result: Result, out_dir: Path) -> None:
    """
    Write every output, all or none.

    Everything is made in a temporary folder first, inside `out_dir` if that is there
    and beside it if not, so always on the same disk; only then are the files moved
    into place, and moved back if one of them cannot be. Other files in `out_dir` are
    left alone.

    Parameters
    ----------
    result
        A planned scenario.
    out_dir
        Folder for the outputs; made if it is not there.
    """
    check_out(out_dir)
    out_dir.parent.mkdir(parents=True, exist_ok=True)
    place = out_dir if out_dir.exists() else out_dir.parent
    work = Path(tempfile.mkdtemp(prefix=f".{out_dir.name}-", dir=place))
    try:
        new, old = work / "new", work / "old"
        new.mkdir()
        old.mkdir()
        for name, write in OUTPUTS.items():
            write(result, new / name)
        _swap(new, old, out_dir)
    finally:
        shutil.rmtree(work, ignore_errors=True)


def _swap(new: Path, old: Path, out_dir: Path) -> None:
    """Move what is in `new` into `out_dir`; undo everything if one move fails."""
    if not out_dir.exists():
        new.rename(out_dir)
        return
    done: list[tuple[Path, Path]] = []
    try:
        for name in OUTPUTS:
            if (out_dir / name).exists():
                _move(out_dir / name, old / name, done)
            _move(new / name, out_dir / name, done)
    except BaseException:
        for here, there in reversed(done):
            there.rename(here)
        raise


def _move(here: Path, there: Path, done: list[tuple[Path, Path]]) -> None:
    """Rename, and remember it."""
    here.rename(there)
    done.append((here, there))
