"""The manual and the README as the tests read them, and all that must be in them."""

import re
from functools import cache

import typer
from support.places import ROOT

from maps.commands import app
from maps.commands.manual_command import described
from maps.manual import Command, Page, manual_html, read_pages
from maps.manual.reference import BLOCK, wishes

README = ROOT / "README.md"
FOLDER = ROOT / "maps" / "manual"


@cache
def commands() -> tuple[Command, ...]:
    """All commands, described as the manual has them."""
    return tuple(described(typer.Context(typer.main.get_command(app))))


@cache
def html() -> str:
    """The whole manual as one page."""
    return manual_html(commands(), "0.0.0")


@cache
def asked_for() -> frozenset[str]:
    """Everything that the reference blocks of all pages ask for."""
    return frozenset(wish for page in read_pages() for wish in wishes(page.text))


def by_hand(page: Page) -> str:
    """What is written by hand on a page."""
    return BLOCK.sub("", page.text)


def all_by_hand() -> str:
    """What is written by hand on all pages."""
    return "\n".join(by_hand(page) for page in read_pages())


def options(command: Command) -> set[str]:
    """Options of a command, as typed."""
    return {
        name
        for each in command.options
        for name in re.findall(r"--[a-z][a-z-]*", each.name)
    }
