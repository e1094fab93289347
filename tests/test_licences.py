"""What is installed with Loamhaul may be given away: licences, from metadata."""

import re
from importlib.metadata import PackageNotFoundError, distribution, requires

import pytest

ALLOWED = re.compile(
    r"\b(MIT|BSD|Apache|ISC|PSF|Python Software Foundation|Unlicense|Zlib|CC0|"
    r"MPL|Mozilla|HPND|0BSD|Public Domain|X11)\b",
    re.IGNORECASE,
)
"""They ask for no more than a notice; the Mozilla one that its files stay open."""
REFUSED = re.compile(r"\b(A?GPL|LGPL|GNU|SSPL|BUSL|proprietary|commercial)", re.I)

UNSTATED = {"orloge"}
"""Packages that state none where installed: PuLP needs it, for logs of solvers."""


def needed(name: str, found: dict[str, set[str]]) -> None:
    """Follow what a package needs at run time, without its extras."""
    if name in found:
        return
    try:
        wanted = requires(name) or []
    except PackageNotFoundError:  # needed on another system
        return
    found[name] = set()
    for one in wanted:
        if "extra ==" in one:
            continue
        below = re.match(r"[\w.-]+", one).group().lower().replace("_", "-")
        found[name].add(below)
        needed(below, found)


def licence(name: str) -> str:
    """Return what a package says of its licence: the expression, classifiers, text."""
    told = distribution(name).metadata
    classes = [one for one in told.get_all("Classifier", []) if "License ::" in one]
    first = (told.get("License") or "").strip().splitlines()[:1]
    return " / ".join(filter(None, [told.get("License-Expression"), *classes, *first]))


def packages() -> list[str]:
    found: dict[str, set[str]] = {}
    needed("loamhaul", found)
    return sorted(set(found) - {"loamhaul"})


def test_the_packages_are_found():
    assert {"pandas", "highspy", "pyvrp", "typer", "click"} <= set(packages())


@pytest.mark.parametrize("name", packages())
def test_a_licence_is_one_of_those_allowed(name):
    told = licence(name)
    if name in UNSTATED:
        assert told == "", f"{name} states its licence now: take it off the list"
        return
    assert ALLOWED.search(told), f"{name}: {told!r}"
    assert not REFUSED.search(told), f"{name}: {told!r}"


@pytest.mark.parametrize("words", ["GPL-3.0-or-later", "LGPL-2.1", "Proprietary", ""])
def test_others_would_be_seen(words):
    assert REFUSED.search(words) or not ALLOWED.search(words)
