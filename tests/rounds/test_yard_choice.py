"""Yards chosen by the rounds of what spoils: by enumeration, laws, planted faults."""

from dataclasses import replace
from itertools import combinations, pairwise, permutations, product
from shutil import copytree

import numpy as np
import pandas as pd
import pytest
from support.places import SMALL
from typer.testing import CliRunner

from logistics.results.pipeline import run
from logistics.rounds.located import choice as module
from logistics.rounds.located import search
from logistics.rounds.located.check import Siting, located_cost, located_faults, opened
from logistics.rounds.located.choice import choose_yards, figures, of_plan
from logistics.rounds.located.collecting_day import (
    NoChoiceError,
    collecting_day,
    middle_day,
)
from logistics.rounds.records import Base, RoundsSolution, SearchLimits, Task, Tour
from logistics.rounds.visit_list import visits
from logistics.scenario.edits import with_table
from logistics.scenario.scenario import read_scenario
from maps.commands import app
from maps.field.yard_choice import choice_table, choice_words

TAIL = "50,,100,invented,landing,0,dumped,30,0"
PIERS = f"""\
pier_b,Reed pier,fish,-30.56,0.45,south,processed,1500,{TAIL}
pier_c,Sand pier,fish,-30.41,0.56,north,processed,700,{TAIL}
"""
MONTH = "m01"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The small district with two more piers."""
    folder = copytree(SMALL, tmp_path_factory.mktemp("piers") / "piers")
    with (folder / "sources.csv").open("a", encoding="utf-8") as file:
        file.write(PIERS)
    with (folder / "scenario.toml").open("a", encoding="utf-8") as file:
        file.write("\n[windrow]\npacking_pct = 50\n")  # room for all the fish
    return folder


@pytest.fixture(scope="module")
def result(folder):
    return run(read_scenario(folder))


@pytest.fixture(scope="module")
def two_sizes(folder):
    """The same district with a large and a small yard."""
    return run(read_scenario(folder), yards=[("reef", "large"), ("shoal", "small")])


@pytest.fixture(scope="module")
def choice(result):
    return choose_yards(result, MONTH)


def total(choice, side):
    here = choice.table[choice.table["choice"] == side]
    return float(here["truck_money"].sum() + here["yard_money"].sum())


def trips_of(result, day):
    """Money, hours and tonnes of every trip: base, truck type, set of stops."""
    scenario, found = result.scenario, {}
    fuel = scenario.settings.finance.fuel_price_per_l
    stop_h = scenario.settings.rounds.stop_minutes / 60
    for (b, (yard, _)), (_, truck) in product(
        enumerate(day.options), scenario.trucks.iterrows()
    ):
        state = result.travel.pick(truck["truck"], MONTH)
        (home,) = result.travel.index("yard", [yard])
        places = result.travel.index("source", [v.place for v in day.visits])
        for size in range(1, len(day.visits) + 1):
            for stops in combinations(range(len(day.visits)), size):
                tonnes = sum(day.visits[s].tonnes for s in stops)
                volume = sum(day.visits[s].m3 for s in stops)
                if tonnes > truck["payload_t"] or volume > truck["body_m3"]:
                    continue
                handled = truck["unload_minutes"] / 60 + truck["wash_minutes"] / 60
                for s in stops:
                    v = day.visits[s]
                    part = max(v.tonnes / truck["payload_t"], v.m3 / truck["body_m3"])
                    handled += stop_h + part * (truck["load_minutes"] / 60 - stop_h)
                for order in permutations(stops):
                    ways = [home, *places[list(order)], home]
                    legs = [(a, c) for a, c in pairwise(ways) if a != c]
                    km = [float(state.km[leg]) for leg in legs]
                    hours = handled + sum(float(state.hours[leg]) for leg in legs)
                    litres = km[0] * truck["fuel_l_per_km_empty"]
                    litres += sum(km[1:]) * truck["fuel_l_per_km_loaded"]
                    money = litres * fuel + sum(km) * truck["repair_cost_per_km"]
                    money += sum(float(state.fare[leg]) for leg in legs)
                    money += hours * truck["crew_cost_per_hour"]
                    key = (b, truck["truck"], stops)
                    found[key] = min(found.get(key, (np.inf,)), (money, hours, tonnes))
    return found


def trucks_needed(hours, shift):
    """Fewest trucks for trips of these hours, all ways tried."""
    best = len(hours)
    for where in product(range(len(hours)), repeat=len(hours)):
        sums = [
            sum(h for h, w in zip(hours, where, strict=True) if w == k)
            for k in set(where)
        ]
        if max(sums) <= shift:
            best = min(best, len(sums))
    return best


def least_by_enumeration(result, day, sets):
    """Least cost of the day over sets of bases that are open, all ways of driving."""
    scenario = result.scenario
    trips = trips_of(result, day)
    shift = scenario.settings.work.hours_per_day
    per_day = {
        code: float(money) / day.year_days
        for code, money in zip(
            scenario.trucks["truck"],
            scenario.trucks["fixed_cost_per_year"],
            strict=True,
        )
    }
    annual = result.instance.options.annual / day.year_days
    least = np.inf
    for bases in sets:
        opening = sum(
            float(annual[result.instance.options_of([day.options[b]])].sum())
            for b in bases
        )
        here = [
            (b, code, stops, *known)
            for (b, code, stops), known in trips.items()
            if b in bases and known[1] <= shift
        ]

        def extend(left, chosen, bases=bases, here=here, opening=opening):
            nonlocal least
            if opening + sum(trip[3] for trip in chosen) >= least:
                return
            if left:
                for trip in here:
                    if trip[2][0] == left[0] and set(trip[2]) <= set(left):
                        extend([s for s in left if s not in trip[2]], [*chosen, trip])
                return
            for b in bases:
                load = sum(trip[5] for trip in chosen if trip[0] == b)
                if load > day.siting.capacity_t[b] + 1e-6:
                    return
            money = opening + sum(trip[3] for trip in chosen)
            for pair in {trip[:2] for trip in chosen}:
                hours = [trip[4] for trip in chosen if trip[:2] == pair]
                money += per_day[pair[1]] * trucks_needed(hours, shift)
            least = min(least, money)

        extend(list(range(len(day.visits))), [])
    return least


def all_sets(day):
    """Every set with as many yards of each size as the plan, one size a yard."""
    wanted = sorted(day.options[b][1] for b in day.planned)
    return [
        some
        for some in combinations(range(len(day.options)), len(wanted))
        if sorted(day.options[b][1] for b in some) == wanted
        and len({day.options[b][0] for b in some}) == len(some)
    ]


@pytest.mark.slow
@pytest.mark.parametrize("most", [12, 1], ids=["all sets", "by descent"])
@pytest.mark.parametrize("which", ["result", "two_sizes"])
def test_both_sides_are_what_enumeration_finds(request, monkeypatch, which, most):
    monkeypatch.setattr(search, "MOST_ENUMERATED", most)
    result = request.getfixturevalue(which)
    day, choice = collecting_day(result, MONTH), choose_yards(result, MONTH)
    assert len(day.visits) >= 3
    assert choice.faults == ()
    by_hand = least_by_enumeration(result, day, [day.planned])
    assert total(choice, "plan") == pytest.approx(by_hand, rel=1e-5)
    by_hand = least_by_enumeration(result, day, all_sets(day))
    assert total(choice, "free") == pytest.approx(by_hand, rel=1e-5)


@pytest.mark.slow
@pytest.mark.parametrize("month", ["m01", "m06", "m09"])
@pytest.mark.parametrize("seed", [1, 2])
def test_the_free_choice_is_never_dearer(result, month, seed):
    choice = choose_yards(result, month, seed=seed)
    assert total(choice, "free") <= total(choice, "plan") * (1 + 1e-9)
    assert choice.faults == ()


def test_a_search_without_time_returns_what_it_began_from(result):
    day = collecting_day(result, MONTH)
    start = of_plan(day, SearchLimits(20, 60.0))
    answer = search.locate(day.siting, SearchLimits(20, 0.0), start=start)
    assert answer.tours == start.tours


def test_the_same_seed_gives_the_same_choice(result, choice):
    again = choose_yards(result, MONTH)
    pd.testing.assert_frame_equal(again.table, choice.table)
    assert not choice.timed_out


def test_tonnes_and_yards_are_those_of_the_plan(result, choice):
    made = [v for v in visits(result, MONTH) if v.spoils and v.day == choice.day]
    sums = choice.table.groupby("choice")["tonnes"].sum()
    assert sums["plan"] == pytest.approx(sum(v.tonnes for v in made))
    assert sums["free"] == pytest.approx(sums["plan"])
    sizes = choice.table.groupby("choice")["size"].apply(sorted)
    assert sizes["free"] == sizes["plan"] == sorted(result.plan.yards["size"])
    planned = choice.table[choice.table["choice"] == "plan"]
    assert set(planned["yard"]) == set(result.plan.yards["yard"])


@pytest.mark.slow
def test_closed_yards_stay_closed_and_forced_ones_open(result):
    chosen = {yard for yard, _ in result.plan.yard_sizes}
    (other,) = set(result.scenario.yards["yard"]) - chosen
    held = sorted(chosen)[0]
    decision = result.scenario.yards["yard"].map({other: "closed", held: "open"})
    yards = result.scenario.yards.assign(decision=decision.fillna("free"))
    strict = run(with_table(result.scenario, "yards", yards))
    choice = choose_yards(strict, MONTH)
    free = choice.table[choice.table["choice"] == "free"]
    kept = free[free["yard"] == held]["size"].tolist()
    assert kept == [size for yard, size in strict.plan.yard_sizes if yard == held]
    assert other not in set(free["yard"])


def test_the_middle_day_is_the_first_of_its_amount(result):
    (visit, *_) = visits(result, MONTH)
    tonnes = {1: 4.0, 2: 1.0, 3: 2.0, 4: 2.0, 5: 9.0}
    made = [replace(visit, day=d, tonnes=t) for d, t in tonnes.items()]
    assert middle_day(made) == 3
    with pytest.raises(NoChoiceError, match="nothing that spoils"):
        middle_day([])


def test_yards_that_cannot_fetch_it_all_are_named(result, monkeypatch):
    monkeypatch.setattr(module, "of_plan", lambda *_: RoundsSolution((), (0, 1)))
    with pytest.raises(NoChoiceError, match="2 loads were left"):
        choose_yards(result, MONTH)


def test_a_sum_that_differs_is_a_fault(result):
    day = collecting_day(result, MONTH)
    side = of_plan(day, SearchLimits(20, 60.0))
    table = figures(result, day, "plan", side)
    assert module._faults(day, "plan", side, table) == []
    table.loc[0, "yard_money"] += 0.01
    (fault,) = module._faults(day, "plan", side, table)
    assert "counted anew" in fault


def bare(sites, sorts, money, **more):
    task = Task(tuple(Base(f"y{n}") for n in range(len(sites))), (), (), ())
    return Siting(task, money, (1.0,) * len(sites), sites, sorts, **more)


@pytest.mark.parametrize("seed", range(12))
def test_opened_is_the_cheapest_complete_set(seed):
    rng = np.random.default_rng(seed)
    sites, sorts = (0, 0, 1, 1, 2, 2, 3), (0, 1, 0, 1, 0, 1, 1)
    money = tuple(rng.integers(1, 20, 7).astype(float).tolist())
    siting = bare(sites, sorts, money, wanted=(1, 2), always=(3,))
    used = sorted(rng.choice(7, rng.integers(0, 3), replace=False).tolist())
    complete = [
        sum(money[b] for b in some)
        for some in combinations(range(7), 3)
        if {*used, 3} <= set(some)
        and len({sites[b] for b in some}) == 3
        and sorted(sorts[b] for b in some) == [0, 1, 1]
    ]
    found, bases = opened(siting, used)
    assert found == min(complete, default=np.inf)
    assert found == np.inf or sum(money[b] for b in bases) == found


def test_planted_faults_of_sites_and_fleets_are_found(two_sizes):
    day = collecting_day(two_sizes, MONTH)
    side = of_plan(day, SearchLimits(20, 60.0))
    out = len(side.tours)
    everything = tuple(range(len(day.siting.task.trucks)))
    within = replace(day.siting, fleet=((everything, out),), known={})
    assert located_faults(within, side) == []
    over = replace(day.siting, fleet=((everything, out - 1),), known={})
    assert f"{out} are out of {out - 1}" in located_faults(over, side)[0]
    twins = [
        (a, b)
        for a, b in combinations(range(len(day.options)), 2)
        if day.options[a][0] == day.options[b][0]
    ]
    first, second = twins[0]
    trucks = [t.base for t in day.siting.task.trucks]
    tours = (Tour(trucks.index(first), ((0,),)), Tour(trucks.index(second), ((1,),)))
    assert any(
        "two sizes" in f for f in located_faults(day.siting, RoundsSolution(tours, ()))
    )
    assert located_cost(day.siting, RoundsSolution(tours, ())) == np.inf


def test_words_and_table_say_the_same(result, choice):
    table, words = choice_table(result, choice), choice_words(result, choice)
    whole = table[table["yard"] == "all yards"].set_index("yards")
    for side in ("plan", "free"):
        name = {"plan": "the plan's yards", "free": "chosen freely"}[side]
        both = whole.loc[name, "both [coin/day]"]
        assert both == pytest.approx(total(choice, side), abs=0.01)
        (line,) = (word for word in words if word.strip().startswith(name))
        assert f"= {both:,.0f} coin" in line
    assert "second opinion, not a plan" in words[-1]


def test_yards_that_stay_are_said_to(result, choice):
    planned = choice.table[choice.table["choice"] == "plan"]
    same = pd.concat([planned, planned.assign(choice="free")], ignore_index=True)
    words = choice_words(result, replace(choice, table=same))
    assert "The free choice keeps every yard where the plan puts it." in words


@pytest.mark.thorough
def test_the_command_writes_the_choice(folder, tmp_path):
    said = CliRunner().invoke(
        app,
        ["rounds", str(folder), "--period", MONTH, "--choose-yards", "--iterations",
         "10", "--workers", "1", "--out", str(tmp_path)],
    )  # fmt: skip
    assert said.exit_code == 0, said.output
    assert "alone decided where the yards go" in said.output
    made = tmp_path / f"rounds_{MONTH}"
    listed = pd.read_csv(made / "yard_choice.csv", keep_default_na=False)
    sheet = pd.read_excel(
        made / "rounds.xlsx", sheet_name="yard choice", keep_default_na=False
    )
    assert (listed["yard"] == "all yards").sum() == 2
    pd.testing.assert_frame_equal(listed, sheet, check_dtype=False)


@pytest.mark.thorough
def test_without_the_option_no_choice_is_written(folder, tmp_path):
    said = CliRunner().invoke(
        app,
        ["rounds", str(folder), "--period", MONTH, "--iterations", "10", "--workers",
         "1", "--out", str(tmp_path)],
    )  # fmt: skip
    assert said.exit_code == 0, said.output
    assert not (tmp_path / f"rounds_{MONTH}" / "yard_choice.csv").exists()
