"""Working days are counted from the calendar, so nobody has to write them down."""

import csv
import shutil

import pytest
from support.places import SMALL

from logistics.scenario import ScenarioError, read_scenario

FIRST = '\n[work]\nfirst_day = "2027-01-01"\n'


@pytest.fixture(params=["blank", "no column"])
def uncounted(request, tmp_path):
    """The small district without a figure for working days."""
    folder = shutil.copytree(SMALL, tmp_path / "d")
    with (folder / "periods.csv").open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    for row in rows:
        if request.param == "blank":
            row["working_days"] = ""
        else:
            del row["working_days"]
    with (folder / "periods.csv").open("w", encoding="utf-8", newline="") as lines:
        table = csv.DictWriter(lines, rows[0])
        table.writeheader()
        table.writerows(rows)
    return folder


def test_blank_working_days_are_counted_from_the_first_day(uncounted):
    """January 2027 has 31 days and five Sundays."""
    with (uncounted / "scenario.toml").open("a", encoding="utf-8") as settings:
        settings.write(FIRST)
    periods = read_scenario(uncounted).periods
    assert periods["working_days"].tolist()[:2] == [26, 24]


def test_without_a_first_day_they_must_be_given(uncounted):
    with pytest.raises(ScenarioError) as caught:
        read_scenario(uncounted)
    assert {problem.column for problem in caught.value.problems} == {"working_days"}
