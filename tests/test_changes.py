"""What-ifs: each does what it says, the base stays as it was, faults are named."""

from pathlib import Path

import pytest
from pandas.testing import assert_frame_equal

from logistics.change_files import (
    CHANGES,
    apply_changes,
    arguments_of,
    parse_change,
    read_changes,
    shown,
)
from logistics.checks import ScenarioError
from logistics.scenario import read_scenario, write_scenario
from logistics.schema import tables
from logistics.supply import seasonal_demand, seasonal_supply

HERE = Path(__file__).parent
DEMO = HERE.parent / "scenarios" / "brackwater"
BASE = read_scenario(DEMO)
MILL, FISH = (
    BASE.sources.loc[BASE.sources["material"] == material, "source"].iloc[0]
    for material in ("rice_husk", "fish_waste_mixed")
)
YARD = BASE.yards["yard"].iloc[3]
MARKET = BASE.markets["market"].iloc[0]
ROAD = BASE.roads["road"].iloc[0]
SEASON = BASE.calendar["season"].iloc[0]
MARKET_SEASON = BASE.markets["season"].iloc[0]

EXAMPLES = {
    "close_source": f"source={MILL},from=6",
    "scale_source": "material=rice_husk,percent=-30",
    "set_source": f"source={MILL},amount=1000",
    "shift_season": f"season={SEASON},periods=1",
    "add_source": "source=new_plant,material=fish_waste_mixed,lon=-31,lat=-1,"
    f"tonnes=500,season={SEASON}",
    "price_source": "material=rice_husk,price_per_t=12",
    "lab_values": f"source={FISH},nitrogen_pct=7",
    "close_yard": f"yard={YARD}",
    "force_yard": f"yard={YARD}",
    "move_yard": f"yard={YARD},lon=-31,lat=-1",
    "add_yard": "yard=new_yard,lon=-31,lat=-1,area_m2=20000,water_m3_per_day=80",
    "scale_works": "percent=30",
    "set_area": f"yard={YARD},area_m2=9000",
    "scale_price": "percent=-20",
    "scale_demand": "percent=15",
    "add_market": "market=new_market,lon=-31,lat=-1,tonnes=900,"
    f"season={MARKET_SEASON},price_per_t=22",
    "scale_fuel": "percent=40",
    "scale_wages": "percent=10",
    "set_fleet": f"truck={BASE.trucks['truck'].iloc[0]},owned=5",
    "close_road": f"road={ROAD},from=8,to=9",
    "open_road": "road=low_road",
    "set_fare": f"road={ROAD},fare=3",
    "least_share": "material=fish_waste_mixed,share_pct=95",
    "setting": "name=finance.discount_pct,value=6",
}


def changed(text: str):
    return apply_changes(BASE, parse_change(text))


def same(a, b) -> bool:
    return a.settings == b.settings and all(
        a.table(name).equals(b.table(name)) for name in tables()
    )


def test_every_change_has_its_sentence_and_its_example():
    assert set(CHANGES) == set(EXAMPLES)
    for function in CHANGES.values():
        assert function.__doc__.strip().endswith((".", "]"))


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_changes_and_the_base_stays(name):
    before = {table: BASE.table(table).copy() for table in tables()}
    after = changed(f"{name}:{EXAMPLES[name]}")
    assert not same(BASE, after)
    for table, frame in before.items():
        assert_frame_equal(BASE.table(table), frame)


@pytest.mark.parametrize("name", CHANGES)
def test_a_changed_scenario_can_be_written_and_read(name, tmp_path):
    """What a change makes is a scenario like any other, free of faults."""
    after = changed(f"{name}:{EXAMPLES[name]}")
    write_scenario(after, tmp_path / "s")
    again = read_scenario(tmp_path / "s")
    for table in tables():
        assert_frame_equal(
            again.table(table), after.table(table), rtol=1e-9, check_dtype=False
        )


def supply_of(scenario, source):
    table = seasonal_supply(scenario)
    return table[table["source"] == source].set_index("period")["tonnes"]


def test_a_closed_source_yields_nothing_from_then_on():
    before = supply_of(BASE, MILL)
    after = supply_of(changed(f"close_source:source={MILL},from=6"), MILL)
    after = after.reindex(before.index, fill_value=0.0)
    assert after.iloc[:5].to_numpy() == pytest.approx(before.iloc[:5].to_numpy())
    assert after.iloc[5:].sum() == 0


def test_a_closure_may_span_the_new_year():
    before = supply_of(BASE, MILL)
    after = supply_of(changed(f"close_source:source={MILL},from=11,to=2"), MILL)
    assert after.iloc[[0, 1, 10, 11]].sum() == 0
    assert after.iloc[2:10].to_numpy() == pytest.approx(before.iloc[2:10].to_numpy())


def test_a_source_closed_for_good_is_nothing():
    assert supply_of(changed(f"close_source:source={MILL}"), MILL).sum() == 0


def test_shifting_a_season_keeps_its_total():
    after = changed(f"shift_season:season={SEASON},periods=1")
    before = BASE.calendar.query("season == @SEASON").set_index("period")["share"]
    later = after.calendar.query("season == @SEASON").set_index("period")["share"]
    order = list(BASE.periods["period"])
    for place, period in enumerate(order):
        expected = before.get(order[place - 1], 0.0)
        assert later.get(period, 0.0) == pytest.approx(expected)


def test_demand_and_price():
    assert seasonal_demand(changed("scale_demand:percent=15"))["tonnes"].sum() == (
        pytest.approx(1.15 * seasonal_demand(BASE)["tonnes"].sum())
    )
    after = changed("scale_price:percent=-20").markets["price_per_t"]
    assert after.to_numpy() == pytest.approx(0.8 * BASE.markets["price_per_t"])


def test_percent_settings_are_given_in_percent():
    after = changed("setting:name=finance.discount_pct,value=6")
    assert after.settings.finance.discount == pytest.approx(0.06)
    after = changed(f"lab_values:source={FISH},nitrogen_pct=7")
    row = after.sources["source"] == FISH
    assert after.sources.loc[row, "lab_nitrogen"].item() == pytest.approx(0.07)


def test_changes_compose_in_order():
    twice = changed("scale_fuel:percent=10")
    twice = apply_changes(twice, parse_change("scale_fuel:percent=10"))
    price = BASE.settings.finance.fuel_price_per_l
    assert twice.settings.finance.fuel_price_per_l == pytest.approx(1.21 * price)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("close_sorce:source=x", "'close_sorce' is no change. Write 'close_source'"),
        (
            f"close_source:sauce={MILL}",
            "is no argument of close_source. Write 'source'",
        ),
        ("close_source:from=6", "'source': is missing from close_source. Give source"),
        (f"close_source:source={MILL[:-1]}", "is unknown. Write 'mill_"),
        (f"close_source:source={MILL},from=13", "'from': '13' is no period"),
        ("scale_price:percent=much", "'percent': 'much' is not a number"),
        ("scale_price:percent=-150", "takes away more than there is"),
        ("setting:name=mix.cn_lo,value=3", "is unknown. Write 'mix.cn_low'"),
        ("setting:name=mix.cn_low,value=3", "is below 5"),
        (f"lab_values:source={FISH},nitrogen_pct=0.07x", "is not a number"),
        (f"set_source:source={MILL},amount=-4", "'amount': "),
        ("close_source:source", "'source' has no =. Write name:argument=value"),
        (
            f"add_yard:yard={YARD},lon=-31,lat=-1,area_m2=9,water_m3_per_day=1",
            "already",
        ),
        ("add_source:source=a b,material=rice_husk,lon=0,lat=0,tonnes=1,season=x", ""),
    ],
)
def test_faults_name_the_argument_and_the_remedy(text, message):
    with pytest.raises(ScenarioError) as caught:
        changed(text)
    assert message in str(caught.value)
    assert "--change" in str(caught.value)


def test_files_have_title_story_and_steps(tmp_path):
    folder = tmp_path / "changes"
    folder.mkdir()
    (folder / "mill.toml").write_text(
        'title = "A mill closes"\nstory = "In June."\n\n'
        f'[[change]]\ndo = "close_source"\nsource = "{MILL}"\nfrom = 6\n\n'
        '[[change]]\ndo = "scale_fuel"\npercent = 10\n'
    )
    found = read_changes(tmp_path)["mill"]
    assert (found.title, found.story, len(found.steps)) == (
        "A mill closes",
        "In June.",
        2,
    )
    after = apply_changes(BASE, found)
    assert supply_of(after, MILL).sum() < supply_of(BASE, MILL).sum()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("title = ", "is not TOML"),
        ('titel = "x"', "is unknown. Write 'title'"),
        ('title = "x"', "'change': is missing"),
        ('change = "x"', "is not a list"),
        ("[[change]]\nsource = 1", "'do': is missing"),
    ],
)
def test_bad_files_are_faults(tmp_path, text, message):
    folder = tmp_path / "changes"
    folder.mkdir()
    (folder / "bad.toml").write_text(text)
    with pytest.raises(ScenarioError) as caught:
        read_changes(tmp_path)
    assert message in str(caught.value)
    assert "changes/bad.toml" in str(caught.value)


def test_arguments_are_shown_as_people_write_them():
    assert [shown(name) for name in arguments_of("close_source")] == [
        "source",
        "from",
        "to",
    ]
