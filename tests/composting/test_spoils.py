"""What spoils is one and the same everywhere: it keeps 72 hours or less."""

from dataclasses import replace

import numpy as np
import pytest
from support.places import SMALL

from logistics.composting.materials import SPOILS_HOURS, feedstocks, spoils
from logistics.costs.trips import inbound_trips
from logistics.model.assembly.assembler import assemble
from logistics.model.assembly.cover import cover_needed
from logistics.roads.travel_matrices import travel
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting
from logistics.studies.stress_runs import spoiling


def keeping(hours, **settings):
    """The small district with fish that keeps so long. [h]"""
    scenario = read_scenario(SMALL)
    table = scenario.materials.copy()
    table.loc[table["material"] == "fish", "keep_hours"] = hours
    wanted = scenario.settings
    for name, value in settings.items():
        wanted = change_setting(wanted, name.replace("__", "."), value)
    tables = {**scenario.tables, "materials": table}
    return replace(scenario, tables=tables, settings=wanted)


CASES = [(SPOILS_HOURS, True), (SPOILS_HOURS + 0.5, False), (None, False)]


@pytest.mark.parametrize(("hours", "short"), CASES)
def test_what_spoils_is_covered_washed_out_and_listed(hours, short):
    scenario = keeping(hours, cover__days=2)
    table = feedstocks(scenario)
    fish = table["feedstock"].tolist().index("fish")
    assert spoils(table)[fish] == short
    assert ("fish" in spoiling(scenario)) == short
    needed = cover_needed(scenario, table)
    assert (needed[fish] > 0).all() == short
    assert not np.delete(needed, fish, axis=0).any()
    assert washing_h(scenario, table, fish) == pytest.approx(0.25 if short else 0.0)


def washing_h(scenario, table, fish):
    """Hours that washing out adds to a trip with fish."""
    sources = scenario.sources["source"].tolist()
    at = scenario.sources["material"].map(
        {code: m for m, code in enumerate(table["feedstock"])}
    )
    supply = np.full((len(sources), 12), 50.0)
    hours = []
    for minutes in (0.0, 15.0):
        trucks = scenario.trucks.assign(wash_minutes=minutes)
        one = replace(scenario, tables={**scenario.tables, "trucks": trucks})
        trips = inbound_trips(one, table, at.to_numpy(), supply, travel(one))
        row = trips.origin == sources.index("pier")
        assert trips.usable[row].any()
        hours.append(trips.hours[row][trips.usable[row]].max())
    return hours[1] - hours[0]


@pytest.mark.parametrize(("hours", "short"), CASES)
def test_what_spoils_is_not_paired_with_compost_unwashed(hours, short):
    scenario = keeping(hours, fleet__pairing="yes")
    inst = assemble(scenario, travel(scenario)).instance
    pier = inst.supply.codes.index("pier")
    assert (pier in inst.backhauls.source.tolist()) != short
