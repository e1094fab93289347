"""The page of the money: every figure adds up, is priced anew, and shows its rows."""

import json

import pytest
from support.desk import Desk
from support.desk_plan import plan_in, planned_small, renamed, with_plan

from logistics.accounts.budget import book
from logistics.accounts.repricing import repriced
from logistics.scenario.scenario import read_scenario
from maps.desk.book import plans
from maps.desk.money_view import BY, cut_of, money_of, priced, rows_behind, used
from maps.desk.prices import (
    LEAST,
    MOST,
    MOST_RATE,
    PriceFault,
    Prices,
    change_of,
    prices_asked,
)
from maps.desk.recall import MONEY, changed
from maps.desk.shelf import NotThere

HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>"


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    return planned_small(tmp_path_factory.mktemp("planned"))


@pytest.fixture(scope="module")
def shelf(tmp_path_factory, result):
    """A desk with the plan of the small district."""
    folder = tmp_path_factory.mktemp("shelf")
    scenario, entry = with_plan(folder, result)
    return Desk(folder), scenario, entry


@pytest.fixture(scope="module")
def money(shelf):
    return money_of(shelf[2].folder)


def test_the_book_comes_back_as_it_was_written(result, money):
    plan = book(result)
    assert money.book.net == pytest.approx(plan.net)
    assert money.book.parts.equals(plan.parts)
    assert money.book.programme == pytest.approx(plan.programme)
    for change in ({"fuel": 1.4}, {"capital": 0.8}, {"discount": 0.02}):
        ours, theirs = repriced(money.book, **change), repriced(plan, **change)
        assert ours.net == pytest.approx(theirs.net)


@pytest.mark.parametrize("by", BY)
def test_every_cut_adds_up_to_the_ledger(result, money, by):
    cut = cut_of(money, money.book, by)
    net = result.ledger["amount"].sum()
    assert cut["totals"]["all"] == pytest.approx(net)
    assert sum(row["all"] for row in cut["rows"]) == pytest.approx(net)
    if by != "line":
        assert sum(cut["totals"]["cells"]) == pytest.approx(net)
        for row in cut["rows"]:
            assert sum(row["cells"]) == pytest.approx(row["all"])
    else:
        assert cut["columns"] == []


def test_the_rows_behind_a_figure_add_up_to_it(money, result):
    other = priced(money, Prices(fuel=25.0))
    cut = cut_of(money, other, "period")
    for row in cut["rows"]:
        for column, value in zip(cut["columns"], row["cells"], strict=True):
            where = {"head": row["head"], "name": row["name"], "period": column["code"]}
            found = rows_behind(money, other, where)
            assert sum(one["now"] for one in found) == pytest.approx(value)
            for one in found:
                line = result.ledger.iloc[one["row"] - 2]
                assert one["amount"] == line["amount"]
                assert one["line"] == line["line"]
    fuel = next(row for row in cut["rows"] if row["head"] == "351")
    found = rows_behind(money, other, {"head": "351"})
    ledger = result.ledger
    wanted = (ledger["account"] == "haulage in") & (ledger["line"] == "fuel")
    planned = ledger.loc[wanted, "amount"].sum()
    assert sum(one["part"] for one in found) == pytest.approx(planned)
    assert fuel["all"] == pytest.approx(1.25 * planned)


def test_only_prices_with_money_have_a_slider(money):
    assert used(money) == [
        *("fuel", "wages", "capital", "compost", "bought", "discount"),
    ]


@pytest.mark.parametrize(
    ("name", "inside", "outside"),
    [
        ("fuel", LEAST, LEAST - 0.01),
        ("fuel", MOST, MOST + 0.01),
        ("discount", 0.0, -0.01),
        ("discount", MOST_RATE, MOST_RATE + 0.01),
    ],
)
def test_prices_far_out_are_refused(name, inside, outside):
    assert getattr(prices_asked({name: f"{inside}"}), name) == inside
    for text in (f"{outside}", "nan", "inf", "x", "<b>"):
        with pytest.raises(PriceFault, match="is not from"):
            prices_asked({name: text})


def test_prices_become_a_change_that_the_plan_is_made_with(shelf, money):
    title, text = change_of(Prices(fuel=20.0, compost=-10.0, discount=4.0, fees=50.0))
    assert title == "Diesel +20 %, Compost price −10 %, Discount rate 4 %"
    plain = read_scenario(shelf[1])
    there = changed(plain, {"asked": {"changes": [{"code": "prices", "text": text}]}})
    before, after = plain.settings.finance, there.settings.finance
    assert after.fuel_price_per_l == pytest.approx(1.2 * before.fuel_price_per_l)
    assert after.discount == pytest.approx(0.04)
    paid = there.markets["price_per_t"] / plain.markets["price_per_t"]
    assert paid.dropna().tolist() == pytest.approx([0.9] * len(paid.dropna()))
    assert change_of(Prices()) == change_of(Prices(fees=9.0)) == ("", "")


def test_the_page_and_its_answers_agree(shelf):
    desk, _, entry = shelf
    page = desk.get("/s/small/money?fuel=50&by=yard").text
    assert "planned " in page
    assert 'aria-current="true">By yard' in page
    told = desk.get(f"/s/small/api/plans/{entry.code}/money?fuel=50&by=yard").json()
    assert told["planned_anew"] == "Diesel +50 %"
    net = told["figures"][0]
    assert net["now"] > net["was"]
    assert f"{net['now']:,.0f}".lstrip("-") in page
    rows = f"/s/small/api/plans/{entry.code}/money/rows?by=yard&behind=1&head=351"
    assert desk.get(rows).json()["count"] > 0
    shown = desk.get("/s/small/money?by=yard&behind=1&head=351&name=x").text
    assert "0 rows come to" in shown
    for wrong in ("?by=x", "?fuel=x", "?fuel=999"):
        assert desk.get(f"/s/small/money{wrong}").status == 422
    assert desk.get("/s/small/money?plan=x").status == 404


def test_a_plan_at_other_prices_is_ordered(shelf):
    desk, scenario, entry = shelf
    place = f"/s/small/plans/{entry.code}/money/plan"
    assert desk.post(place, {"fuel": "0", "fees": "10"}).status == 422
    assert desk.post(place, {"fuel": "1e9"}).status == 422
    assert desk.get(place).status == 405
    assert len(plans(scenario)) == 1
    answer = desk.post(place, {"fuel": "20", "discount": ""})
    assert answer.status == 303
    ordered = next(one for one in plans(scenario) if one.code != entry.code)
    assert ordered.name == "Diesel +20 %"
    assert "scale_fuel" in ordered.order["asked"]["changes"][0]["text"]
    assert ordered.order["asked"]["start"]


def test_names_of_the_money_are_text(desk_of_names):
    desk = desk_of_names
    for by in BY:
        page = desk.get(f"/s/small/money?by={by}&behind=1").text
        assert "<script>alert" not in page
        assert "<img" not in page
        assert "<b>/yr" not in page
        assert "&lt;b&gt;" in page


@pytest.fixture
def desk_of_names(tmp_path, result):
    with_plan(tmp_path, renamed(result, HOSTILE))
    return Desk(tmp_path)


def spoilt(record, change):
    record = json.loads(json.dumps(record))
    change(record)
    return json.dumps(record)


@pytest.mark.parametrize(
    "change",
    [
        lambda told: told.pop("parts"),
        lambda told: told["parts"]["row"].__setitem__(0, 10**6),
        lambda told: told["parts"]["row"].__setitem__(0, -1),
        lambda told: told["parts"]["amount"].__setitem__(0, "x"),
        lambda told: told["parts"].pop("head"),
        lambda told: told["finance"].pop("discount"),
        lambda told: told.__setitem__("names", []),
        lambda told: told.__setitem__("work", None),
    ],
)
def test_a_record_from_elsewhere_that_is_no_money_is_not_shown(
    tmp_path, result, change
):
    desk = Desk(tmp_path)
    _, entry = with_plan(tmp_path, result)
    path = entry.folder / MONEY
    path.write_text(spoilt(json.loads(path.read_text()), change))
    with pytest.raises(NotThere):
        money_of(entry.folder)
    assert "before its money could be shown" in desk.get("/s/small/money").text
    assert "before rounds could be made" in desk.get("/s/small/month").text


def test_without_a_plan_the_pages_say_so(tmp_path, result):
    desk = Desk(tmp_path)
    scenario, entry = with_plan(tmp_path, result)
    assert plan_in(scenario, result).code != entry.code
    desk.post(f"/s/small/plans/{entry.code}/delete", {"sure": "yes"})
    assert desk.get("/s/small/money").status == 200
    desk.post(f"/s/small/plans/{plans(scenario)[0].code}/delete", {"sure": "yes"})
    for path in ("money", "month"):
        assert "no finished plan yet" in desk.get(f"/s/small/{path}").text
