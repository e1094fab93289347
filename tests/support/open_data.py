"""Open data shipped inside other packages, found without importing these."""

from importlib.util import find_spec
from pathlib import Path

import pytest


def data_of(package: str, inside: str) -> Path:
    """Return a data file of an installed package, or skip the test with one line."""
    found = find_spec(package)
    if found is None or not found.submodule_search_locations:
        pytest.skip(f"{package} is not installed; its {inside} is the test's data")
    path = Path(found.submodule_search_locations[0]) / inside
    if not path.exists():
        pytest.skip(f"this version of {package} ships no {inside}")
    return path
