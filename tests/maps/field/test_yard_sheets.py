"""What a foreman gets: loads, mix, windrows with dates, cover; on a small district."""

import re
from dataclasses import replace
from math import sqrt

import numpy as np
import pandas as pd
import pytest

from logistics.results.pipeline import run
from logistics.rounds.driving import drive
from logistics.rounds.tables import calls
from logistics.rounds.windrow_calendar import (
    area_by_day,
    count_of,
    date_of,
    events,
    longest_m,
    turnings,
    windrows,
    zone_m2,
)
from logistics.rounds.yard_month import arrivals, balance, cover
from logistics.scenario.rows import records, rows_by
from logistics.scenario.scenario import read_scenario
from logistics.scenario.starter import new_scenario
from maps.field.yard_sheets import sheets, write_all, write_sheets


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    folder = tmp_path_factory.mktemp("district") / "starter"
    new_scenario(folder, "csv")
    return run(read_scenario(folder))


@pytest.fixture(scope="module")
def period(result):
    return str(result.lanes.groupby("period")["tonnes"].sum().idxmax())


@pytest.fixture(scope="module")
def driven(result, period):
    return drive(result, period, workers=1)


@pytest.fixture(scope="module")
def yard(result, period):
    """The open yard that takes most in the period."""
    here = result.mixes[result.mixes["period"] == period]
    return str(here.loc[here["charge_t"].idxmax(), "yard"])


@pytest.mark.parametrize("rounds", [True, False], ids=["rounds", "plan"])
def test_all_that_is_hauled_is_expected(result, period, driven, rounds):
    coming = arrivals(result, period, driven if rounds else None)
    hauls = result.plan.hauls[result.plan.hauls["period"] == period]
    planned = hauls.groupby("yard")["tonnes"].sum()
    left = driven.left.groupby("yard")["tonnes"].sum() if rounds else pd.Series()
    for code, tonnes in coming.groupby("yard")["tonnes"]:
        missing = float(left.get(code, 0.0))
        assert tonnes.sum() + missing == pytest.approx(planned[code], abs=0.02)
    assert (coming["loads"] >= 1).all()


def test_loads_are_the_trucks_that_unload(result, period, driven):
    """Counted another way: trips of the calls table on which something is fetched."""
    table = calls(driven).query("kind == 'in'")
    trips = table.groupby(["day", "truck", "trip"]).ngroups
    assert arrivals(result, period, driven)["loads"].sum() == trips


def test_the_store_balances(result):
    """What was there and came is used, lost or there: the programme's own row."""
    codes = list(result.scenario.periods["period"])
    seen = 0
    for code in result.plan.yards["yard"]:
        for now in codes:
            for row in records(balance(result, code, now)):
                seen += 1
                there = row["charge_t"] + row["end_t"] + row["lost_t"]
                assert row["start_t"] + row["arrives_t"] == pytest.approx(
                    there, abs=1e-3
                )
    assert seen


def test_windrows_hold_the_charge_and_the_pad_holds_them(result, yard):
    """Volumes add up to the mixes; on no day does more lie there than has room."""
    built = windrows(result, yard)
    mixes = result.mixes[result.mixes["yard"] == yard]
    volume = built.groupby("period")["volume_m3"].sum()
    assert volume.to_dict() == pytest.approx(
        dict(zip(mixes["period"], mixes["windrow_m3"], strict=True))
    )
    shape = result.scenario.settings.windrow
    area = shape.base_m * shape.height_m * 2 / 3  # parabola
    assert np.allclose(built["length_m"] * area, built["volume_m3"])
    size = rows_by(result.scenario.yard_sizes, "size")[mixes["size"].iloc[0]]
    assert (built["length_m"] <= longest_m(size["pad_m2"], shape) + 1e-9).all()
    zone = size["pad_m2"] / (1 + shape.reserve)
    assert zone_m2(result, yard) == pytest.approx(zone)
    assert area_by_day(result, built).max() <= zone * (1 + 1e-9)
    lengths = [[row["length_m"], *row["lengths_m"]] for row in records(built)]
    assert all((np.diff(some) < 0).all() for some in lengths)  # ever shorter


def test_little_is_built_in_fewer_windrows_where_the_zone_holds_them(result, yard):
    """A twentieth of the charge: not five stumps a month, but what makes a windrow."""
    mixes = result.mixes.assign(windrow_m3=result.mixes["windrow_m3"] / 20)
    little = windrows(replace(result, mixes=mixes), yard)
    shape = result.scenario.settings.windrow
    assert len(little) < len(windrows(result, yard))
    by_period = little.groupby("period")
    short = little["length_m"] < 2 * shape.base_m
    assert (by_period["windrow"].transform("size")[short] == 1).all()
    volume = by_period["volume_m3"].sum().sum()
    assert volume == pytest.approx(mixes.loc[mixes["yard"] == yard, "windrow_m3"].sum())


def test_a_windrow_lives_its_days(result, yard):
    process = result.scenario.settings.process
    built = windrows(result, yard)
    for _, batch in built.groupby(["period", "batch"]):
        middle = np.mean([day for days in batch["built"] for day in days])
        assert (batch["leaves"] - middle - process.active_days).abs().max() <= 1.5
        assert batch["closed"].max() - batch["opened"].min() <= 9
        assert len(set(batch["turned"])) == 1  # the whole batch on one day
        days = batch["turned"].iloc[0]
        assert days[0] == batch["closed"].max() + process.turning_days
        assert (np.diff(days) == process.turning_days).all()
        assert days[-1] < batch["leaves"].iloc[0]
    assert (built["ready"] - built["leaves"] == process.curing_days).all()
    table = turnings(built)
    assert len(table) == sum(map(len, built["turned"]))


def test_every_turning_of_the_year_is_on_one_sheet(result, yard):
    """The months' calendars together hold each event once: the year is a circle."""
    built = windrows(result, yard)
    turned = turnings(built)
    months = [events(result, yard, p) for p in result.scenario.periods["period"]]
    table = pd.concat(months)
    assert (table["what"] == "turn").sum() == len(turned)
    assert (table["what"] == "leaves").sum() == len(built)
    assert (table["what"] == "ready").sum() == len(built)


def test_windrows_by_hand(result):
    """A pad of 1,750 m2 with 75 % on top: 1,000 m2, a square of 31.6 m."""
    shape = result.scenario.settings.windrow
    assert (shape.base_m, shape.aisle_m, shape.reserve) == (3, 3, 0.75)
    assert longest_m(1750, shape) == pytest.approx(sqrt(1000))
    # a batch a week in 30 days; little is one heap
    assert count_of(100, 3, 30) == 5
    assert count_of(5, 3, 30) == 1


def test_dates_go_round_the_year(result):
    days = result.scenario.periods["days"]
    codes = list(result.scenario.periods["period"])
    assert date_of(result, 1) == (codes[0], 1)
    assert date_of(result, float(days.iloc[0]) + 1) == (codes[1], 1)
    assert date_of(result, float(days.sum()) + 2) == (codes[0], 2)


def test_cover_by_hand(result, yard, period):
    """Two days of fish, husk only after it on the first: all is lacking, then none."""
    rows = balance(result, yard, period)
    fish = rows[rows["spoils"]].iloc[0]["feedstock"]
    bulk = rows[rows["structure"] & ~rows["spoils"]].iloc[0]
    coming = pd.DataFrame(
        [
            (yard, 1, fish, 1, 2.0, 8.0),
            (yard, 1, bulk["feedstock"], 4, 1000 * bulk["loose_t_m3"], 9.0),
            (yard, 2, fish, 1, 1.0, 8.0),
            (yard, 2, bulk["feedstock"], 2, 50 * bulk["loose_t_m3"], 7.0),
        ],
        columns=["yard", "day", "feedstock", "loads", "tonnes", "first_h"],
    )
    table = cover(result, yard, period, coming)
    each = result.scenario.settings.cover.m3_per_t
    bulky = rows[rows["structure"] & ~rows["spoils"]]
    start = float((bulky["start_t"] / bulky["loose_t_m3"]).sum())
    charged = float(bulky["charge_m3"].sum())
    assert table["need_m3"].tolist() == [2 * each, each]
    assert table["morning_m3"].iloc[0] == pytest.approx(start)
    assert table["before_m3"].tolist() == pytest.approx([0.0, 25.0])
    assert table["short_m3"].iloc[0] == pytest.approx(max(0.0, 2 * each - start))
    left = start + 1000 - min(charged * 2 / 3, start + 1000)
    assert table["morning_m3"].iloc[1] == pytest.approx(left)
    assert table["short_m3"].iloc[1] == pytest.approx(
        max(0, each - left - 25), abs=0.05
    )


def test_more_in_store_keeps_the_cover(result, yard, period, driven):
    """The stock that the sheet asks for is enough on every day, and less is not."""
    coming = arrivals(result, period, driven)
    table = cover(result, yard, period, coming)
    more = float(table["more_m3"].max())
    bulk = balance(result, yard, period).query("structure and not spoils").iloc[0]
    for share, enough in ((1.0, True), (0.95, False)):
        extra = more * share * bulk["loose_t_m3"]
        stock = result.plan.stock
        codes = list(result.scenario.periods["period"])
        before = codes[codes.index(period) - 1]
        row = {"yard": yard, "feedstock": bulk["feedstock"], "period": before}
        stock = pd.concat([stock, pd.DataFrame([{**row, "tonnes": extra}])])

        richer = replace(result, plan=replace(result.plan, stock=stock))
        short = cover(richer, yard, period, coming)["short_m3"].max()
        assert (short == 0) == (enough or more < 0.05)


def test_the_sheet_says_what_the_plan_says(result, period, driven, yard, tmp_path):
    write_sheets(result, period, tmp_path, driven)
    text = (tmp_path / f"{period}_{yard}.html").read_text(encoding="utf-8")
    plain = re.sub(r"<[^>]+>", " ", text).replace("\xa0", " ")
    mix = rows_by(result.mixes[result.mixes["yard"] == yard], "period")[period]
    assert f"{mix['product_t']:,.0f} t" in plain
    assert f"{mix['water_t']:,.0f} m³" in plain
    assert f"C:N {mix['cn']:.1f}" in plain
    assert "Loads are from the rounds" in plain
    assert "certifies nothing" in plain
    assert "every 14 days is not enough" in plain
    assert "http" not in text.replace("http-equiv", "")
    from_plan = sheets(result, period, yards=[yard])[yard]
    assert "no rounds planned" in from_plan
    assert "First arrives" not in from_plan


@pytest.mark.slow
def test_all_sheets_are_written_once(result, tmp_path):
    periods = list(result.scenario.periods["period"])[:2]
    yards = list(result.plan.yards["yard"])
    folder = write_all(result, periods, yards, tmp_path)
    (folder / "old.html").write_text("old")
    write_all(result, periods, yards, tmp_path)
    assert len(list(folder.iterdir())) == len(periods) * len(yards)
