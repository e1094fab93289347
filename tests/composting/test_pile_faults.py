"""What a sheet says to add brings the pile back to what was planned."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.ground_tables import MATERIALS

from logistics.composting.materials import properties
from logistics.composting.mixing import mean_moisture
from logistics.composting.pile_faults import RICHER, WETTER, corrections
from logistics.scenario.settings import settings_from

MANURE = {
    "material": "manure", "moisture": 0.8, "carbon": 0.4, "nitrogen": 0.021,
    "loose_kg_m3": 800.0, "structure": False, "keep_hours": np.nan,
}  # fmt: skip
TABLE = properties(MATERIALS)
TABLE = TABLE.assign(available_carbon=[0.5, 1.0, 0.9])
WITH = {name: [*TABLE[name], MANURE.get(name, TABLE[name].iloc[1])] for name in TABLE}
WITH = TABLE.iloc[[0, 1, 2, 1]].assign(**WITH).reset_index(drop=True)
WITH.loc[3, "loose_t_m3"] = 0.8
BASES = {
    basis: settings_from({"name": "T", "mix.cn_basis": basis})
    for basis in ("total", "available")
}
wet = st.tuples(st.floats(2, 4), st.floats(0.8, 1.2), st.floats(0, 1), st.floats(0, 1))


def wrong(fault, parts, water, settings):
    """Wet mass, water, carbon and nitrogen of a pile that is off by the fault."""
    w = np.array(parts)
    dry = w * (1 - WITH["moisture"].to_numpy())
    share = WITH["available_carbon"] if settings.mix.cn_basis == "available" else 1.0
    carbon = float(dry @ (WITH["carbon"] * share))
    nitrogen = float(dry @ WITH["nitrogen"])
    ratio = carbon / nitrogen
    if fault in ("rich", "poor"):
        nitrogen = carbon / (ratio + (RICHER if fault == "poor" else -RICHER))
    return carbon, nitrogen, ratio


@given(wet, st.floats(1, 3), st.sampled_from(sorted(BASES)))
def test_what_is_added_puts_the_pile_right(parts, water, basis):
    """Moisture, or C:N, is then as planned, and C:N is put right at no other cost."""
    settings = BASES[basis]
    total = sum(parts) + water
    goal = float(mean_moisture(parts, WITH["moisture"], water))
    for each in corrections(parts, water, WITH, settings):
        carbon, nitrogen, ratio = wrong(each.fault, parts, water, settings)
        m, add, more = each.feedstock, each.add_t * total, each.water_t * total
        inside = goal * total
        assert each.add_t <= 1
        if each.fault in ("wet", "dry"):
            inside += (WETTER if each.fault == "wet" else -WETTER) * total
            inside += more + (0 if m is None else add * WITH["moisture"][m])
            assert inside / (total + add + more) == pytest.approx(goal)
            continue
        dry = add * (1 - WITH["moisture"][m])
        share = WITH["available_carbon"][m] if basis == "available" else 1.0
        carbon += dry * WITH["carbon"][m] * share
        nitrogen += dry * WITH["nitrogen"][m]
        assert carbon / nitrogen == pytest.approx(ratio)
        inside += add * WITH["moisture"][m] + more
        assert inside / (total + add + more) >= goal - 1e-9


def test_dry_coarse_feedstock_against_wet_and_rich_manure_against_poor():
    found = {c.fault: c for c in corrections((3, 1, 0, 0), 2.0, WITH, BASES["total"])}
    assert {k: c.feedstock for k, c in found.items()} == {
        "wet": 0, "dry": None, "rich": 0, "poor": 3,
    }  # fmt: skip
    assert found["rich"].water_t > 0
    assert found["wet"].add_m3 == pytest.approx(found["wet"].add_t / 0.11)


def test_without_manure_the_fish_of_the_mix_makes_it_richer():
    table = WITH.iloc[:3].reset_index(drop=True)
    poor = [c for c in corrections((3, 1, 0), 2.0, table, BASES["total"])]
    assert poor[-1].fault == "poor"
    assert poor[-1].feedstock == 1


def test_nothing_is_said_of_no_pile():
    assert list(corrections((0, 0, 0, 0), 0.0, WITH, BASES["total"])) == []
