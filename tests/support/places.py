"""Where the tests, their data and the demos are."""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TESTS = ROOT / "tests"
DATA = TESTS / "data"
SMALL = DATA / "good_small"
"""Two mills, a port and two candidate yards: the smallest district that works."""
STRANGERS = DATA / "strangers"
TESSANDRE = STRANGERS / "tessandre"
"""Thirty sources, names with accents and commas, a currency of many noughts."""
TESSANDRE_ROADS = STRANGERS / "tessandre_roads.geojson"
KORRAVEL = STRANGERS / "korravel"
"""Quarters, ten materials, decimal commas, long names, accounts of its own."""
SCENARIOS = ROOT / "scenarios"
DEMO = SCENARIOS / "brackwater"
BENCH = ROOT.parent / "shared" / "bench"
"""Published instances: open data, beside the repository and not part of it."""
