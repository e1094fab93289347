"""The command `alternatives`: what it says, writes and draws is what was found."""

import re

import pandas as pd
import pytest
from support.places import SMALL
from typer.testing import CliRunner

from logistics.changes import apply_changes, read_change_file
from logistics.results import run
from logistics.scenario import read_scenario
from maps.commands.command_line import app


@pytest.mark.slow
def test_the_page_the_tables_and_the_terminal_tell_of_the_same_plans(tmp_path):
    options = ["--within", "30", "--prove", "--out", str(tmp_path)]
    done = CliRunner().invoke(app, ["alternatives", str(SMALL), *options])
    assert done.exit_code == 0, done.output
    told = " ".join(done.output.split())
    plans = pd.read_csv(tmp_path / "alternatives.csv")
    cost = plans["net cost [coin/yr]"]
    assert len(plans) > 1
    assert cost.is_monotonic_increasing
    above = 100 * (cost - cost[0]) / abs(cost[0])
    assert plans["more than the best [%]"].to_list() == pytest.approx(above.to_list())
    assert (above <= 30).all()
    assert (plans["sites other than the best's"][1:] >= 1).all()
    assert (plans["collected [t/yr]"] > 0).all()
    assert f"{len(plans) - 1} plans within 30.0 %" in told
    sites = pd.read_excel(tmp_path / "alternatives.xlsx", "sites", header=None)
    named = sites.map(str).to_numpy().ravel().tolist()
    page = (tmp_path / "alternatives.html").read_text(encoding="utf-8")
    for site in ("Reef yard", "Mole yard", "Shoal yard"):
        assert site in named
        assert site in page
    assert page.count("<figcaption>Plan ") == len(plans)
    built = re.findall(r'<td class="built">', page)
    assert len(built) == plans["yards"].sum()
    dots = re.findall(r"<circle [^>]*><title>Plan (\d+)</title>", page)
    wanted = pd.read_excel(tmp_path / "alternatives.xlsx", "wanted", header=None)
    assert len(dots) == len(plans) * page.count('id="trade-') // 2
    assert dots
    least = wanted[wanted[0] == "least haulage"].iloc[0]
    assert least[1] == plans["haulage [coin/yr]"].idxmin() + 1
    assert least[2] == pytest.approx(plans["haulage [coin/yr]"].min())
    assert "<script" not in page
    assert "http-equiv" in page
    last = len(plans)
    change = read_change_file(tmp_path / "alternatives_plans" / f"plan_{last}.toml")
    taken = run(apply_changes(read_scenario(SMALL), change))
    assert len(taken.plan.yards) == plans["yards"].iloc[-1]
    assert taken.plan.objective == pytest.approx(cost.iloc[-1], rel=0.01)


def test_a_demand_that_cannot_be_met_has_nothing_beside_it(tmp_path):
    arguments = ["alternatives", str(SMALL), "--out", str(tmp_path / "out")]
    closed = [f"close_yard:yard={yard}" for yard in ("shoal", "reef", "mole")]
    for change in (*closed, "least_share:share_pct=50"):
        arguments += ["--change", change]
    done = CliRunner().invoke(app, arguments)
    assert done.exit_code == 3
    assert "no plan to set others beside" in " ".join(done.output.split())
    assert not (tmp_path / "out").exists()
