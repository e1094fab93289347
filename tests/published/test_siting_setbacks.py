"""
Setbacks of the land screening against published ones.

The defaults are our judgement ("default, editable, not local"); what is printed
elsewhere spans far, and there is no value for the whole world. Planning screen, not
law; local codes and licensed practice decide. "Read" means the page was read, "from
memory" that it was not.
"""

import numpy as np
import pytest

from logistics.scenario.defaults import library

HANDBOOK = "Rynk (ed.), On-Farm Composting Handbook NRAES-54, 1992, ch. 7"
CAROLINA = "North Carolina, 15A NCAC 13B .1404"
JERSEY = "New Jersey DEP, leaf composting manual"
COLUMBIA = "British Columbia, agricultural environment code"
MANITOBA = "Manitoba, mortality compost"
# rule -> least and greatest distance printed [m], by work; all read
PRINTED = {
    "well": {HANDBOOK: (30, 61), CAROLINA: (30, 30), MANITOBA: (100, 100)},
    "lake": {HANDBOOK: (30, 61), CAROLINA: (15, 15), MANITOBA: (100, 100)},
    "homes": {
        HANDBOOK: (61, 152),
        CAROLINA: (61, 152),
        JERSEY: (76, 305),
        "Australian Capital Territory": (1000, 1000),
    },
    "boundary": {HANDBOOK: (15, 30), COLUMBIA: (4.5, 4.5), MANITOBA: (100, 100)},
}
RULES = library("siting_rules").frame.set_index("rule")


@pytest.mark.parametrize(
    ("rule", "value"),
    [
        ("well", 100),
        ("lake", 60),
        ("river", 60),
        ("homes", 300),
        ("homes_spoils", 500),
        ("boundary", 30),
        ("water_table", 1.5),
        ("slope", 5),
        ("slope_low", 2),
        ("slope_high", 4),
        ("flood", 0),
    ],
)
def test_library_holds_the_default_row(rule, value):
    """Row "Default (editable, not local)" of the sheet on siting; judgement."""
    assert RULES.loc[rule, "value"] == value
    assert RULES.loc[rule, "status"].startswith("judgement; planning screen, not law")


@pytest.mark.parametrize("rule", PRINTED)
def test_default_lies_within_what_is_printed(rule):
    low = min(a for a, _ in PRINTED[rule].values())
    high = max(b for _, b in PRINTED[rule].values())
    assert low <= RULES.loc[rule, "value"] <= high
    for work in PRINTED[rule]:
        assert work in RULES.loc[rule, "source"], work


def test_steepest_ground_is_that_of_the_handbook():
    """Rynk (ed.), The Composting Handbook, 2022, Table 10.1: 0 to 5 % (excerpt)."""
    assert RULES.loc["slope", "value"] == 5
    assert "Table 10.1" in RULES.loc["slope", "source"]


def test_only_the_least_area_is_left_to_the_yard_sizes():
    assert set(RULES.index[np.isnan(RULES["value"])]) == {"area"}
