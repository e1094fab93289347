"""A short hash of what a scenario says, however its files are written."""

from __future__ import annotations

import hashlib
import json

from logistics.scenario.scenario import Scenario


def fingerprint(scenario: Scenario) -> str:
    """Return a short hash of settings and tables: same hash, same problem."""
    digest = hashlib.sha256()
    settings = scenario.settings.model_dump(mode="json")
    digest.update(json.dumps(settings, sort_keys=True).encode())
    for name in sorted(scenario.tables):
        digest.update(name.encode())
        digest.update(scenario.tables[name].to_csv(index=False).encode())
    return digest.hexdigest()[:16]
