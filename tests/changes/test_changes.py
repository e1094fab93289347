"""What-ifs: each does what it says, the base stays as it was, faults are named."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pandas.testing import assert_frame_equal
from support.places import DEMO
from typer.testing import CliRunner

from logistics.changes.files import (
    CHANGES,
    ChangeSet,
    Step,
    apply_changes,
    arguments_of,
    change_text,
    find_changes,
    parse_change,
    read_change_text,
    read_changes,
    shown,
    write_change_file,
)
from logistics.composting.supply import seasonal_demand, seasonal_supply
from logistics.scenario.faults import ScenarioError
from logistics.scenario.scenario import read_scenario, write_scenario
from logistics.scenario.schema import tables
from maps.commands.command_line import app

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
    "count_available": "material=fish_waste_mixed,percent=60",
    "close_yard": f"yard={YARD}",
    "force_yard": f"yard={YARD}",
    "build_yard": f"yard={YARD},size=small",
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
    "open_source": f"source={MILL},from=4",
    "set_fee": "material=fish_waste_mixed,fee_per_t=4",
    "set_disposal": "material=fish_waste_mixed,cost_per_t=60",
    "must_collect": f"source={FISH}",
    "close_market": f"market={MARKET},from=2,to=6",
    "set_market": f"market={MARKET},amount=90,price_per_t=31",
    "set_yard": f"yard={YARD},existing_size=small,works_factor=1.4",
    "set_size": "size=small,works_cost=31000,pad_m2=2400",
    "scale_hire": "percent=15",
    "set_fuel": "price_per_l=1.3",
    "set_discount": "percent=6",
    "set_packing": "percent=80",
    "set_shrinking": "percent=40",
    "pair_trips": "how=washed",
    "limit_road": f"road={ROAD},max_gross_t=10",
    "drop_shares": "material=rice_husk",
    "setting": "name=finance.discount_pct,value=6",
}


WITH_SHARES = apply_changes(
    BASE, parse_change(f"least_share:{EXAMPLES['least_share']}")
)
WITH_SHARES = apply_changes(
    WITH_SHARES, parse_change("least_share:material=rice_husk,share_pct=40")
)


def base_of(name: str):
    """The district a change is tried on: demands can be dropped only if there are."""
    return WITH_SHARES if name == "drop_shares" else BASE


def changed(text: str):
    return apply_changes(base_of(text.partition(":")[0]), parse_change(text))


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
    base = base_of(name)
    before = {table: base.table(table).copy() for table in tables()}
    after = changed(f"{name}:{EXAMPLES[name]}")
    assert not same(base, after)
    for table, frame in before.items():
        assert_frame_equal(base.table(table), frame)


@pytest.mark.parametrize("name", CHANGES)
def test_a_changed_scenario_can_be_written_and_read(name, tmp_path):
    """What a change makes is a scenario like any other, free of faults."""
    after = changed(f"{name}:{EXAMPLES[name]}")
    write_scenario(after, tmp_path / "s")
    again = read_scenario(tmp_path / "s")
    for table in tables():
        frame = again.table(table)
        if table == "materials":  # reading says whether some figures are one's own
            source = frame["source"].str.removeprefix("of the figures left blank: ")
            frame = frame.assign(source=source)
        assert_frame_equal(frame, after.table(table), rtol=1e-9, check_dtype=False)


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


def test_opening_is_the_other_side_of_closing():
    """What yields from May on and what closes in May are the whole together."""
    whole = supply_of(BASE, MILL)
    late = supply_of(changed(f"open_source:source={MILL},from=5"), MILL)
    early = supply_of(changed(f"close_source:source={MILL},from=5"), MILL)
    both = late.reindex(whole.index, fill_value=0.0)
    both += early.reindex(whole.index, fill_value=0.0)
    assert both.to_numpy() == pytest.approx(whole.to_numpy())


def test_a_closed_market_takes_nothing_then_and_the_same_otherwise():
    def demand(scenario):
        table = seasonal_demand(scenario)
        mine = table[table["market"] == MARKET].set_index("period")["tonnes"]
        return mine.reindex(BASE.periods["period"], fill_value=0.0).to_numpy()

    before, after = demand(BASE), demand(changed(f"close_market:market={MARKET},to=6"))
    assert after[:6].sum() == 0
    assert before[:6].sum() > 0
    assert after[6:] == pytest.approx(before[6:])


def test_dropping_shares_leaves_the_others():
    after = changed("drop_shares:material=rice_husk").policy
    assert after["material"].tolist() == ["fish_waste_mixed"]
    assert len(changed("drop_shares").policy) == 0


def test_figures_set_are_those_read_back():
    yard = changed(f"set_yard:yard={YARD},existing_size=small,works_factor=1.4").yards
    row = yard[yard["yard"] == YARD].iloc[0]
    assert (row["existing_size"], row["works_factor"]) == ("small", 1.4)
    size = changed("set_size:size=small,works_cost=31000").yard_sizes
    assert size.set_index("size").loc["small", "works_cost"] == 31000
    assert changed("set_discount:percent=6").settings.finance.discount == 0.06
    assert changed("set_fuel:price_per_l=1.3").settings.finance.fuel_price_per_l == 1.3


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
    after = changed("lab_values:material=rice_husk,dry_matter_loss_pct=25").materials
    loss = after.set_index("material").loc["rice_husk", "dry_matter_loss"]
    assert loss == pytest.approx(0.25)
    assert changed("set_packing:percent=80").settings.windrow.packing == 0.8
    assert changed("set_shrinking:percent=40").settings.windrow.end_volume == 0.4
    after = changed("count_available:material=rice_husk,percent=60")
    assert after.settings.mix.cn_basis == "available"
    share = after.materials.set_index("material").loc["rice_husk", "available_carbon"]
    assert share == pytest.approx(0.6)
    after = changed(f"lab_values:source={FISH},available_carbon_pct=80").sources
    row = after["source"] == FISH
    assert after.loc[row, "lab_available_carbon"].item() == pytest.approx(0.8)


def test_changes_compose_in_order():
    twice = changed("scale_fuel:percent=10")
    twice = apply_changes(twice, parse_change("scale_fuel:percent=10"))
    price = BASE.settings.finance.fuel_price_per_l
    assert twice.settings.finance.fuel_price_per_l == pytest.approx(1.21 * price)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("close_sorce:source=x", "'close_sorce' is not a change. Write 'close_source'"),
        (
            f"close_source:sauce={MILL}",
            "is not an argument of close_source. Write 'source'",
        ),
        ("close_source:from=6", "'source': is missing from close_source. Give source"),
        (f"close_source:source={MILL[:-1]}", "is unknown. Write 'mill_"),
        (f"close_source:source={MILL},from=13", "'from': '13' is not a period"),
        ("scale_price:percent=much", "'percent': 'much' is not a number"),
        ("scale_price:percent=-150", "takes away more than 100 %"),
        ("setting:name=mix.cn_lo,value=3", "is unknown. Write 'mix.cn_low'"),
        ("setting:name=mix.cn_low,value=3", "is below 5"),
        (f"lab_values:source={FISH},nitrogen_pct=0.07x", "is not a number"),
        (f"lab_values:source={FISH},dry_matter_loss_pct=40", "Give a material"),
        (f"set_source:source={MILL},amount=-4", "'amount': "),
        (f"set_yard:yard={YARD}", "Give at least one of them"),
        (f"set_yard:yard={YARD},existing_size=smal", "is unknown. Write 'small'"),
        ("set_size:size=smal,pad_m2=9", "is unknown. Write 'small'"),
        (f"close_market:market={MARKET},from=m13", "'m13' is not a period"),
        (f"set_fleet:truck={BASE.trucks['truck'].iloc[0]}", "Give at least one"),
        (f"limit_road:road={ROAD},max_gross_t=0", "is below 0.5"),
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


def test_a_file_anywhere_is_found_by_its_path(tmp_path):
    """What another command wrote down can be planned alone."""
    file = tmp_path / "draw_7.toml"
    write_change_file(parse_change(f"close_source:source={MILL},from=6"), file)
    (found,) = find_changes(DEMO, [str(file)])
    assert found.code == "draw_7"
    assert dict(found.steps[0].arguments) == {"source": MILL, "from": "6"}
    with pytest.raises(ScenarioError, match="does not exist"):
        find_changes(DEMO, [str(tmp_path / "draw_8.toml")])


@given(st.floats(-1e12, 1e12), st.text(max_size=20))
def test_a_written_change_reads_back_the_same(number, text):
    """Numbers to the last bit and any text, whatever signs are in it."""
    step = Step("set_source", {"source": text, "amount": number, "from": 3}, "--change")
    wanted = ChangeSet("x", text.strip() or "x", text, (step,))
    again = read_change_text(change_text(wanted), "x.toml", "x")
    assert (again.title, again.story) == (wanted.title, wanted.story)
    assert dict(again.steps[0].arguments) == dict(step.arguments)


def test_arguments_are_shown_as_people_write_them():
    assert [shown(name) for name in arguments_of("close_source")] == [
        "source",
        "from",
        "until",
    ]


def test_the_command_lists_every_change_with_its_help():
    done = CliRunner().invoke(app, ["changes"])
    assert done.exit_code == 0
    for name, function in CHANGES.items():
        assert f"{name}:" in done.output
        assert function.__doc__.strip() in done.output
    assert "close_source:source,[from],[until]" in done.output
