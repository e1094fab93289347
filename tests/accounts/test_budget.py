"""A budget of a plan written by hand: no figure without rows, no cut with a rest."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from support.places import SMALL

from logistics.accounts.budget import (
    adds_up,
    book,
    estimates,
    identities,
)
from logistics.accounts.cashflow import (
    CASES,
    RATE,
    cash_flow,
    nominal,
    payback,
    rate_of_return,
    sensitivity,
    switching,
    worth,
)
from logistics.accounts.chart import cut, entry_code, parts, row_words
from logistics.accounts.gains import who_gains, worse_off
from logistics.accounts.repricing import entries_repriced, repriced
from logistics.accounts.units import unit_costs
from logistics.costs.money import annuity_factor
from logistics.results.pipeline import run
from logistics.results.plan_ledger import ledger
from logistics.scenario.edits import set_values, with_table
from logistics.scenario.scenario import read_scenario


@pytest.fixture(scope="module")
def result():
    """Three piers; nothing stands yet, there are fees, and manure is sold for."""
    base = read_scenario(SMALL)
    fresh = with_table(base, "yards", base.yards.assign(existing_size=""))
    piers = fresh.sources["source"] == "pier"
    return run(set_values(fresh, "sources", piers, {"tipping_fee_per_t": 4.0}))


@pytest.fixture(scope="module")
def money(result):
    return book(result)


def test_every_row_of_the_ledger_is_used_up(result):
    table = parts(result)
    rows = table.groupby("row")["amount"].sum()
    assert rows.to_numpy() == pytest.approx(result.ledger["amount"].to_numpy())
    assert {"revenue", "recurrent", "capital_charge"} <= set(table["kind"])


@pytest.mark.parametrize(
    "by", ["head", "kind", "price", "yard", "district", "period", "row", "varies"]
)
def test_every_cut_gives_the_ledger(result, by):
    total = result.ledger["amount"].sum()
    assert cut(parts(result), by)["amount"].sum() == pytest.approx(total)


def test_ledger_is_the_objective(result):
    assert result.ledger["amount"].sum() == pytest.approx(result.plan.objective)


def test_rows_named_behind_a_figure_add_up_to_it(result):
    """Follow each heading back: rows of the sheet, counted from its heading row."""
    for line in cut(parts(result), "entry").to_dict("records"):
        rows = []
        for span in line["rows"].split():
            first, _, last = span.partition("-")
            rows += range(int(first), int(last or first) + 1)
        amounts = result.ledger["amount"].iloc[[row - 2 for row in rows]]
        assert amounts.sum() == pytest.approx(line["amount"])
    assert row_words(pd.Series([5, 0, 1, 1])) == "2-3 7"


def test_places_go_to_yards_by_tonnes_and_hours(result):
    """Purchases of each source are split over yards as its tonnes are."""
    table = parts(result)
    bought = table[table["entry"] == "feedstock_purchase"]
    by_yard = bought.groupby("yard")["amount"].sum()
    price = result.scenario.sources.set_index("source")["price_per_t"]
    hauls = result.plan.hauls
    paid = hauls["tonnes"] * hauls["source"].map(price)
    expected = paid.groupby(hauls["yard"]).sum()
    assert by_yard.to_dict() == pytest.approx(expected[expected > 0].to_dict())


def test_months_carry_what_happens_in_them(result):
    """A month's fuel is the month's; a year's rent is spread by days."""
    table = parts(result)
    fuel = table[table["entry"] == "haulage_in_fuel"].groupby("period")["amount"].sum()
    lanes = result.lanes[result.lanes["kind"] == "in"]
    assert fuel.to_dict() == pytest.approx(
        lanes.groupby("period", observed=True)["fuel"].sum().to_dict()
    )
    rent = table[table["entry"] == "yards_land_rent"].groupby("period")["amount"].sum()
    assert rent["m01"] / rent["m02"] == pytest.approx(31 / 28)


def test_the_chart_knows_every_line_the_ledger_can_write(result):
    """Lines are found in the ledger's own text, so that a new one is not forgotten."""
    text = Path(ledger.__code__.co_filename).read_text(encoding="utf-8")
    text = text.partition("\ndef _prices")[0]
    chart = set(result.scenario.accounts["entry"])
    assert entry_code("rounds", "above plan") in chart  # written once they are driven
    chart.remove("rounds_above_plan")
    assert len(chart) == 28
    for entry in chart:
        line = next(
            entry.removeprefix(f"{account}_")
            for account in (
                "yards",
                "haulage_in",
                "haulage_out",
                "pairing",
                "fleet",
                "feedstock",
                "sources",
                "left_behind",
                "compost",
            )
            if entry.startswith(f"{account}_")
        )
        assert f'"{line.replace("_", " ")}"' in text
    written = text.count("yield ") - 2 + 3 * 4  # loops of four lines: in, out, pairing
    assert written == len(chart)
    assert entry_code("left behind", "present disposal") in chart


def test_a_line_without_an_account_is_refused(result):
    scenario = result.scenario
    short = scenario.accounts[scenario.accounts["entry"] != "compost_sale"]
    tables = scenario.tables | {"accounts": short}
    broken = replace(result, scenario=replace(scenario, tables=tables))
    with pytest.raises(KeyError, match=r"compost_sale; add rows to accounts\.csv"):
        parts(broken)


def test_a_scenarios_own_chart_beats_the_librarys(tmp_path):
    for file in SMALL.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    (tmp_path / "accounts.csv").write_text("entry,head,name\ncompost_sale,9,Own name\n")
    chart = read_scenario(tmp_path).accounts.set_index("entry")
    assert chart.loc["compost_sale", "name"] == "Own name"
    assert chart.loc["haulage_in_fuel", "head"] == "351"


def test_estimates_come_to_the_ledger_and_the_capital(money):
    table = estimates(money)
    sums = table.groupby("section")["amount"].sum()
    running = sums["B wage recurrent"] + sums["C non-wage recurrent"]
    net = running + sums["A revenue"]
    rest = money.kind("capital_charge") + money.kind("outside")
    assert net + rest == pytest.approx(money.net)
    bought = money.capital.set_index(["yard", "item"])["cost"]
    extra = bought.xs("works", level="item").sum() * 0.10
    extra += bought.xs("machines", level="item").sum() * 0.05
    assert sums["D development"] == pytest.approx(bought.sum() + extra)


def test_all_identities_hold_and_would_fail_if_they_did_not(result, money):
    found = identities(money, result.ledger)
    assert found["passed"].all()
    assert len(found) == 12
    wrong = replace(money, parts=money.parts.iloc[1:])
    assert not identities(wrong, result.ledger)["passed"].all()


def test_district_estimates_as_printed():
    """
    Uganda, district Budget Estimates of two districts, sums as printed (read).

    2011/12 adds up exactly; 2018/19 is off by one, within one a line.
    """
    exact = [7_385_299, 4_911_979, 3_080_696, 523_551]
    assert sum(exact) == 15_901_525
    assert adds_up(exact, 15_901_525)
    rounded = [14_510_694, 7_362_439, 6_801_752, 1_226_320]
    assert sum(rounded) == 29_901_205
    assert adds_up(rounded, 29_901_204)
    assert not adds_up(rounded, 29_901_204, unit=0.2)


def test_unit_costs_by_hand(result, money):
    table = unit_costs(money).set_index(["what", "basis"])
    costs = result.ledger[result.ledger["amount"] > 0]
    costs = costs[~costs["line"].isin(["present disposal", "fee paid"])]
    capital = costs["line"].str.endswith("annuity")
    tonnes = result.plan.hauls["tonnes"].sum()
    full = table.loc[("a tonne collected", "full"), "cost"]
    assert full == pytest.approx(costs["amount"].sum() / tonnes)
    running = table.loc[("a tonne collected", "running"), "cost"]
    assert running == pytest.approx(costs["amount"][~capital].sum() / tonnes)
    net = table.loc[("a tonne collected", "net"), "cost"]
    assert net == pytest.approx(result.summary["cost_per_t_collected"])
    assert net == pytest.approx(result.summary["programme_cost"] / tonnes)
    made = result.plan.compost["made_t"].sum()
    compost = table.loc[("a tonne of compost", "full"), "cost"]
    assert compost == pytest.approx(costs["amount"].sum() / made)
    carried = "haulage, a tonne-kilometre"
    work = (result.driven["tonnes"] * result.driven["km"]).sum()
    owned = costs["line"] == "owned trucks"
    haul = costs["account"].str.startswith(("haulage", "fleet"))
    assert owned.any()
    for basis, some in (("full", haul), ("running", haul & ~owned)):
        found = table.loc[(carried, basis)]
        assert found["money"] == pytest.approx(costs["amount"][some].sum())
        assert found["cost"] == pytest.approx(found["money"] / work)


def test_fuel_repriced_is_the_ledger_of_a_dearer_litre(result, money):
    """Independent: price the lanes and the fuel in handling afresh."""
    lanes = result.lanes.assign(fuel=result.lanes["fuel"] * 1.5)
    lines = ledger(result.scenario, result.plan, lanes)["amount"].sum()
    handling = result.ledger.query("line == 'handling'")["amount"].sum()
    expected = lines + 0.5 * 0.20 * handling
    assert repriced(money, fuel=1.5).net == pytest.approx(expected)
    assert repriced(money).net == pytest.approx(money.net)


def test_discount_repriced_is_the_ledger_at_that_rate(result, money):
    finance = result.scenario.settings.finance.model_copy(update={"discount": 0.06})
    settings = result.scenario.settings.model_copy(update={"finance": finance})
    scenario = replace(result.scenario, settings=settings)
    lines = ledger(scenario, result.plan, result.lanes)["amount"].sum()
    assert repriced(money, discount=0.06).net == pytest.approx(lines)
    shuffled = money.parts.iloc[::-1]
    again = repriced(replace(money, parts=shuffled), discount=0.06)
    assert again.net == pytest.approx(lines)


def test_capital_repriced_is_the_ledger_at_dearer_sizes(result, money):
    sizes = result.scenario.yard_sizes
    sizes = sizes.assign(
        works_cost=sizes["works_cost"] * 1.3, machine_cost=sizes["machine_cost"] * 1.3
    )
    tables = result.scenario.tables | {"yard_sizes": sizes}
    scenario = replace(result.scenario, tables=tables)
    lines = ledger(scenario, result.plan, result.lanes)["amount"].sum()
    assert repriced(money, capital=1.3).net == pytest.approx(lines)


def without_rises(money, years, *, life=None):
    """Constant prices, no contingency, a horizon of so many years."""
    bought = money.capital if life is None else money.capital.assign(life=float(life))
    finance = money.finance.model_copy(update={"horizon_years": years})
    prices = money.prices.assign(rise=0.0, physical=0.0)
    return replace(money, prices=prices, finance=finance, capital=bought)


def test_annuity_of_the_present_value_is_the_net_annual_cost(money):
    """Where all capital lives as long as the horizon, both ways of counting agree."""
    table = without_rises(money, 10)
    value = worth(cash_flow(table)).programme
    charge = 0.0
    for row in money.capital.to_dict("records"):
        longer = replace(table, capital=money.capital.iloc[:0])
        years = int(row["life"])
        finance = money.finance.model_copy(update={"horizon_years": years})
        only = replace(
            longer,
            capital=pd.DataFrame([row]),
            parts=money.parts.iloc[:0],
            today=0.0,
            finance=finance,
        )
        one = worth(cash_flow(only)).programme
        assert one == pytest.approx(-row["cost"])
        charge += row["cost"] * float(annuity_factor(0.10, row["life"]))
    assert charge == pytest.approx(money.kind("capital_charge"))
    even = without_rises(money, 10, life=10)
    flat = cash_flow(even)
    running = money.kind("recurrent") + money.kind("revenue")
    factor = float(annuity_factor(0.10, 10))
    expected = -running / factor - money.capital["cost"].sum()
    assert worth(flat).programme == pytest.approx(expected)
    assert value != pytest.approx(expected)


def test_real_and_nominal_have_the_same_present_value(money):
    real = worth(cash_flow(money))
    finance = money.finance.model_copy(update={"basis": "nominal", "inflation": 0.07})
    rising = cash_flow(replace(money, finance=finance))
    found = worth(rising)
    assert found.programme == pytest.approx(real.programme)
    assert found.sources == pytest.approx(real.sources)
    assert found.district == pytest.approx(real.district)
    earning = replace(money, parts=paying(money.parts))
    both = [
        rate_of_return(replace(earning, finance=basis))
        for basis in (money.finance, finance)
    ]
    assert both[0] > 0
    assert both[1] == pytest.approx(both[0])
    assert rising["rise"].sum() > cash_flow(money)["rise"].sum()
    assert nominal(0.10, 0.07) == pytest.approx(0.177)


@pytest.mark.parametrize(
    ("first", "rise", "years", "worth_now"),
    [
        # Reference check value, computed: a stream of 100,000 that rises 5 % a year.
        (100_000, 0.05, 5, 415_059.13),
        # As much rise as discount: every payment is worth the first.
        (100, 0.10, 7, 700 / 1.10),
    ],
)
def test_pay_is_a_rising_stream(money, first, rise, years, worth_now):
    """Pay of so many years at 10 % discount; year 0 has the price before any rise."""
    pay = money.parts[(money.parts["kind"] == "recurrent") & (money.parts["pay"])]
    only = replace(
        money,
        parts=pay.iloc[[0]].assign(amount=first / (1 + rise)),
        prices=money.prices.assign(rise=rise),
        finance=money.finance.model_copy(update={"horizon_years": years}),
        capital=money.capital.iloc[:0],
        today=0.0,
    )
    flow = cash_flow(only)
    assert -worth(flow).programme == pytest.approx(worth_now, rel=1e-8)
    assert flow.loc[3, "wages"] == pytest.approx(first / (1 + rise))


def test_machines_are_bought_again_and_what_is_left_is_counted(money):
    flow = cash_flow(money)
    works = money.capital.query("item == 'works'")["cost"].sum()
    machines = money.capital.query("item == 'machines'")["cost"].sum()
    assert set(money.capital["life"]) == {20.0, 9.0}
    assert flow["replacement"].tolist() == pytest.approx([0] * 9 + [machines, 0])
    left = works * 1.10 * (1 - 10 / 20) + machines * 1.05 * (1 - 1 / 9)
    assert flow["residual"].iloc[-1] == pytest.approx(left)
    extra = works * 0.10 + machines * 0.05
    assert flow["physical"].tolist()[0] == pytest.approx(extra)


@pytest.fixture(scope="module")
def standing():
    """Three piers where all yards stand already and are used."""
    base = read_scenario(SMALL)
    yards = base.yards.assign(existing_size="small", decision="open")
    return book(run(with_table(base, "yards", yards)))


def test_machines_that_stand_are_renewed_when_their_life_is_over(standing):
    """Bought again in year 9 as new ones are; nothing is paid for them before."""
    flow, table = cash_flow(standing), standing.capital
    stands = table[table["stands"]]
    assert len(stands) == 3
    assert set(stands["item"]) == {"machines"}
    assert stands["cost"].tolist() == [40_000.0] * 3
    again = table.loc[table["item"] == "machines", "cost"].sum()
    assert flow["replacement"].tolist() == pytest.approx([0] * 9 + [again, 0])
    assert flow["capital"][0] == table.loc[~table["stands"], "cost"].sum()
    # eight of nine years are left of them after ten
    one = replace(standing, capital=stands.iloc[:1])
    assert cash_flow(one)["residual"].iloc[-1] == pytest.approx(42_000 * 8 / 9)
    finance = standing.finance.model_copy(update={"horizon_years": 9})
    short = cash_flow(replace(one, finance=finance))
    assert short[["capital", "replacement", "residual"]].to_numpy().sum() == 0


def test_the_charge_of_standing_machines_is_that_of_their_capital(standing):
    life = standing.capital["life"].to_numpy()
    charge = standing.capital["cost"] * annuity_factor(0.10, life)
    assert standing.kind("capital_charge") == pytest.approx(charge.sum())
    dearer = repriced(standing, capital=1.3).net - standing.net
    assert dearer == pytest.approx(0.3 * charge.sum())
    other = repriced(standing, discount=0.06).kind("capital_charge")
    charge = standing.capital["cost"] * annuity_factor(0.06, life)
    assert other == pytest.approx(charge.sum())


def test_payback_by_hand():
    assert payback([-100, 25, 25, 25, 50]) == pytest.approx(3.5)
    assert payback([-100, 150, -60, 5]) == pytest.approx(100 / 150)
    assert payback([0, 5, 5]) == 0
    assert payback([-10, -1]) is None
    assert payback([10, -5]) is None


def paying(parts):
    """Let revenue be so high that the programme earns back what it spends."""
    more = np.where(parts["kind"] == "revenue", 3.0, 1.0)
    return parts.assign(amount=parts["amount"] * more)


def test_switching_values_bring_the_present_value_to_nothing(money):
    every = switching(money).set_index("what")
    names = {"price of fuel": "fuel", "pay": "wages", "price of compost": "compost"}
    names |= {"tonnes": "tonnes", "pads, works and machines": "capital"}
    for whose in ("programme", "district"):
        table = every[whose]
        size = abs(getattr(worth(cash_flow(money)), whose))
        seen = 0
        for words, name in names.items():
            if np.isfinite(table[words]):
                other = repriced(money, **{name: 1 + table[words]})
                value = getattr(worth(cash_flow(other)), whose)
                assert value == pytest.approx(0, abs=1e-6 * size)
                seen += 1
        assert seen >= (3 if whose == "district" else 1)
        if np.isfinite(rate := table[RATE]):
            value = worth(cash_flow(repriced(money, discount=rate)))
            assert getattr(value, whose) == pytest.approx(0, abs=1e-4 * size)


def test_only_the_programme_s_own_money_is_paid_back(result, money):
    """What the sources save moves no payback and no return, however much it is."""
    thrifty = replace(money, today=money.today + 1e6)
    for one in (money, thrifty):
        assert worth(cash_flow(one)).payback is None
        assert np.isnan(rate_of_return(one))
    more = worth(cash_flow(thrifty)).sources - worth(cash_flow(money)).sources
    assert more == pytest.approx(1e6 * sum(1.1**-n for n in range(1, 11)))
    # a programme that pays for disposal today saves its own bill
    ours = cash_flow(replace(thrifty, pays_disposal=True))
    assert worth(ours).payback < 2
    assert rate_of_return(replace(thrifty, pays_disposal=True)) > 0.5
    same = cash_flow(thrifty)["district"].to_numpy()
    assert ours["district"].to_numpy() == pytest.approx(same)


def test_who_gains_adds_up_to_today_less_the_net_cost(result, money):
    table = who_gains(result, money)
    assert table["who"].tolist() == ["the programme", *["sources"] * (len(table) - 1)]
    assert table["gain"].sum() == pytest.approx(money.today - money.net)
    assert table["today"].sum() == pytest.approx(money.today)
    assert table["plan"].iloc[0] == pytest.approx(result.summary["programme_cost"])
    fish = table.set_index("material").loc["fish"]
    taken = result.plan.hauls.query("source == 'pier'")["tonnes"].sum()
    arises = result.supply.set_index("source")["tonnes_per_year"]["pier"]
    assert fish["today"] == pytest.approx(arises * 30)
    assert fish["plan"] == pytest.approx((arises - taken) * 30 + taken * 4.0)
    flow = cash_flow(money)
    gain = table["gain"].iloc[1:].sum()
    assert flow["sources"].iloc[1] == pytest.approx(gain)


@pytest.mark.parametrize(("fee", "worse"), [(30.0, []), (31.0, ["pier"])])
def test_a_fee_above_today_s_disposal_leaves_a_source_worse_off(result, fee, worse):
    piers = result.scenario.sources["source"] == "pier"
    scenario = set_values(result.scenario, "sources", piers, {"tipping_fee_per_t": fee})
    table = worse_off(replace(result, scenario=scenario))
    assert table["source"].tolist() == worse
    taken = result.plan.hauls.query("source == 'pier'")["tonnes"].sum()
    assert table["more"].sum() == pytest.approx(taken * (fee - 30))


def test_sensitivity_moves_the_right_way(money):
    table = sensitivity(money).set_index("case")
    assert table.loc["as planned", "more"] == 0
    assert table.loc["fuel +50 %", "more"] == pytest.approx(
        2.5 * table.loc["fuel +20 %", "more"]
    )
    assert table.loc["fuel −20 %", "more"] < 0
    assert table.loc["discount rate 10 %", "more"] == pytest.approx(0)
    assert table.loc["discount rate 12 %", "more"] > 0


def test_what_lasts_four_years_is_bought_three_times_in_ten(money):
    """In years 0, 4 and 8; half of the last is left after ten."""
    one = money.capital.iloc[[0]].assign(cost=1000.0, life=4.0)
    flow = cash_flow(replace(money, capital=one)).set_index("year")
    assert flow.index[-1] == 10
    again = flow["replacement"]
    assert again[again > 0].to_dict() == {4: 1000.0, 8: 1000.0}
    assert flow["capital"][0] == 1000.0
    extra = flow["physical"][0]
    assert flow["residual"][10] == pytest.approx(0.5 * (1000.0 + extra))


def test_disposal_is_saved_from_the_first_year_less_what_stays_behind(money):
    saved = cash_flow(money)["sources"].to_numpy()
    assert saved[0] == 0
    assert saved[1:] == pytest.approx(np.full(10, saved[1]))
    left = money.parts.iloc[[0]].assign(kind="outside", amount=500.0)
    more = replace(money, parts=pd.concat([money.parts, left], ignore_index=True))
    less = saved - cash_flow(more)["sources"].to_numpy()
    assert less == pytest.approx([0.0] + [500.0] * 10)


def test_a_case_does_what_its_name_says():
    """A fifth dearer is 1.2 times; a rate is the rate."""
    for name, given in CASES:
        if found := re.search(r"([+−]|rate )(\d+) %", name):
            sign, percent = found[1], float(found[2]) / 100
            told = {"+": 1 + percent, "−": 1 - percent}.get(sign, percent)
            assert list(given.values()) == [pytest.approx(told)], name


def test_an_entry_repriced_is_the_ledger_at_that_price(result, money):
    """Independent: the ledger with dearer own trucks in the table."""
    trucks = result.scenario.trucks
    dearer = trucks.assign(fixed_cost_per_year=trucks["fixed_cost_per_year"] * 1.2)
    tables = result.scenario.tables | {"trucks": dearer}
    scenario = replace(result.scenario, tables=tables)
    lines = ledger(scenario, result.plan, result.lanes)["amount"].sum()
    found = entries_repriced(money, {"fleet_owned_trucks": 1.2})
    assert found.net == pytest.approx(lines)
    assert found.net > money.net + 1
    assert entries_repriced(money, {}).net == pytest.approx(money.net)
