"""`plan --years` from the command line: files, words and exit codes."""

import json
import shutil

import pandas as pd
import pytest
from support.places import SMALL
from typer.testing import CliRunner

from maps.commands.command_line import app

pytestmark = pytest.mark.slow
HEADS = "year,capital,carry_over,recurrent,supply_pct,changes\n"


def planned(folder, rows, *options, like=SMALL):
    """Run the command on the small district, or one like it, with these years."""
    district = folder / "district"
    shutil.copytree(like, district)
    (district / "years.csv").write_text(HEADS + rows)
    call = ["plan", str(district), "--years", "--out", str(folder / "out"), *options]
    return CliRunner().invoke(app, call)


def test_the_way_is_written_and_said(tmp_path):
    rows = "2027,100000,yes,,60,\n2028,100000,yes,,160,close_yard:yard=shoal\n"
    done = planned(tmp_path, rows)
    assert done.exit_code == 0, done.output
    assert "2027: " in done.output
    assert "2028: " in done.output
    assert "Shoal yard closes" in done.output
    told = json.loads((tmp_path / "out" / "way.json").read_text())
    assert told["gap_of_yards"] <= 0.01
    steps = {(s["year"], s["yard"], s["step"]) for s in told["steps"]}
    assert (2028, "shoal", "closes") in steps


def test_most_tonnes_for_the_money_are_said_in_tonnes(tmp_path):
    rows = "2027,60000,yes,,60,\n2028,60000,yes,,160,\n"
    done = planned(tmp_path, rows, "--goal", "uncollected")
    assert done.exit_code == 0, done.output
    told = json.loads((tmp_path / "out" / "way.json").read_text())
    assert told["goal"] == "uncollected"
    assert (
        f"The way leaves {told['value']:,.0f} t of feedstock uncollected" in done.output
    )
    assert told["proven_bound"] <= told["value"] + 1e-6
    page = (tmp_path / "out" / "way.html").read_text()
    assert f"leaves {told['value']:,.0f} t of feedstock uncollected" in page
    assert f"costs <strong>{told['net_present_cost']:,.0f}" in page


def test_the_earliest_year_is_named_and_asked_for_from_then_on(tmp_path):
    shutil.copytree(SMALL, tmp_path / "asked")
    policy = "rule,material,share_pct\nleast_share,,40\n"
    (tmp_path / "asked" / "policy.csv").write_text(policy)
    rows = "2027,0,yes,,160,\n2028,120000,yes,,160,\n"
    done = planned(tmp_path, rows, "--earliest", like=tmp_path / "asked")
    assert done.exit_code == 0, done.output
    said = "asks to be collected is met from 2028 on; sooner is not possible within"
    assert said in done.output
    told = json.loads((tmp_path / "out" / "way.json").read_text())
    assert told["demands_met_from"] == 2028
    assert said in (tmp_path / "out" / "way.html").read_text()


def test_the_first_year_is_decided_for_many_futures(tmp_path):
    district = tmp_path / "district"
    shutil.copytree(SMALL, district)
    rows = "2027,120000,yes,,100,\n2028,120000,yes,,120,\n"
    (district / "years.csv").write_text(HEADS + rows)
    out, less = tmp_path / "out", "scale_demand:percent=-70@3"
    call = ["robust", str(district), "--years", "--change", less, "--out", str(out)]
    done = CliRunner().invoke(app, call)
    assert done.exit_code == 0, done.output
    assert "2027, whatever comes: " in done.output
    assert "Nothing changes (25 %): " in done.output
    table = pd.read_csv(out / "robust.csv" / "worth.csv", index_col="figure")["value"]
    value = table["expected net present cost [coin]"]
    assert table["no first year costs less than [coin]"] <= value
    assert f"Expected net present cost {value:,.0f} coin" in done.output
    futures = pd.read_csv(out / "robust.csv" / "futures.csv")
    costs = futures["first year for all: net present cost [coin]"]
    assert (futures["weight [%]"] / 100) @ costs == pytest.approx(value)
    risky = CliRunner().invoke(app, [*call, "--risk", "1"])
    assert risky.exit_code == 2


def test_earliest_needs_years_and_something_asked(tmp_path):
    done = planned(tmp_path, "2027,1,no,,,\n", "--earliest")
    assert done.exit_code == 2
    assert "a row least_share" in done.output + done.stderr


def test_money_that_cannot_do_is_a_shortage_of_its_year(tmp_path):
    done = planned(tmp_path, "2027,0,no,,,\n2028,0,no,-90000,,\n")
    assert done.exit_code == 3, done.output
    assert "2028: Annual budget must rise by" in done.output
    assert "2027: Annual budget" not in done.output


def test_capital_that_keeps_nothing_standing_is_told_by_year(tmp_path):
    """The machines of the yard that stands are worn out after nine years."""
    rows = "".join(f"{year},0,no,,,\n" for year in range(2027, 2037))
    done = planned(tmp_path, rows)
    assert done.exit_code == 3, done.output
    assert "2036: 3,000 coin more are needed." in done.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("2027,1,no,,,\n2029,1,no,,,\n", "does not follow 2027"),
        ("2027,1,no,,,mill_shuts\n", "'mill_shuts'"),
        ("", "has no years"),
    ],
)
def test_years_that_cannot_be_read_are_faults(tmp_path, rows, said):
    done = planned(tmp_path, rows)
    assert done.exit_code == 1
    assert said in done.output + done.stderr


def test_what_years_do_not_take_is_refused(tmp_path):
    done = planned(tmp_path, "2027,1,no,,,\n", "--coarsen")
    assert done.exit_code == 2
