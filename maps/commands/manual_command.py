"""The command `manual`: the whole manual as one page, made here and opened."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from maps.commands.choices import Exit
from maps.commands.endings import command, fail

if TYPE_CHECKING:
    from maps.manual import Command

VALUES = {
    "float": "NUMBER",
    "float range": "NUMBER",
    "int": "NUMBER",
    "int range": "NUMBER",
    "path": "PATH",
    "str": "TEXT",
    "list[str]": "TEXT",
}
"""Kind of a value as typer calls it -> as the manual does."""


@command
def manual(
    context: typer.Context,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", metavar="FILE", help="File to write.", show_default="your own"
        ),
    ] = None,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Write the file without opening it.")
    ] = False,
) -> None:
    """Open the manual: one offline page with search, for all commands and tables."""
    import webbrowser

    from logistics.scenario import replace_file
    from maps.manual import manual_html

    file = (out or Path(typer.get_app_dir("loamhaul")) / "manual.html").absolute()
    if file.is_dir():
        message = f"{file} is a folder. Name a file, as in --out manual.html"
        raise fail(message, Exit.USAGE)
    file.parent.mkdir(parents=True, exist_ok=True)
    replace_file(file, manual_html(described(context), version_here()))
    typer.echo(f"The manual is {file}")
    if no_browser:
        return
    if webbrowser.open(file.as_uri()):
        typer.echo("It opens in your browser. If the browser may not read that folder,")
        typer.echo("write it elsewhere: loamhaul manual --out manual.html")
    else:
        typer.echo("No browser was found here; open the file in any browser.")


def version_here() -> str:
    """Return the version that is installed here."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("loamhaul")
    except PackageNotFoundError:
        return "not installed"


def described(context: typer.Context) -> list[Command]:
    """Describe every command as the manual needs it, in the order of the help."""
    from maps.manual import Command, Option

    group: Any = context.find_root().command
    found = []
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        records = (p.get_help_record(context) for p in command.params)
        options = [
            Option(named(record[0]), *worded(record[1])) for record in records if record
        ]
        meaning = (command.help or "").strip()
        found.append(Command(name, meaning, tuple(options)))
    return found


def named(shown: str) -> str:
    """
    Write an option with what follows it in a planner's words.

    >>> named("--gap <float range>"), named("--goal <cost|co2e>"), named("DIR <path>")
    ('--gap NUMBER', '--goal cost|co2e', 'DIR')
    """
    name, _, kind = shown.partition(" <")
    kind = kind.removesuffix(">")
    if not kind or not name.startswith("-"):
        return name
    return f"{name} {VALUES.get(kind, kind)}"


def worded(shown: str) -> tuple[str, str]:
    """
    Part the help of an option from its limits and put these into words.

    >>> worded("Longest time a plan [s].  [default: 9; 1<=x<=1000]")
    ('Longest time a plan [s].', '1 to 1,000; default 9')
    >>> worded("Folder of the scenario.  [required]")
    ('Folder of the scenario.', 'must be given')
    """
    text, _, rest = shown.partition("  [")
    told = []
    for part in filter(None, rest.removesuffix("]").split("; ")):
        if part == "required":
            told.append("must be given")
        elif part.startswith("default: "):
            told.append(f"default {part.removeprefix('default: ').strip('()')}")
        elif found := re.fullmatch(r"x>=(.+)", part):
            told.insert(0, f"{found[1]} or more")
        elif found := re.fullmatch(r"(.+)<=x<=(.+)", part):
            told.insert(0, " to ".join(f"{float(x):,.15g}" for x in found.groups()))
        else:
            told.append(part)
    return text, "; ".join(told)
