"""Settings that all tests share: nothing random without a seed."""

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")

collect_ignore = ["conftest.py", "browser/conftest.py"]
"""Two files of one name cannot both be looked through for examples."""
