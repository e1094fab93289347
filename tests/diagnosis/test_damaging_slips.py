"""Slips that do damage are doubted one by one; good districts are doubted nowhere."""

import shutil
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from support.places import DEMO, KORRAVEL, SCENARIOS, SMALL, TESSANDRE
from support.random_district import random_district
from support.slipped import SLIPS, cell, moved, setting, times, without_outline

from logistics.composting import yearly_demand, yearly_supply
from logistics.diagnosis import doubts
from logistics.diagnosis.astray import LEAST_KM, points_astray
from logistics.diagnosis.days_drive import beyond_a_day
from logistics.diagnosis.plausible import CHECKS, NAMES, implausible
from logistics.diagnosis.shares_for_percent import LEAST, shares_for_percent
from logistics.diagnosis.too_much import (
    BEYOND_PADS,
    BEYOND_SUPPLY,
    LARGE_T,
    NEXT,
    PAD_T_M2,
    RICH_KG_T,
    dearer_than_fertiliser,
    far_above_next,
    more_than_ever_made,
    more_than_pads_take,
)
from logistics.diagnosis.usual_ranges import out_of_range, usual_ranges
from logistics.scenario.accepted import Accepted
from logistics.scenario.faults import ScenarioError
from logistics.scenario.scenario import read_scenario, write_scenario
from logistics.scenario.starter import new_scenario


@pytest.fixture(scope="module")
def good():
    return without_outline(read_scenario(DEMO))


def named(scenario, check):
    return [found for found in implausible(scenario) if found.check == check]


@pytest.mark.parametrize("name", SLIPS)
def test_the_slip_is_noticed(good, name):
    """Place, value and remedy are told, and the name by which it is accepted."""
    check, slip = SLIPS[name]
    problem = named(slip(good), check)[0].problem
    assert problem.file.endswith((".csv", ".toml"))
    assert problem.column
    assert problem.remedy.endswith(f"; if it is right, accept {check}")


def test_every_check_has_a_slip_and_a_name():
    checks = {check for check, _ in SLIPS.values()}
    assert checks <= set(NAMES)
    elsewhere = {"days_drive", "dear_fee", "far_off", "point_or_thousands", "water"}
    elsewhere |= {
        "encoding",
        "hidden",
        "left_aside",
        "own_output",
    }  # of files, not of figures
    assert set(NAMES) - checks == elsewhere


@pytest.mark.parametrize(
    ("file", "old", "new", "told"),
    [
        ("markets.csv", ",planting,", ",,", "column 'season': is blank"),
        ("calendar.csv", "planting,m04,20", "planting,m04,0", "sum of season"),
        ("trucks.csv", ",4,", ",4000,", "is above 60"),
        ("trucks.csv", ",20,", ",20000,", "is above 200"),
    ],
)
def test_slips_that_are_faults(tmp_path, file, old, new, told):
    """A market without a month, a season of nothing, kilograms and litres of trucks."""
    folder = tmp_path / "small"
    shutil.copytree(SMALL, folder)
    before = (folder / file).read_text()
    assert old in before
    (folder / file).write_text(before.replace(old, new, 1))
    with pytest.raises(ScenarioError, match=told):
        read_scenario(folder)


@pytest.mark.parametrize(
    "folder", [SMALL, DEMO, SCENARIOS / "highlake", TESSANDRE, KORRAVEL],
    ids=lambda path: path.name,
)  # fmt: skip
def test_no_false_alarm_in_what_ships(folder):
    assert doubts(read_scenario(folder)).open == ()


def test_no_false_alarm_in_the_starter(tmp_path):
    """Its settings, and the tables of the smallest district under its headings."""
    new_scenario(tmp_path / "new")
    for path in SMALL.glob("*.csv"):
        shutil.copy(path, tmp_path / "new" / path.name)
    assert doubts(read_scenario(tmp_path / "new")).open == ()


@pytest.mark.slow
def test_no_false_alarm_in_generated_regions():
    """Twenty of them, each with its own size, trucks and roads."""
    assert [f for seed in range(20) for f in implausible(random_district(seed))] == []


@pytest.mark.parametrize(("table", "column"), LEAST)
def test_the_least_percentages(good, table, column):
    """Just above is likely, just below is doubted."""
    frame, inside = None, column.removesuffix("_pct")
    for part, count in ((1.001, 0), (0.999, 1)):
        pct = LEAST[table, column].pct * part
        if table == "settings":
            scenario = setting(column, pct)(good)
        else:
            frame = good.tables[table]
            if frame.empty:
                row = {name: "" for name in frame} | {inside: pct / 100}
                frame = pd.DataFrame([row])
            frame = frame.copy()
            frame.loc[frame.index[0], inside] = pct / 100
            if table == "materials":
                frame.loc[frame.index[0], "material"] = "reed"
                frame.loc[frame.index[0], "structure"] = True
            scenario = replace(good, tables={**good.tables, table: frame})
        assert len(shares_for_percent(scenario)) == count, pct


RANGES = [
    (table, column, kind)
    for (table, column), kinds in usual_ranges().items()
    for kind in kinds
]


@pytest.mark.parametrize(("table", "column", "kind"), RANGES)
def test_the_usual_ranges(good, table, column, kind):
    usual = usual_ranges()[table, column][kind]
    for value, count in (
        (usual.low * 1.001, 0),
        (usual.low * 0.999, 1),
        (usual.high * 0.999, 0),
        (usual.high * 1.001, 1),
    ):
        scenario = with_figure(good, table, column, kind, value)
        found = out_of_range(scenario)
        shown = "body_m3" if column == "t_per_m3" else column
        mine = [f for f in found if f.problem.column == shown]
        assert len(mine) == count, value


def with_figure(good, table, column, kind, value):
    """Write a figure into the first row, made one of the kind that the range is for."""
    if table == "settings":
        return setting(column, value)(good)
    frame = good.tables[table].copy()
    first = frame.index[0]
    if column == "t_per_m3":
        column, value = "body_m3", float(frame["payload_t"].iloc[0]) / value
    if table == "materials":
        frame.loc[first, "material"] = "reed"
        frame.loc[first, "structure"] = kind == "structure"
    elif table in ("sources", "roads"):
        name = {"sources": "material", "roads": "class"}[table]
        frame.loc[first, name] = "reed" if kind == "*" else kind
    share = value / 100 if column.endswith("_pct") else value
    frame[column.removesuffix("_pct")] = frame[column.removesuffix("_pct")].astype(
        float
    )
    frame.loc[first, column.removesuffix("_pct")] = share
    return replace(good, tables={**good.tables, table: frame})


def test_every_range_says_what_it_rests_on():
    texts = [u.source for kinds in usual_ranges().values() for u in kinds.values()]
    texts += [least.source for least in LEAST.values()]
    known = ("from memory", "memory)", "common practice, no source", "as loose")
    assert all(any(word in text for word in known) for text in texts)


@pytest.mark.parametrize(("part", "count"), [(0.999, 0), (1.001, 1)])
def test_the_limits_of_too_much(good, part, count):
    """Ten times the next of its kind; pads ten times over; prices; all feedstock."""
    amounts = good.sources.loc[good.sources["material"] == "fish_waste_mixed", "amount"]
    first = amounts.index[amounts.to_numpy().argmax()]
    second = amounts.drop(first).max()
    row = good.sources.index.get_loc(first)
    most = cell("sources", "amount", second * NEXT * part, row)(good)
    assert len(far_above_next(most)) == count

    worth = float(
        sum(RICH_KG_T * good.fertilisers["price_per_kg"] / good.fertilisers["content"])
    )
    dear = cell("markets", "price_per_t", worth * part)(good)
    assert len(dearer_than_fertiliser(dear)) == count

    supply = yearly_supply(good)["tonnes_per_year"].sum()
    asked = yearly_demand(good)["tonnes_per_year"].sum()
    more = BEYOND_SUPPLY * supply / asked * part
    assert len(more_than_ever_made(times("markets", "amount", more)(good))) == count

    weighed = good.sources["basis"].isin(["tonnes", "processed"])
    middle = good.sources.loc[weighed, "amount"].median()
    large = times("sources", "amount", LARGE_T / middle * part)(good)
    assert len(more_than_pads_take(large)) == count

    small = good.yards.iloc[:2].assign(area_m2=good.yard_sizes["site_m2"].min())
    pads = 2 * good.yard_sizes["pad_m2"].min()
    few = replace(good, tables={**good.tables, "yards": small})
    full = times("sources", "amount", BEYOND_PADS * PAD_T_M2 * pads / supply * part)
    assert len(more_than_pads_take(full(few))) == count


@pytest.mark.parametrize("middle", [-30.0, 179.99])
@pytest.mark.parametrize(("part", "count"), [(0.99, 0), (1.01, 1)])
def test_how_far_a_point_may_lie(middle, part, count):
    """A small district: 100 km from its middle, also on the date line."""
    tables = {**random_district(3).tables}
    tables["people"] = tables["people"].iloc[:0]
    for table in ("sources", "yards", "markets"):
        near = np.linspace(-0.05, 0.05, len(tables[table]))
        east = (middle + near + 180) % 360 - 180
        tables[table] = tables[table].assign(lon=east, lat=near)
    astray = moved("sources", middle, LEAST_KM * part / 111.19)
    scenario = replace(random_district(3), tables=tables)
    assert len(points_astray(astray(scenario))) == count


def test_a_days_drive(good_small_travel):
    scenario, travel = good_small_travel
    hours = np.stack([
        travel.pick(truck, period).hours
        for truck in scenario.trucks["truck"] for period in scenario.periods["period"]
    ])  # fmt: skip
    yards = travel.index("yard", scenario.yards["yard"])
    one = travel.index("source", scenario.sources["source"])[0]
    there = hours[:, one, yards] + hours[:, yards, one]
    for part, count in ((0.999, 1), (1.001, 0)):
        limit = float(there.min()) * part
        rounds = scenario.settings.rounds.model_copy(update={"driving_day_h": limit})
        settings = scenario.settings.model_copy(update={"rounds": rounds})
        found = beyond_a_day(replace(scenario, settings=settings), travel)
        codes = [f.codes[0] for f in found if f.problem.file == "sources.csv"]
        assert codes.count(scenario.sources["source"].iloc[0]) == count


@pytest.fixture(scope="module")
def good_small_travel():
    from logistics.roads import travel

    scenario = read_scenario(SMALL)
    return scenario, travel(scenario)


def test_a_warning_is_accepted_with_a_reason(good, tmp_path):
    """It is told in one line; what matches nothing is a warning of its own."""
    bad = times("sources", "lon", -1, 5)(good)
    code = bad.sources["source"].iloc[5]
    why = Accepted("point_astray", (code,), "the ferry's other end")
    settled = doubts(replace(bad, path=None, accepted=(why,)))
    assert settled.open == ()
    assert settled.accepted == (
        f"point_astray for {code} is accepted: the ferry's other end",
    )
    stale = Accepted("speed", ("hill",), "steep")
    wrong = Accepted("sped", (), "steep")
    settled = doubts(replace(good, path=None, accepted=(stale, wrong)))
    assert [problem.why for problem in settled.open] == [
        "accepts nothing for hill: there is no such warning",
        "is not the name of a check",
    ]
    write_scenario(replace(bad, accepted=(why,)), tmp_path / "again")
    (again,) = read_scenario(tmp_path / "again").accepted
    assert replace(again, line=None) == why


@pytest.mark.parametrize(
    ("group", "told"),
    [
        ('check = "speed"', "accepted.reason': is missing"),
        ('check = "speed"\nreason = ""', "is no text"),
        ('check = 3\nreason = "x"', "is no text"),
        ('check = "speed"\nreason = "x"\ncode = "y"', "Write 'codes' if you meant"),
        ('check = "speed"\nreason = "x"\ncodes = 3', "is no list of codes"),
    ],
)
def test_an_acceptance_that_cannot_be_used_is_a_fault(tmp_path, group, told):
    folder = tmp_path / "small"
    shutil.copytree(SMALL, folder)
    with (folder / "scenario.toml").open("a") as file:
        file.write(f"\n[[accepted]]\n{group}\n")
    with pytest.raises(ScenarioError, match=told):
        read_scenario(folder)


def test_every_check_stands_in_the_list():
    """Each check is a function of a scenario alone."""
    assert len(set(CHECKS)) == len(CHECKS)


def test_the_words(good):
    """Two whole sentences, as they are read on the terminal."""
    (found,) = named(SLIPS["nitrogen 0.106"][1](good), "share_for_percent")
    assert str(found.problem) == (
        "materials.csv, row 3, column 'nitrogen_pct': 0.106 % is so little that a "
        "share may be meant. Write 10.6 for 10.6 %; if it is right, accept "
        "share_for_percent."
    )
    (found,) = named(moved("yards", 0.0, 0.0, 2)(good), "point_astray")
    assert "where phones without a fix put a point" in str(found.problem)
