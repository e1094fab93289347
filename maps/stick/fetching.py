"""Wheels for other computers, by the indexes that pip and uv are set up with."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import distributions
from pathlib import Path

from maps.stick.targets import OLDEST_MACOS, Target

SOURCE = Path(__file__).resolve().parents[2]
"""Where the source lies, if Loamhaul runs from it."""


class StickFault(OSError):
    """A stick that cannot be written, with the reason and the remedy."""


@dataclass(frozen=True)
class Tools:
    """Commands that run uv and pip on this computer."""

    uv: tuple[str, ...]
    pip: tuple[str, ...]


def find_tools() -> Tools:
    """
    Return uv and pip, whichever way they are installed.

    Raises
    ------
    StickFault
        If there is no uv that runs.
    """
    beside = [Path(sys.executable).with_name("uv"), Path(sys.prefix).parent / "uv"]
    known = [os.environ.get("UV"), shutil.which("uv"), *map(str, beside)]
    ways = [(path,) for path in known if path]
    uv = next((way for way in ways if _runs(*way)), None)
    if uv is None:
        message = "uv is not on this computer. Install it with: pip install uv"
        raise StickFault(message)
    own = (sys.executable, "-m", "pip")
    return Tools(uv, own if _runs(*own) else (*uv, "tool", "run", "-q", "pip"))


def _runs(*command: str) -> bool:
    try:
        done = subprocess.run(
            [*command, "--version"], capture_output=True, check=False, timeout=60
        )
    except (OSError, subprocess.TimeoutExpired):
        return False
    return done.returncode == 0


def run(command: Sequence[str], doing: str, **settings: str) -> str:
    """
    Run a program and return what it printed.

    Parameters
    ----------
    command
        Program and arguments.
    doing
        What for, as "for Linux"; for the error.
    settings
        Environment variables beside those there are.

    Raises
    ------
    StickFault
        If it fails, with its own last words.
    """
    done = subprocess.run(
        list(command),
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="replace",
        check=False,
        stdin=subprocess.DEVNULL,
        env={**os.environ, **settings},
    )
    if done.returncode:
        lines = [x for x in done.stderr.splitlines() if "WARNING" not in x and x]
        said = " ".join(" ".join(lines[-4:]).split()).rstrip(".")
        message = f"{doing} failed: {said}"
        raise StickFault(message)
    return done.stdout


def own_wheel(tools: Tools, given: Path | None, folder: Path) -> Path:
    """
    Put the wheel of Loamhaul into a folder: the one given, or built from the source.

    Raises
    ------
    StickFault
        If none is given and Loamhaul does not run from its source, or the file given is
        no wheel of Loamhaul.
    """
    if given is not None:
        if not re.fullmatch(r"loamhaul-[^-]+-py3-none-any\.whl", given.name):
            message = f"{given} is not named as a wheel of Loamhaul is"
            raise StickFault(message)
        if not given.is_file() or not zipfile.is_zipfile(given):
            message = f"{given} is no wheel: the file is missing or damaged"
            raise StickFault(message)
        return Path(shutil.copyfile(given, folder / given.name))
    if not (SOURCE / "pyproject.toml").is_file():
        message = (
            "Loamhaul is installed here without its source. Name its wheel with "
            "--wheel FILE: it is in the folder wheels of the stick it came from"
        )
        raise StickFault(message)
    command = [*tools.uv, "build", "-q", "--wheel", "--out-dir", str(folder)]
    run([*command, str(SOURCE)], "Building the wheel of Loamhaul")
    return next(folder.glob("loamhaul-*.whl"))


def versions_here() -> str:
    """Return the versions that run here, as limits: the stick gets what was tried."""
    known = (d for d in distributions() if d.name and d.name != "loamhaul")
    found = {d.name: d.version for d in known}
    lines = (f"{n}=={v}\n" for n, v in sorted(found.items()) if "+" not in v)
    return "".join(lines)


def fetch(
    tools: Tools, target: Target, python: str, wheel: Path, folder: Path
) -> tuple[Path, ...]:
    """
    Bring every wheel that Loamhaul needs on a computer of one kind.

    uv chooses the versions, by the target's own conditions; pip brings the files.

    Parameters
    ----------
    tools
        uv and pip.
    target
        Kind of computer.
    python
        Version of Python there, such as 3.13.
    wheel
        The wheel of Loamhaul.
    folder
        Where the wheels go; empty.

    Raises
    ------
    StickFault
        If a library has no wheel for it, or cannot be brought.
    """
    doing = f"Choosing wheels for {target.label} with Python {python}"
    limits = folder.with_name(f"{folder.name}-limits.txt")
    wanted = folder.with_name(f"{folder.name}-wanted.txt")
    chosen = folder.with_name(f"{folder.name}-chosen.txt")
    limits.write_text(versions_here(), encoding="utf-8")
    wanted.write_text(f"loamhaul @ {wheel.as_uri()}\n", encoding="utf-8")
    command = [*tools.uv, "pip", "compile", "-q", "--no-header", "--no-annotate"]
    command += ["--no-build", "--python-platform", target.resolver]
    command += ["--python-version", python, "-c", str(limits), str(wanted)]
    named = run(command, doing, MACOSX_DEPLOYMENT_TARGET=f"{OLDEST_MACOS}.0")
    others = [x for x in named.splitlines() if "==" in x]
    chosen.write_text("\n".join(others) + "\n", encoding="utf-8")
    _download(tools, target, python, ["-r", str(chosen)], folder)
    return tuple(sorted(folder.glob("*.whl")))


def fetch_uv(tools: Tools, target: Target, python: str, folder: Path) -> bytes:
    """Return the program uv for a kind of computer, out of its wheel."""
    version = run([*tools.uv, "--version"], "Asking uv").split()[1]
    _download(tools, target, python, [f"uv=={version}"], folder)
    with zipfile.ZipFile(next(folder.glob("uv-*.whl"))) as packed:
        inside = f"uv-{version}.data/scripts/{target.program}"
        return packed.read(inside)


def _download(
    tools: Tools, target: Target, python: str, what: list[str], folder: Path
) -> None:
    tags = [word for tag in target.tags for word in ("--platform", tag)]
    abi = f"cp{python.replace('.', '')}"
    command = [*tools.pip, "download", "-q", "--no-deps", "--only-binary=:all:"]
    command += ["--implementation", "cp", "--python-version", python, "--abi", abi]
    command += [*tags, "--dest", str(folder), *what]
    run(command, f"Bringing wheels for {target.label} with Python {python}")
