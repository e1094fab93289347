"""Where the tests, their data and the demos are."""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TESTS = ROOT / "tests"
DATA = TESTS / "data"
SMALL = DATA / "good_small"
"""Two mills, a port and two candidate yards: the smallest district that works."""
SCENARIOS = ROOT / "scenarios"
DEMO = SCENARIOS / "brackwater"
BENCH = ROOT.parent / "shared" / "bench"
"""Published instances: open data, beside the repository and not part of it."""
