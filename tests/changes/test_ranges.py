"""Ranges: what is drawn lies in them, draws repeat, faults are named."""

import numpy as np
import pytest
from support.places import DEMO, SCENARIOS, SMALL

from logistics.changes.files import ChangeSet, apply_changes
from logistics.changes.ranges import draw, ranges_table, read_ranges
from logistics.scenario.defaults import library
from logistics.scenario.faults import ScenarioError
from logistics.scenario.scenario import read_scenario, write_scenario
from logistics.studies.stress_scenarios import draws, ends

HEAD = "range,name,change,where,argument,each,low,likely,high,source\n"


def materials(scenario):
    """Codes of the feedstocks of a district."""
    return scenario.materials["material"].tolist()


def own(tmp_path, lines):
    """The small district with a table of ranges."""
    write_scenario(read_scenario(SMALL), tmp_path / "s")
    (tmp_path / "s" / "ranges.csv").write_text(HEAD + lines)
    return read_scenario(tmp_path / "s")


def test_the_library_says_where_each_range_comes_from():
    frame = library("ranges").frame
    assert (frame["source"].str.len() > 5).all()
    rows = frame.set_index("range")
    # Ends asked for by planners: husk 0.3 to 0.5 %, fish 6.5 to 14 % of dry mass.
    assert rows.loc["husk_n", ["low", "high"]].tolist() == [0.3, 0.5]
    assert rows.loc["fish_n", ["low", "high"]].tolist() == [6.5, 14]


def test_library_ranges_of_absent_feedstocks_are_left_out():
    codes = {r.code for r in read_ranges(read_scenario(SMALL))}
    assert "husk_n" not in codes  # its husk has another code
    assert {"season", "place", "fuel", "price"} <= codes
    demo, table = read_scenario(DEMO), library("ranges").frame
    absent = ~table["where"].str.removeprefix("material=").isin(["", *materials(demo)])
    assert absent.any()
    kept = set(table.loc[~absent, "range"])
    assert {r.code for r in read_ranges(demo)} == kept


@pytest.mark.parametrize("district", ["brackwater", "highlake"])
def test_stress_varies_the_available_carbon_of_husk_and_the_like(district):
    """Whatever keeps a quarter of its carbon or more from microbes has a range."""
    scenario = read_scenario(SCENARIOS / district)
    share = scenario.materials.set_index("material")["available_carbon"]
    varied = {
        fixed["material"]
        for one in read_ranges(scenario)
        if one.change == "count_available"
        for fixed in one.fixed
    }
    wanted = set(share.index[share <= 0.75])
    assert wanted
    assert wanted <= varied


def test_own_ranges_take_the_place_of_the_library(tmp_path):
    scenario = own(
        tmp_path,
        "n,Nitrogen,lab_values,material=fish,nitrogen_pct,all,7,,12,lab\n"
        "mills,,scale_source,material=husk,percent,source,-9,0,9,\n",
    )
    first, second = read_ranges(scenario)
    assert (first.code, first.low, first.likely, first.high) == ("n", 7, None, 12)
    husk = scenario.sources.loc[scenario.sources["material"] == "husk", "source"]
    assert [dict(f) for f in second.fixed] == [{"source": code} for code in husk]
    assert set(ranges_table([first, second])["basis"]) == {"scenario"}


def test_draws_repeat_and_do_not_depend_on_how_many_there_are():
    ranges = read_ranges(read_scenario(DEMO))
    few, many = draws(ranges, 3, 7), draws(ranges, 12, 7)
    assert [f.change for f in few] == [f.change for f in many[:3]]
    assert draws(ranges, 1, 8)[0].change.steps != few[0].change.steps
    assert len({str(f.change.steps) for f in many}) == 12


@pytest.mark.slow
def test_a_range_is_drawn_alike_whatever_other_ranges_there_are():
    ranges = read_ranges(read_scenario(DEMO))
    alone = draw([r for r in ranges if r.code == "fuel"], 1, 4)
    among = [s for s in draw(ranges, 1, 4) if s.name == "scale_fuel"]
    assert list(alone) == among


def test_draws_lie_in_their_ranges_and_fill_them():
    ranges = {r.code: r for r in read_ranges(read_scenario(DEMO))}
    husk, fish = ranges["husk_n"], ranges["fish_n"]
    values = {
        one.code: np.array(
            [draw([one], 1, k)[0].arguments[one.argument] for k in range(1, 801)]
        )
        for one in (husk, fish)
    }
    for one in (husk, fish):
        assert values[one.code].min() >= one.low
        assert values[one.code].max() <= one.high
    # Means of a uniform and of a triangle, within four standard errors.
    even, triangle = values["husk_n"], values["fish_n"]
    assert even.mean() == pytest.approx(0.4, abs=4 * 0.2 / 12**0.5 / 800**0.5)
    middle = (6.5 + 10.6 + 14) / 3
    assert triangle.mean() == pytest.approx(middle, abs=4 * triangle.std() / 800**0.5)


@pytest.mark.slow
def test_every_end_and_draw_can_be_applied():
    scenario = read_scenario(DEMO)
    ranges = read_ranges(scenario)
    for future in [*ends(ranges), *draws(ranges, 3, 1)]:
        apply_changes(scenario, future.change)
    high = next(f for f in ends(ranges) if f.change.code == "high_price")
    after = apply_changes(scenario, high.change).markets["price_per_t"]
    assert after.to_numpy() == pytest.approx(1.15 * scenario.markets["price_per_t"])


def test_whole_numbers_stay_whole(tmp_path):
    scenario = own(tmp_path, "t,,set_fleet,,hire_limit,truck,2,4,9,\n")
    steps = draw(read_ranges(scenario), 1, 1)
    assert steps
    assert all(isinstance(s.arguments["hire_limit"], int) for s in steps)
    apply_changes(scenario, ChangeSet("", "", "", steps))


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("f,,scale_fule,,percent,all,-5,,5,", "row 2, column 'change': 'scale_fule'"),
        ("f,,scale_fuel,,percnt,all,-5,,5,", "is not a number that scale_fuel takes"),
        ("f,,scale_fuel,,percent,source,-5,,5,", "is not something that scale_fuel"),
        ("f,,scale_fuel,,percent,all,5,,-5,", "Write low, likely and high in rising"),
        ("f,,scale_fuel,,percent,all,-5,9,5,", "Write low, likely and high in rising"),
        ("f,,scale_price,,percent,all,-150,,5,", "takes away more than 100 %"),
        ("f,,lab_values,fish,nitrogen_pct,all,7,,12,", "has no ="),
        ("f,,lab_values,material=fsh,nitrogen_pct,all,7,,12,", "Write 'fish'"),
        ("f,,scale_source,material=fsh,percent,source,7,,12,", "matches none of the"),
        (
            "f,,scale_source,matter=fish,percent,source,7,,12,",
            "not a column of the sources",
        ),
    ],
)
def test_faults_of_a_range_are_named(tmp_path, line, message):
    scenario = own(tmp_path, line + "\n")
    with pytest.raises(ScenarioError) as caught:
        read_ranges(scenario)
    assert message in str(caught.value)
    assert "ranges.csv" in str(caught.value)
