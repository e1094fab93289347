"""One trip of each lane, and the numbers of the instance, against sums by hand."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.places import SMALL

from logistics.composting.materials import feedstocks, source_feedstock
from logistics.costs.calls import pickup_interval
from logistics.costs.trips import Trips, inbound_trips, outbound_trips
from logistics.model.assembly.assembler import assemble, yard_options
from logistics.roads.travel_matrices import Travel, TravelState
from logistics.scenario.scenario import Scenario, read_scenario

OUT_KM, BACK_KM = 12.0, 20.0
"""Roads of one way only: from source to yard to market, and home. [km]"""


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return read_scenario(SMALL)


def changed(scenario: Scenario, table: str, row: str, **values: object) -> Scenario:
    """Change cells of the row with this code."""
    frame = scenario.table(table).copy()
    at = frame.iloc[:, 0] == row
    for column, value in values.items():
        frame.loc[at, column] = value
    return replace(scenario, tables={**scenario.tables, table: frame})


def with_settings(scenario: Scenario, group: str, **values: object) -> Scenario:
    part = getattr(scenario.settings, group).model_copy(update=values)
    settings = scenario.settings.model_copy(update={group: part})
    return replace(scenario, settings=settings)


def one_way_roads(scenario: Scenario, hours: float = 0.5) -> Travel:
    """Sources first, markets last: forwards is shorter than back."""
    sites = tuple(
        f"{kind}:{code}"
        for kind in ("source", "yard", "market")
        for code in scenario.table(f"{kind}s")[kind]
    )
    forwards = np.triu(np.ones((len(sites), len(sites))), 1)
    back = forwards.T
    state = TravelState(
        km=OUT_KM * forwards + BACK_KM * back,
        hours=hours * forwards + 2 * hours * back,
        fare=3.0 * forwards + 4.0 * back,
    )
    pairs = {
        (v, t): 0 for v in scenario.trucks["truck"] for t in scenario.periods["period"]
    }
    return Travel(sites, "roads", (state,), pairs)


def trips_in(scenario: Scenario, supply: np.ndarray, hours: float = 0.5) -> Trips:
    table = feedstocks(scenario)
    row = {code: m for m, code in enumerate(table["feedstock"])}
    belongs = source_feedstock(scenario).map(row).to_numpy()
    return inbound_trips(
        scenario, table, belongs, supply, one_way_roads(scenario, hours)
    )


def plenty(scenario: Scenario) -> np.ndarray:
    """40 t a working day: whole loads of 4 t and of 10 t."""
    days = scenario.periods["working_days"].round().to_numpy(dtype=float)
    return np.full((len(scenario.sources), 1), 40.0) * days


def of(trips: Trips, scenario: Scenario, source: str, truck: str) -> np.ndarray:
    """Rows of the trips from a source by a truck type."""
    i = list(scenario.sources["source"]).index(source)
    v = list(scenario.trucks["truck"]).index(truck)
    return np.flatnonzero((trips.origin == i) & (trips.truck == v))


@pytest.mark.parametrize(("source", "washed"), [("mill_north", 0), ("pier", 1)])
def test_a_trip_line_by_line(scenario, source, washed):
    base = changed(scenario, "trucks", "light", wash_minutes=30.0, load_minutes=24.0)
    trips = trips_in(base, plenty(base))
    rows = of(trips, base, source, "light")
    truck = base.trucks.set_index("truck").loc["light"]
    hours = 0.5 + 1.0 + (24 + truck["unload_minutes"] + 30 * washed) / 60
    litres = OUT_KM * 0.18 + BACK_KM * 0.13
    assert trips.km[rows] == pytest.approx(OUT_KM)
    assert trips.km_back[rows] == pytest.approx(BACK_KM)
    assert trips.hours[rows] == pytest.approx(hours)
    assert trips.fuel_l[rows] == pytest.approx(litres)
    assert trips.fare[rows] == pytest.approx(3.0 + 4.0)
    assert trips.repair[rows] == pytest.approx(0.08 * (OUT_KM + BACK_KM))
    assert trips.crew[rows] == pytest.approx(2.5 * hours)
    parts = trips.fuel + trips.repair + trips.crew + trips.fare
    assert trips.money == pytest.approx(parts)


def test_full_loads_in_and_out(scenario):
    """Husk fills the body (20 m3 at 130 kg), fish and compost weigh the payload."""
    trips = trips_in(scenario, plenty(scenario))
    assert trips.load_t[of(trips, scenario, "mill_north", "light")] == pytest.approx(
        2.6
    )
    assert trips.load_t[of(trips, scenario, "pier", "light")] == pytest.approx(4.0)
    out = outbound_trips(scenario, one_way_roads(scenario))
    assert out.load_t[out.truck == 0] == pytest.approx(4.0)
    assert out.km == pytest.approx(OUT_KM)
    assert out.km_back == pytest.approx(BACK_KM)


@pytest.mark.parametrize(
    ("keep_hours", "load"),
    [(12.0, 0.2), (47.0, 0.2), (96.0, 0.4), (240.0, 1.0), (1000.0, 4.0)],
    ids=["spoils", "a day", "every second day", "every fifth", "a full load"],
)
def test_a_call_finds_what_has_gathered(scenario, keep_hours, load):
    """0.2 t a working day at one place, as long as it can wait."""
    base = changed(scenario, "materials", "fish", keep_hours=keep_hours)
    base = in_days_of(base, 20)
    trips = trips_in(base, plenty(base) * 0 + 0.2 * 20)
    assert trips.load_t[of(trips, base, "pier", "light")] == pytest.approx(load)
    husk = of(trips, base, "mill_north", "light")
    assert trips.load_t[husk] == pytest.approx(2.6)


def in_days_of(scenario: Scenario, days: int) -> Scenario:
    periods = scenario.periods.assign(working_days=float(days))
    return replace(scenario, tables={**scenario.tables, "periods": periods})


def test_a_load_and_a_bit_are_two_trips(scenario):
    """5 t a day in a truck of 4 t: 2.5 t a trip, loaded in papers and by the tonne."""
    base = changed(in_days_of(scenario, 20), "trucks", "light", load_minutes=40.0)
    trips = trips_in(base, plenty(base) * 0 + 5.0 * 20)
    rows = of(trips, base, "pier", "light")
    assert trips.load_t[rows] == pytest.approx(2.5)
    assert trips.stops[rows] == pytest.approx(1.0)
    papers = base.settings.rounds.stop_minutes
    truck = base.trucks.set_index("truck").loc["light"]
    minutes = papers + (40 - papers) * 2.5 / 4
    minutes += truck["unload_minutes"] + truck["wash_minutes"]
    assert trips.hours[rows] == pytest.approx(1.5 + minutes / 60)


@given(
    tonnes=st.floats(1e-3, 40.0), more=st.floats(1.0, 3.0), keeps=st.floats(6.0, 200.0)
)
@settings(max_examples=40, deadline=None)
def test_laws_of_calls(tonnes, more, keeps):
    """
    No more trips for less freight; no load above what is there; no trip that flies.

    A place alone: a load is no more than what is made between two calls, and a trip
    takes no less than its way. More kilometres cost more.
    """
    scenario = changed(
        read_scenario(SMALL), "materials", "fish", keep_hours=float(keeps)
    )
    days = scenario.periods["working_days"].to_numpy()
    few = trips_in(scenario, plenty(scenario) * 0 + tonnes * days)
    many = trips_in(scenario, plenty(scenario) * 0 + more * tonnes * days)
    rows = of(few, scenario, "pier", "light")
    fewer, further = tonnes / few.load_t[rows], more * tonnes / many.load_t[rows]
    assert (fewer <= further * (1 + 1e-9)).all()
    between = pickup_interval(keeps) + 1
    assert (few.load_t[rows] <= between * tonnes * 1.05).all()
    assert (few.hours[few.usable] >= 1.5).all()
    far = replace_km(scenario, plenty(scenario) * 0 + tonnes * days, 2.0)
    assert (far.money[rows] > few.money[rows]).all()


def replace_km(scenario: Scenario, supply: np.ndarray, factor: float) -> Trips:
    """Trips over roads that are longer and no slower."""
    ways = one_way_roads(scenario)
    state = ways.states[0]
    longer = TravelState(km=factor * state.km, hours=state.hours, fare=state.fare)
    table = feedstocks(scenario)
    row = {code: m for m, code in enumerate(table["feedstock"])}
    belongs = source_feedstock(scenario).map(row).to_numpy()
    ways = replace(ways, states=(longer,))
    return inbound_trips(scenario, table, belongs, supply, ways)


@pytest.mark.parametrize(
    ("drive", "fits"), [(7.4, True), (7.6, False)], ids=["in time", "too late"]
)
def test_waiting_loading_and_driving_fit_what_it_keeps(scenario, drive, fits):
    """12 h less 4 h of waiting and 30 min of loading leave 7.5 h."""
    base = changed(scenario, "trucks", "light", load_minutes=30.0)
    base = changed(base, "sources", "pier", wait_hours=4.0)
    trips = trips_in(base, plenty(base), hours=drive)
    assert trips.usable[of(trips, base, "pier", "light")].all() == fits
    assert trips.usable[of(trips, base, "mill_north", "light")].all()


def test_lanes_beyond_the_limit_are_not_offered(scenario):
    near = with_settings(scenario, "travel", lane_limit_km=OUT_KM - 1)
    assert not trips_in(near, plenty(near)).usable.any()
    far = with_settings(scenario, "travel", lane_limit_km=OUT_KM)
    assert trips_in(far, plenty(far)).usable.any()


@pytest.fixture(scope="module")
def instance(scenario):
    base = changed(scenario, "sources", "pier", price_per_t=2.0, tipping_fee_per_t=7.0)
    return assemble(base, one_way_roads(base)).instance


def test_feedstock_by_hand(instance):
    husk = instance.feed.codes.index("husk")
    fish = instance.feed.codes.index("fish")
    assert instance.feed.pad_m3_per_t[husk] == pytest.approx(0.75 / 0.11)
    assert instance.feed.product_per_t[husk] == pytest.approx(0.88 * 0.78 / 0.65)
    assert instance.feed.keep[husk, 0] == pytest.approx(0.995 ** (31 / 30))
    assert instance.feed.keep[husk, 1] == pytest.approx(0.995 ** (28 / 30))
    assert (instance.feed.store_periods[husk] == 12).all()
    assert (instance.feed.store_periods[fish] == 0).all()


@pytest.mark.parametrize(
    ("days", "periods"),
    [
        (29, [0] * 12),
        (31, [1] * 12),
        (59, [1, 2] + [1] * 10),
        (62, [2] * 12),
        (400, [12] * 12),
    ],
)
def test_periods_that_a_feedstock_may_wait(scenario, days, periods):
    base = changed(scenario, "materials", "manure", keep_hours=24.0 * days)
    inst = assemble(base, one_way_roads(base)).instance
    found = inst.feed.store_periods[inst.feed.codes.index("manure")]
    assert found.tolist() == periods


def test_money_water_and_limits_by_hand(instance):
    pier = instance.supply.codes.index("pier")
    assert instance.supply.money_per_t[pier] == pytest.approx(2.0)  # a fee is no cost
    reef = instance.yards.codes.index("reef")
    assert instance.yards.water_t[reef, :2] == pytest.approx([60 * 31, 60 * 28])
    farms = instance.markets.codes.index("farms")
    contents = instance.contents
    assert contents.keys == ("n",)
    assert contents.limit_t[0, farms] == pytest.approx(150 * 300 / 1000)
    assert np.isinf(contents.limit_t).sum() == 1
    assert contents.free.tolist() == [True]
    assert instance.trucks.owned_hours[0, 0] == pytest.approx(2 * 8 * 27)
    assert instance.trucks.fixed_annual == pytest.approx(2 * 4000 + 2 * 8000)


def test_a_lane_is_its_trip_over_its_load(scenario):
    made = assemble(scenario, one_way_roads(scenario))
    inst, inward = made.instance, made.inbound
    a = 0
    same = (
        (inward.origin == inst.inbound.site[a])
        & (inward.destination == inst.inbound.yard[a])
        & (inward.truck == inst.inbound.truck[a])
    )
    assert same.sum() == 1
    money = inward.money[same][0] / inward.load_t[same][0]
    assert inst.inbound.money[a] == pytest.approx(money)
    hours = inward.hours[same][0] / inward.load_t[same][0]
    assert inst.inbound.hours[a] == pytest.approx(hours)


def test_a_yard_at_work_keeps_its_size_or_grows(scenario):
    def sizes(existing: str) -> set[str]:
        base = changed(scenario, "yards", "reef", existing_size=existing)
        return {size["size"] for j, size, _ in yard_options(base) if j == 0}

    assert sizes("") == {"small", "large"}
    assert sizes("small") == {"small", "large"}
    assert sizes("large") == {"large"}


def test_a_yard_with_one_size_asked_for_has_no_other(scenario):
    def sizes(only: str, existing: str = "") -> set[str]:
        values = {"only_size": only, "existing_size": existing}
        base = changed(scenario, "yards", "reef", **values)
        return {size["size"] for j, size, _ in yard_options(base) if j == 0}

    assert sizes("small") == {"small"}
    assert sizes("large") == {"large"}
    assert sizes("large", "small") == {"large"}
    assert sizes("small", "large") == set()


def test_rent_is_for_the_whole_site(scenario):
    costs = {(j, size["size"]): cost for j, size, cost in yard_options(scenario)}
    assert costs[0, "small"].land_rent == pytest.approx(0.5 * 4000)
    assert costs[0, "large"].capital == pytest.approx(200_000)


def test_ways_that_change_with_the_season_are_kept_apart(scenario):
    """Twice as far in the second period: nothing of the first is taken for it."""
    dry = one_way_roads(scenario)
    state = dry.states[0]
    wet = TravelState(km=2 * state.km, hours=2 * state.hours, fare=2 * state.fare)
    first, second = scenario.periods["period"][:2]
    of = {k: int(k[1] == second) for k in dry.state_of}
    ways = replace(dry, states=(state, wet), state_of=of)
    made = outbound_trips(scenario, ways)
    periods = list(scenario.periods["period"])
    a, b = periods.index(first), periods.index(second)
    assert (made.km[:, a] == OUT_KM).all()
    assert (made.km[:, b] == 2 * OUT_KM).all()
    assert (made.km_back[:, b] == 2 * BACK_KM).all()
    driven = made.hours[:, b] - made.hours[:, a]
    assert driven == pytest.approx(np.full(len(driven), 1.5))


def test_compost_needs_no_wash_out(scenario):
    """Half an hour out, one back, and what loading and unloading take."""
    made = outbound_trips(scenario, one_way_roads(scenario))
    for v, (_, truck) in enumerate(scenario.trucks.iterrows()):
        minutes = truck["load_minutes"] + truck["unload_minutes"]
        hours = made.hours[made.truck == v]
        assert hours == pytest.approx(np.full(hours.shape, 1.5 + minutes / 60))
