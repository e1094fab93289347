"""A folder from which Loamhaul is installed without internet; whole, or not at all."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from logistics.scenario import in_list
from maps.shared import whole_set
from maps.stick.contents import FOR_READING, LIST, Content, line_of, listed, pins
from maps.stick.fetching import (
    StickFault,
    Tools,
    fetch,
    fetch_uv,
    find_tools,
    own_wheel,
)
from maps.stick.targets import TARGETS, Target

PYTHONS = ("3.12", "3.13", "3.14")
"""Versions of Python that every library has wheels for."""
SCRIPTS: Mapping[str, tuple[str, ...]] = {
    "windows": ("install.cmd", "install.ps1"),
    "macos": ("install.command", "install.sh"),
    "linux": ("install.sh",),
}
INSTALLERS = {".exe": "windows", ".pkg": "macos"}
"""Ending of an installer of Python -> its system."""
DEMO_FILES = (".csv", ".md", ".toml")


@dataclass(frozen=True)
class Order:
    """
    What a stick shall hold.

    Attributes
    ----------
    systems
        Of `SCRIPTS`, at least one.
    pythons
        Versions of Python, of `PYTHONS`, at least one.
    manual
        The manual as one page of HTML.
    wheel
        The wheel of Loamhaul; None to build it from the source.
    installers
        Installers of Python to put on the stick.
    """

    systems: tuple[str, ...]
    pythons: tuple[str, ...]
    manual: str
    wheel: Path | None = None
    installers: tuple[Path, ...] = ()

    def __post_init__(self) -> None:
        """Raise StickFault at once for what could only fail later."""
        unknown = [x for x in self.pythons if x not in PYTHONS]
        if unknown:
            message = f"Python {unknown[0]} is none of {in_list(PYTHONS)}"
            raise StickFault(message)
        for file in self.installers:
            system = INSTALLERS.get(file.suffix.lower())
            if system not in self.systems or not file.is_file() or " " in file.name:
                message = (
                    f"{file} is no installer for the systems named: an .exe for "
                    "windows or a .pkg for macos, without a space in its name"
                )
                raise StickFault(message)

    @property
    def targets(self) -> tuple[Target, ...]:
        """Kinds of computer that the stick serves."""
        return tuple(x for x in TARGETS if x.system in self.systems)


def write_stick(folder: Path, order: Order, told: Callable[[str], None]) -> int:
    """
    Write the folder; nothing of it is there unless all of it is.

    Parameters
    ----------
    folder
        Where; not there yet, or empty.
    order
        What for.
    told
        Called with each thing that is being done.

    Returns
    -------
    int
        Size of all files. [byte]

    Raises
    ------
    OSError
        If the folder holds files, cannot be written, or a wheel cannot be had.
    """
    check_empty(folder)
    tools = find_tools()
    with whole_set(folder, "stick") as new:
        with tempfile.TemporaryDirectory(prefix="loamhaul-stick-") as work:
            lines = _wheels(new, Path(work), order, tools, told)
        lines += _installers(new, order)
        lines += [line_of(new, path, FOR_READING) for path in _reading(new, order)]
        (new / LIST).write_text(listed(lines), encoding="utf-8", newline="\n")
        return sum(path.stat().st_size for path in new.rglob("*") if path.is_file())


def check_empty(folder: Path) -> None:
    """Raise if a folder holds anything: what is there is somebody's."""
    if folder.is_dir() and any(folder.iterdir()):
        message = (
            f"{folder} holds files already, and nothing of them is overwritten. "
            f"Name a new folder, such as {folder / 'loamhaul'}"
        )
        raise StickFault(message)


def _wheels(
    new: Path, work: Path, order: Order, tools: Tools, told: Callable[[str], None]
) -> list[Content]:
    """Put wheels, pins and uv in place, for each kind of computer and each Python."""
    for name in ("wheels", "pins", "programs"):
        (new / name).mkdir()
    told("The wheel of Loamhaul")
    built = own_wheel(tools, order.wheel, _made(work / "own"))
    own = _copied(built, new / "wheels")
    lines = []
    for target in order.targets:
        told(f"uv for {target.label}")
        place = new / "programs" / target.label / target.program
        place.parent.mkdir()
        box = _made(work / target.label)
        place.write_bytes(fetch_uv(tools, target, order.pythons[0], box))
        lines.append(line_of(new, place, target.label))
        for python in order.pythons:
            label = f"{target.label}-{python}"
            told(f"Wheels for {target.label} with Python {python}")
            brought = fetch(tools, target, python, own, _made(work / label))
            kept = [_copied(x, new / "wheels") for x in brought]
            wheels = [line_of(new, x, label) for x in (own, *kept)]
            pinned = new / "pins" / f"{label}.txt"
            pinned.write_text(pins(wheels), encoding="utf-8", newline="\n")
            lines += [*wheels, line_of(new, pinned, label)]
    return lines


def _copied(file: Path, folder: Path) -> Path:
    """
    Copy without rights: a stick keeps none, and some refuse to be given them.

    Raises
    ------
    StickFault
        If another file of this name is there: one of the two would fail its checksum.
    """
    place = folder / file.name
    if place.exists() and place.read_bytes() != file.read_bytes():
        message = f"two different files are called {file.name}: try once more"
        raise StickFault(message)
    return Path(shutil.copyfile(file, place))


def _made(folder: Path) -> Path:
    folder.mkdir()
    return folder


def _installers(new: Path, order: Order) -> list[Content]:
    """Copy installers of Python, each listed for its system."""
    place = _made(new / "python")
    lines = []
    for file in order.installers:
        copied = _copied(file, place)
        system = INSTALLERS[file.suffix.lower()]
        labels = [x.label for x in order.targets if x.system == system]
        lines += [line_of(new, copied, label) for label in labels]
    if not order.installers:
        place.rmdir()
    return lines


def _reading(new: Path, order: Order) -> list[Path]:
    """Write scripts, words, manual and demos; return them."""
    names = {name for system in order.systems for name in SCRIPTS[system]}
    scripts = Path(str(resources.files("maps.stick"))) / "scripts"
    names |= {path.name for path in scripts.glob("*.txt")}
    for name in sorted(names):
        text = (scripts / name).read_text("utf-8")
        ending = "\r\n" if name.endswith((".cmd", ".ps1", ".txt")) else "\n"
        (new / name).write_text(text, encoding="utf-8", newline=ending)
        if name.endswith((".command", ".sh")):
            with suppress(OSError):
                (new / name).chmod(0o755)
    (new / "manual.html").write_text(order.manual, encoding="utf-8", newline="\n")
    for origin in _demos():
        for path in sorted([*origin.glob("*.*"), *origin.glob("changes/*.toml")]):
            if path.suffix in DEMO_FILES:
                copied = new / "demos" / origin.name / path.relative_to(origin)
                copied.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(path, copied)
    folders = ("wheels", "pins", "programs", "python")
    every = [path for path in sorted(new.rglob("*")) if path.is_file()]
    return [x for x in every if x.relative_to(new).parts[0] not in folders]


def _demos() -> list[Path]:
    """Folders of the demos: packed in the wheel, or beside the source."""
    maps = Path(str(resources.files("maps")))
    for place in (maps / "demos", maps.parent / "scenarios"):
        found = [path.parent for path in sorted(place.glob("*/scenario.toml"))]
        if found:
            return found
    message = "the demos are not with this installation; install Loamhaul anew"
    raise StickFault(message)
