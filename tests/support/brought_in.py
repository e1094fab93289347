"""Files brought into a new scenario, as far as their rows; and three clean mills."""

import tempfile
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import pytest

from logistics.bringing import propose, standing_of
from logistics.scenario import ScenarioError, new_scenario

CLEAN = (
    ("North mill", -31.1, -0.9, 1200.0),
    ("Río mill", -31.2, -1.0, 850.5),
    ("South mill", -31.15, -0.95, 96.0),
)
"""Name, longitude and latitude [degrees], tonnes of rice husk a year."""


@dataclass
class Found:
    """Rows by table, faults in one text, open questions."""

    rows: dict = field(default_factory=dict)
    told: str = ""
    questions: list = field(default_factory=list)
    proposal: object = None


@cache
def new_district():
    """A new scenario, which proposing does not touch."""
    with tempfile.TemporaryDirectory() as place:
        new_scenario(Path(place) / "district", "csv")
        return standing_of(Path(place) / "district")


def brought(files, *answers, season=True):
    """Bring files into a new scenario; a season is answered where it is asked."""
    there = new_district()
    try:
        made = propose(files, there, (), answers)
        more = [
            f"{q.place}=milling" for q in made.questions if q.key == "values.season"
        ]
        if season and more:
            made = propose(files, there, (), [*answers, *more])
    except ScenarioError as error:
        return Found(told=str(error))
    told = "\n".join(map(str, made.faults))
    rows = made.gathered.tables if made.gathered and not told else {}
    return Found(rows, told, list(made.questions), made)


def right(rows):
    """Whether the sources are the clean mills, to a part in a million."""
    found = [
        (r["name"], float(r["lon"]), float(r["lat"]), float(r["amount"]))
        for r in rows["sources"]
    ]
    assert {r["material"] for r in rows["sources"]} == {"rice_husk"}
    assert {r.get("basis", "tonnes") for r in rows["sources"]} == {"tonnes"}
    assert [one[0] for one in found] == [one[0] for one in CLEAN]
    for one, clean in zip(found, CLEAN, strict=True):
        assert one[1:] == pytest.approx(clean[1:], rel=1e-6)
    return True
