"""The report's page of who pays: it adds up to the net cost, and says why."""

import pytest
from support.fake_result import HOSTILE, result
from support.pages import Page, value

from logistics.accounts.cost_shares import groups, shapley
from logistics.studies.coalitions import Coalition, Sharing, by_work
from maps.report.plan_facts import facts
from maps.report.report import report_html
from maps.report.sections.shares import section

SAVING = 300.0
"""What the two districts save together in the game by hand. [money/yr]"""


def sharing(made, saving=SAVING):
    """Write a game of the two districts by hand; its total is the plan's."""
    table = by_work(made)
    total = float(table["by_tonnes"].sum())
    costs = dict(zip([*groups(["north", "south"])], [0, 0, total], strict=True))
    north, south = frozenset(["north"]), frozenset(["south"])
    costs |= {north: 0.75 * total + saving, south: 0.25 * total}
    share = shapley(costs, ["north", "south"])
    table["alone"] = [costs[north], costs[south]]
    table["shapley"] = [share["north"], share["south"]]
    table["low"], table["high"] = table["shapley"] - 5, table["shapley"] + 5
    solved = {g: Coalition(g, c, c - 1, 0.1, "optimal") for g, c in costs.items()}
    standing = float(table["standing"].sum())
    return Sharing(("north", "south"), solved, table, total, standing)


@pytest.fixture(scope="module")
def made():
    return result()


@pytest.fixture(scope="module")
def page(made):
    return Page(report_html(made, sharing(made)))


def test_each_way_adds_up_to_the_net_cost(made, page):
    net = round(made.ledger["amount"].sum(), facts(made).money_digits)
    pays = page.table("What each district pays")["tfoot"][0]
    assert [float(value(text)) for text in pays[1:]] == pytest.approx([net, net])
    assert float(value(page.table("Shapley")["tfoot"][0][-1])) == pytest.approx(net)


def test_rows_are_those_of_the_lanes_and_the_ledger(made, page):
    """Tonnes and t·km by crossing the lanes with the sources, money by their share."""
    lanes = made.lanes[made.lanes["kind"] == "in"].merge(
        made.scenario.sources[["source", "district"]],
        left_on="origin",
        right_on="source",
    )
    tonnes = lanes.groupby("district")["tonnes"].sum()
    work = (lanes["tonnes"] * lanes["km"]).groupby(lanes["district"]).sum()
    owned = made.ledger["line"] == "owned trucks"
    rest = made.ledger.loc[~owned, "amount"].sum()
    arises = made.supply.merge(made.scenario.sources[["source", "district"]])
    arises = arises.groupby("district")["tonnes_per_year"].sum()
    trucks = made.ledger.loc[owned, "amount"].sum() * arises / arises.sum()
    brings = {row[0]: row for row in page.table("What each district brings")["tbody"]}
    pays = {row[0]: row for row in page.table("What each district pays")["tbody"]}
    for name in ("north", "south"):
        assert float(value(brings[name][2])) == pytest.approx(tonnes[name], abs=1)
        assert float(value(brings[name][3])) == pytest.approx(work[name], abs=1)
        for column, parts in ((1, tonnes), (2, work)):
            share = rest * parts[name] / parts.sum() + trucks[name]
            assert float(value(pays[name][column])) == pytest.approx(share, abs=1)


def test_two_halve_the_saving(made, page):
    """By hand: alone less half of what acting together saves, and the trucks."""
    digits = facts(made).money_digits
    found = sharing(made).table
    for row, alone in zip(page.table("Shapley")["tbody"], found["alone"], strict=True):
        by_hand = alone - SAVING / 2
        assert float(value(row[2])) == pytest.approx(by_hand, abs=10.0**-digits)
        assert value(row[2]) + value(row[4]) == value(row[5])


@pytest.mark.slow
def test_a_group_that_would_leave_is_named(made):
    text = Page(report_html(made, sharing(made, saving=-SAVING))).text
    assert "costs 300" in text
    assert "most of all" in text
    assert (
        "no group planned would be cheaper"
        in Page(report_html(made, sharing(made))).text
    )


def test_without_the_groups_it_says_how_to_get_them(made):
    text = Page(report_html(made)).text
    assert "The command shares makes those plans" in text
    assert "Shapley" not in text


def with_districts(**codes):
    """Rename the districts of the tiny plan."""
    made = result()
    sources = made.scenario.sources
    sources = sources.assign(district=sources["district"].map(codes))
    made.scenario.tables["sources"] = made.scenario.sources = sources
    return made


def test_one_district_shares_with_nobody():
    alone = with_districts(north="north", south="north")
    assert "pays everything" in section(facts(alone)).pieces[0].lines[0]


@pytest.mark.slow
def test_hostile_districts_make_no_element():
    page = Page(report_html(with_districts(north=HOSTILE, south="south")))
    assert all(tag != "script" for tag, _ in page.elements)
    assert "alert(1)" in page.text
