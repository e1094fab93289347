"""
The last door: what still goes wrong is told in one sentence, with a report to send.

The report is a zip file beside the user's work: versions, the settings and the error
with its traceback. Tables go in only where the user asks for it.
"""

from __future__ import annotations

import io
import platform
import sys
import tempfile
import traceback
import zipfile
from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import typer

from maps.commands.choices import WITH_DATA, Exit

SETTINGS = "scenario.toml"
TABLES = {".csv", ".xlsx", ".xlsm", ".ods", ".gpkg", ".toml", ".geojson"}
MOST_BYTES = 50_000_000
"""Size of a table above which it is left out of a report. [bytes]"""

PACKAGES = ("loamhaul", "highspy", "pulp", "pandas", "numpy", "geopandas", "shapely",
            "networkx", "pyogrio", "openpyxl", "typer", "rich", "pyvrp")  # fmt: skip


def told_bug(error: BaseException, words: Sequence[str]) -> Exit:
    """
    Tell of an error that nobody foresaw, and keep a report of it.

    Parameters
    ----------
    error
        What came through.
    words
        What was typed after ``loamhaul``.

    Returns
    -------
    Exit
        Exit code for it.
    """
    report = bug_report(error, words)
    name = f"loamhaul-report-{datetime.now():%Y%m%d-%H%M%S}"
    held = "your tables too" if WITH_DATA in words else "none of your tables"
    kept = write_here(report, f"{name}.zip")
    say = [f"Loamhaul met an error of its own while {task(error, words)}."]
    if isinstance(error, MemoryError):
        say = [f"There was not enough memory for {task(error, words)}."]
    say.append("What was written before is as it was.")
    if kept is None:
        say.append("No report of it could be written; this is the error itself:")
        say += ["", *traceback.format_exception(error)]
    else:
        say.append(f"A report is in {kept}: please send it to whoever helps you.")
        say.append(f"It holds versions, settings and the error, and {held}.")
    with suppress(OSError, ValueError):  # where nobody reads the error output
        typer.echo(" ".join(say) if kept else "\n".join(say), err=True)
    return Exit.BUG


def task(error: BaseException, words: Sequence[str]) -> str:
    """
    Say what was being done, and to which file where that is known.

    >>> task(ValueError(), ["--with-data", "plan", "mydistrict", "--out", "a"])
    'running: loamhaul plan mydistrict --out a'
    """
    typed = " ".join(word for word in words if word != WITH_DATA)
    said = f"running: loamhaul {typed}".rstrip()
    notes = [note for one in _chain(error) for note in getattr(one, "__notes__", ())]
    files = [str(one.filename) for one in _chain(error)
             if isinstance(one, OSError) and one.filename]  # fmt: skip
    return (
        f"{notes[0]} ({said})" if notes else f"{said} ({files[0]})" if files else said
    )


def bug_report(error: BaseException, words: Sequence[str]) -> bytes:
    """Make a zip file of versions, settings and an error; see `told_bug`."""
    folder = _scenario(words)
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(
            "error.txt", _homeless("".join(traceback.format_exception(error)))
        )
        archive.writestr("versions.txt", versions(words))
        if folder is not None:
            _add(archive, folder / SETTINGS)
        if folder is not None and WITH_DATA in words:
            for path in sorted(folder.iterdir()):
                if path.suffix.lower() in TABLES and path.name != SETTINGS:
                    _add(archive, path)
    return made.getvalue()


def versions(words: Sequence[str]) -> str:
    """List what was typed, the system, and the versions of what is installed."""
    lines = [_homeless(f"loamhaul {' '.join(words)}"), platform.platform(), sys.version]
    for name in PACKAGES:
        try:
            lines.append(f"{name} {version(name)}")
        except PackageNotFoundError:
            lines.append(f"{name} not installed")
    return "\n".join(lines) + "\n"


def _add(archive: zipfile.ZipFile, path: Path) -> None:
    """Add a file under `scenario`; one that cannot be read is left out."""
    try:
        if path.is_file() and path.stat().st_size <= MOST_BYTES:
            archive.write(path, f"scenario/{path.name}")
    except OSError:
        archive.writestr(f"scenario/{path.name}.txt", "could not be read\n")


def _scenario(words: Sequence[str]) -> Path | None:
    """Return the first folder among what was typed that holds settings."""
    for word in words:
        try:
            if (Path(word) / SETTINGS).is_file():
                return Path(word)
        except (OSError, ValueError):
            continue
    return None


def write_here(content: bytes, name: str, mode: str = "xb") -> Path | None:
    """
    Write a file here, or where temporary files go; None if neither can be.

    Parameters
    ----------
    content, name
        Its bytes; its name, to which a number is added where it is taken.
    mode
        "wb" to replace an older one instead.
    """
    stem, dot, ending = name.rpartition(".")
    for place in (Path.cwd, lambda: Path(tempfile.gettempdir())):
        for number in ("", *(f"-{n}" for n in range(2, 100))):
            try:
                path = place() / f"{stem}{number}{dot}{ending}"
                with path.open(mode) as file:
                    file.write(content)
            except FileExistsError:
                continue
            except OSError:
                break
            return path
    return None


def _homeless(text: str) -> str:
    """Leave out where the user's own folder is: its name may be a person's."""
    try:
        return text.replace(str(Path.home()), "~")
    except RuntimeError:
        return text


def _chain(error: BaseException) -> list[BaseException]:
    """Return an error and those it came from, the last first."""
    found: list[BaseException] = []
    one: BaseException | None = error
    while one is not None and one not in found:
        found.append(one)
        one = one.__cause__ or one.__context__
    return found
