"""Likely slips are told: landings on rest days, dear fees, points of thousands."""

import shutil
from dataclasses import replace

import pytest
from support.places import SMALL

from logistics.diagnosis.slips import (
    dear_fees,
    dear_fees_by_year,
    doubtful_numbers,
    driving_days_only,
    shares_not_counted,
)
from logistics.scenario.edits import set_values, with_table
from logistics.scenario.readers import read_tables
from logistics.scenario.scenario import read_scenario


@pytest.mark.parametrize(
    ("keeps", "rests", "warned"),
    [(12, 4, ["fish"]), (47, 4, ["fish"]), (48, 4, []), (12, 0, [])],
)
def test_what_spoils_before_trucks_drive_again(keeps, rests, warned):
    scenario = read_scenario(SMALL)
    materials, periods = scenario.materials.copy(), scenario.periods.copy()
    materials.loc[materials["material"] == "fish", "keep_hours"] = float(keeps)
    periods["working_days"] = periods["days"] - rests
    tables = {**scenario.tables, "materials": materials, "periods": periods}
    found = driving_days_only(replace(scenario, tables=tables))
    assert list(found) == warned
    assert all("on the 317 days of 365" in words for words in found.values())


@pytest.mark.parametrize(
    ("text", "doubted"),
    [("7.500", True), ("9.000", True), ("7500", False), ("7.5", False)],
)
def test_a_point_that_may_separate_thousands(tmp_path, text, doubted):
    """The other mill gives 7500 and the herd 500."""
    folder = tmp_path / "small"
    shutil.copytree(SMALL, folder)
    file = folder / "sources.csv"
    file.write_text(file.read_text().replace("processed,7500", f"processed,{text}", 1))
    found = doubtful_numbers(read_tables(folder).raw["sources"])
    assert [problem.value for problem in found] == [text] * doubted


def test_three_decimals_among_small_numbers_are_no_doubt(tmp_path):
    folder = tmp_path / "small"
    shutil.copytree(SMALL, folder)
    file = folder / "trucks.csv"
    before = file.read_text()
    payload = before.splitlines()[1].split(",")[
        before.splitlines()[0].split(",").index("payload_t")
    ]
    assert f",{payload}," in before
    file.write_text(before.replace(f",{payload},", ",4.125,", 1))
    assert doubtful_numbers(read_tables(folder).raw["trucks"]) == []


@pytest.mark.parametrize(("fee", "warned"), [(30.0, 0), (30.1, 1)])
def test_a_fee_above_today_s_disposal_is_warned_of(fee, warned):
    """The pier pays 30 a tonne today; the others pay nothing and are asked nothing."""
    base = read_scenario(SMALL)
    piers = base.sources["source"] == "pier"
    found = dear_fees(set_values(base, "sources", piers, {"tipping_fee_per_t": fee}))
    assert len(found) == warned
    for problem in found:
        assert str(problem).startswith(
            "sources.csv, column 'tipping_fee_per_t': 'pier 30.1 (today 30)' is above "
            "what disposal costs the source today"
        )


@pytest.mark.parametrize(("fee", "warned"), [("30", 0), ("30.1", 1), ("", 0)])
def test_a_fee_of_a_year_above_today_s_disposal_is_warned_of(tmp_path, fee, warned):
    """All pay 30 a tonne today."""
    folder = shutil.copytree(SMALL, tmp_path / "district")
    (folder / "years.csv").write_text(f"year,tipping_fee_per_t\n2027,{fee}\n")
    base = read_scenario(folder)
    sources = base.sources.assign(disposal_cost_per_t=30.0)
    found = dear_fees_by_year(with_table(base, "sources", sources))
    assert len(found) == warned
    for problem in found:
        assert str(problem).startswith(
            "years.csv, row 2, column 'tipping_fee_per_t': '30.1' is above what "
            "disposal costs today at 4 of 4 sources"
        )


@pytest.mark.parametrize(
    ("share", "basis", "warned"),
    [(0.6, None, 1), (1.0, None, 0), (0.6, "total", 0), (0.6, "available", 0)],
)
def test_a_share_of_available_carbon_that_the_window_does_not_count(
    share, basis, warned
):
    """Only who states a share and not whether it counts is asked."""
    base = read_scenario(SMALL)
    used = base.defaults_used
    stated = (used["table"] == "materials") & (used["column"] == "available_carbon_pct")
    if basis is not None:
        stated |= (used["table"] == "settings") & (used["column"] == "mix.cn_basis")
    base = replace(base, defaults_used=used[~stated])
    materials = base.materials.assign(available_carbon=share)
    found = shares_not_counted(with_table(base, "materials", materials))
    assert len(found) == warned
    for problem in found:
        assert str(problem).startswith(
            "materials.csv, row 2, column 'available_carbon_pct': '60' is shown and "
            "sets the nitrogen lost, but the window of C:N counts all carbon"
        )


def test_many_dear_fees_are_counted():
    base = read_scenario(SMALL)
    sources = base.sources.assign(tipping_fee_per_t=40.0)
    (problem,) = dear_fees(with_table(base, "sources", sources))
    assert problem.value.endswith(", 1 more")
    assert problem.why.startswith("are above")
