"""The report: it says what the plan says, adds up, loads nothing, harms nobody."""

import re
from dataclasses import replace
from decimal import Decimal
from importlib import resources
from itertools import pairwise

import pytest
from support.fake_result import HOSTILE, result, table, without_yards
from support.pages import Page, luminance, value
from support.places import SMALL

from logistics.accounts.nutrients import standard_table
from logistics.accounts.standard_counts import standards_met
from logistics.results.audit_nutrients import delivered, no_limited_markets
from logistics.results.pipeline import run
from logistics.results.plan_amounts import amounts
from logistics.scenario.scenario import read_scenario
from maps.report.plan_facts import facts
from maps.report.report import report_html
from maps.report.sections.basis import overturned
from maps.report.sections.fields import limited_groups
from maps.report.sections.limits import limits
from maps.report.sections.nutrients import chain
from maps.shared.figures import MINUS, amount
from maps.shared.html import digest
from maps.shared.mix_words import between


@pytest.fixture(scope="module")
def three_piers():
    """Plan the small district: one yard built, one kept, a price on what is left."""
    base = read_scenario(SMALL)
    price = base.sources["disposal_cost_per_t"] + 5
    sources = base.sources.assign(disposal_cost_per_t=price)
    scenario = replace(base, tables={**base.tables, "sources": sources})
    return run(scenario, yards=[("reef", "small"), ("shoal", "small")])


@pytest.fixture(scope="module")
def page(three_piers):
    return Page(report_html(three_piers))


@pytest.fixture(scope="module")
def fake_page():
    return Page(report_html(result()))


def with_plan(planned, **changes):
    return replace(planned, plan=replace(planned.plan, **changes))


@pytest.mark.slow
def test_report_is_the_same_when_made_twice(three_piers):
    assert report_html(three_piers) == report_html(three_piers)


def test_nothing_is_loaded_and_nothing_runs(page):
    tags = {tag for tag, _ in page.elements}
    assert not tags & {"script", "link", "img", "iframe", "object", "base", "form"}
    for tag, attrs in page.elements:
        for key, text in attrs.items():
            assert not key.startswith("on")
            assert key not in ("src", "srcset", "style", "action", "data")
            assert key != "href" or text.startswith("#"), (tag, text)
            assert "url(" not in text or text.startswith("url(#"), (tag, text)
    assert "url(" not in page.style
    assert "@import" not in page.style


def test_policy_allows_its_own_style_only(page):
    policy = next(a["content"] for _, a in page.elements if "http-equiv" in a)
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["style-src"] == digest(page.style)
    assert set(rules) == {"default-src", "style-src", "base-uri", "form-action"}


def test_page_can_be_read_by_all(page):
    assert ("html", {"lang": "en"}) in page.elements
    tags = [tag for tag, _ in page.elements]
    assert tags.count("h1") == tags.count("main") == 1
    levels = [int(tag[1]) for tag in tags if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))
    view = next(a["content"] for _, a in page.elements if a.get("name") == "viewport")
    assert "scalable" not in view
    codes = [a["id"] for _, a in page.elements if "id" in a]
    assert len(codes) == len(set(codes))
    for _, attrs in page.elements:
        for code in attrs.get("aria-labelledby", "").split():
            assert code in codes
        if attrs.get("href"):
            assert attrs["href"][1:] in codes


def test_tables_have_captions_and_scopes(page):
    assert len(page.tables) > 12
    for each in page.tables:
        assert each["caption"].strip(), each["thead"]
        width = len(each["thead"][0])
        for row in [*each["tbody"], *each["tfoot"]]:
            assert len(row) == width, (each["caption"], row)
    for tag, attrs in page.elements:
        if tag == "th":
            assert attrs["scope"] in ("row", "col")


def test_drawings_have_words_or_are_decoration(page):
    drawings = [attrs for tag, attrs in page.elements if tag == "svg"]
    assert sum("aria-labelledby" in a for a in drawings) >= 6
    for attrs in drawings:
        assert ("aria-labelledby" in attrs) != (attrs.get("aria-hidden") == "true")


@pytest.mark.parametrize("which", ["page", "fake_page"])
def test_columns_add_up(which, request):
    """Every number in the last row is the sum of those above it, to the digit."""
    added = 0
    for each in request.getfixturevalue(which).tables:
        for foot in each["tfoot"]:
            for column, text in enumerate(foot):
                total = value(text)
                head = each["thead"][0][column]
                if total is None or "Share" in head:
                    continue
                cells = [value(row[column]) or Decimal(0) for row in each["tbody"]]
                assert sum(cells) == total, (each["caption"], head)
                added += 1
    assert added > 30


@pytest.mark.parametrize("which", ["page", "fake_page"])
def test_rows_add_up(which, request):
    sums = 0
    for each in request.getfixturevalue(which).tables:
        if "across" not in each["kind"]:
            continue
        for row in [*each["tbody"], *each["tfoot"]]:
            found = [value(text) for text in row[1:]]
            cells = [number for number in found if number is not None]
            assert sum(cells[:-1]) == cells[-1], (each["caption"], row)
            sums += 1
    assert sums > 4


def test_other_rows_add_up_too(page):
    """Collected and left and lost are all that arises."""
    for row in page.table("What becomes of each")["tbody"]:
        share, *parts, arises = [value(text) for text in row[1:]]
        assert sum(parts) == arises
        assert abs(parts[0] / arises * 100 - share) <= 1 if arises else share is None
    months = page.table("Compost ready, delivered")
    for row in months["tbody"]:
        *_, sent, missing, asked = [value(text) for text in row[1:]]
        assert sent + missing == asked


def test_every_page_gives_the_same_totals(page):
    def foot(start, column):
        return page.table(start)["tfoot"][0][column].strip()

    collected = foot("Feedstock taken in", -1)
    assert collected == foot("What becomes of each", 2)
    assert collected == foot("Feedstock collected and left", -2)
    left = foot("What becomes of each", 3)
    assert left == foot("Feedstock collected and left", -1)
    assert left == foot("What happens to uncollected", -1)
    made = foot("Yards in use", -1)
    assert made == foot("Compost ready, delivered", 1)
    sent = foot("Sales by crop", 1)
    assert sent == foot("Sales by group", 1) == foot("Compost and nutrients", 1)
    assert foot("What becomes of each", -1) == foot("Sources of the supply", -1)
    assert foot("Sales by crop", -1) == foot("Sales by group", -1)
    for total in (collected, made):
        assert f"{total}\N{NO-BREAK SPACE}t" in page.text


def test_headlines_are_the_plan_s(page, three_piers):
    summary = three_piers.summary
    net, own = amount(summary["total_cost"]), amount(summary["programme_cost"])
    assert 0 < summary["programme_cost"] < summary["total_cost"]
    for said in (net, own):
        assert f"net cost of {said} coin" in " ".join(page.text.split())
    capital = page.table("Capital to be found")["tfoot"][0][-1].strip()
    assert float(value(capital)) == pytest.approx(summary["capital"], abs=0.51)
    costs = value(page.table("Yearly costs")["tfoot"][0][-1])
    assert float(costs) == pytest.approx(summary["gross_cost"], abs=3)
    unit = page.table("Unit costs")["tbody"]
    each = next(
        row
        for row in unit
        if row[0].strip().startswith("Net cost to the programme, per tonne c")
    )
    exact = summary["cost_per_t_collected"]
    assert float(value(each[-1])) == pytest.approx(exact, abs=0.02)
    assert summary["settings_hash"] in page.text
    assert amount(three_piers.plan.bound) in page.text
    for name in three_piers.plan.yards["yard"]:
        label = three_piers.scenario.yards.set_index("yard")["name"][name]
        assert label in page.text


def test_cost_of_a_tonne_kilometre_is_the_haulage_over_its_work(page, three_piers):
    lanes = three_piers.lanes
    work = (lanes["tonnes"] * lanes["km"]).sum()
    row = next(
        row
        for row in page.table("Unit costs")["tbody"]
        if "with trucks, per tonne-kilometre" in row[0]
    )
    assert float(value(row[2])) == pytest.approx(work, abs=0.6)
    haul = three_piers.summary["haul_cost"]
    assert float(value(row[-1])) == pytest.approx(haul / work, abs=0.006)


def test_catchment_is_counted_from_the_lanes(page, three_piers):
    lanes = three_piers.lanes[three_piers.lanes["kind"] == "in"]
    for row in page.table("Catchment")["tbody"]:
        yards = three_piers.scenario.yards.set_index("name")["yard"]
        mine = lanes[lanes["destination"] == yards[row[0].strip()]]
        assert value(row[1]) == mine["origin"].nunique()
        mean = (mine["tonnes"] * mine["km"]).sum() / mine["tonnes"].sum()
        assert float(value(row[2])) == pytest.approx(mean, abs=0.06)
        assert float(value(row[3])) == pytest.approx(mine["km"].max(), abs=0.06)


def test_nutrients_are_followed_from_waste_to_fields(three_piers, page):
    found = chain(facts(three_piers))
    assert found.loc["arises"].to_numpy() == pytest.approx(
        found.loc[["left", "waiting", "charged"]].sum().to_numpy()
    )
    share, charged = three_piers.mixes["nitrogen_lost"], found.loc["charged", "n"]
    assert share.min() <= found.loc["lost", "n"] / charged <= share.max()
    assert found.loc["lost", "k2o"] == pytest.approx(0, abs=1e-9)
    assert found.loc["delivered"].to_numpy() == pytest.approx(
        (found.loc["compost"] - found.loc["leftover"]).to_numpy()
    )
    rows = {row[0].strip(): row[1:] for row in page.table("From waste")["tbody"]}
    running = [Decimal(0)] * 3
    for name, cells in rows.items():
        numbers = [value(cell) for cell in cells]
        if name.startswith(MINUS):
            running = [a - b for a, b in zip(running, numbers, strict=True)]
        elif name.startswith("="):
            assert numbers == running, name
        else:
            running = numbers


def test_limits_stand_dearest_first_and_demands_turn_the_sign(three_piers):
    worth = table(
        kind=["least_share", "supply", "supply", "pad", "pad"],
        where=["fish", "pier", "herd", "reef", "reef"],
        when=["year", "m01", "m01", "m02", "m03"],
        value=[-40.0, -5.0, 9.0, 70.0, 60.0],
        unit=["t", "t", "t", "m3", "m3"],
        words=["w"] * 5,
    )
    found = limits(facts(with_plan(three_piers, worth=worth)))
    assert found["kind"].tolist() == ["pad", "least_share", "supply"]
    assert found["best"].tolist() == [70, 40, 9]
    assert found["periods"].tolist() == [2, 1, 1]
    assert found["mean"].tolist() == [65, 40, 9]
    text = report_html(with_plan(three_piers, worth=worth))
    assert text.index("Pads are full") < text.index("Too little")


def test_limit_of_an_unknown_kind_is_shown_all_the_same(three_piers):
    worth = table(
        kind=["rain_days"], where=["reef"], when=["m01"], value=[50.0], unit=["d"]
    ).assign(words="w")
    assert "Rain days" in report_html(with_plan(three_piers, worth=worth))


@pytest.mark.slow
def test_shortages_come_first():
    short = table(
        how=["together"], what=["collect 90% of Fish waste"], where=["district"]
    ).assign(limit="least", when="year", amount=1234.5, unit="t", words="x")
    text = report_html(
        result(
            status="shortage", shortages=short, bound=float("-inf"), gap=float("inf")
        )
    )
    first = text.index("The demands cannot all be met")
    assert first < text.index("Collect 90% of Fish waste") < text.index('id="summary"')
    assert "1,234.5 t" in text
    assert "Decide which demand to relax" in text
    assert "Visit and secure" not in text
    assert "inf" not in re.sub(r"<style>.*?</style>", "", text, flags=re.S).split()
    assert "The demands cannot all be met" not in report_html(result())


def test_the_first_page_points_to_the_section_of_the_defaults():
    """Its number is that of the heading, however many sections stand before it."""
    text = report_html(result())
    told = re.search(r"defaults, not local \(<a [^>]*>section (\d+)</a>\)", text)
    shown = re.search(r'<h2 id="assumptions"><span>(\d+)</span>', text)
    assert told is not None
    assert shown is not None
    assert told[1] == shown[1]


def test_surplus_is_not_called_a_cost():
    planned = result()
    planned.ledger = planned.ledger.assign(amount=[4500.0, 8500.0, -30000.0])
    text = report_html(planned)
    words = " ".join(Page(text).text.split())
    assert ": a surplus of 17,000 shells, or" in words
    assert "leaves it a surplus of 17,000 shells" in words


def test_empty_plan_says_build_nothing():
    planned = without_yards()
    text = report_html(planned)
    assert "Build nothing: under these prices" in text
    assert "nan" not in text.replace("finance", "")
    why = "No yard can compost anything: C:N is at most 4. Add carbon."
    planned.summary["nothing_possible"] = [why]
    assert f"Build nothing: {why} All" in report_html(planned)


def test_hostile_names_make_no_element():
    page = Page(report_html(result()))
    hostile = Page(report_html(result(name=HOSTILE * 8, story=HOSTILE)))
    assert len(HOSTILE * 8) > 300
    assert {tag for tag, _ in hostile.elements} == {tag for tag, _ in page.elements}
    assert sum(tag == "td" for tag, _ in hostile.elements) == sum(
        tag == "td" for tag, _ in page.elements
    )
    assert "<script>alert(1)</script>" in hostile.text
    assert "\u202e" not in hostile.text
    keys = {key for _, attrs in hostile.elements for key in attrs}
    assert keys == {key for _, attrs in page.elements for key in attrs}


def test_markets_with_a_limit_are_listed_with_what_they_get(three_piers, page):
    inst, plan = three_piers.instance, three_piers.plan
    ((name, what, got, limit),) = limited_groups(facts(three_piers)).rows
    farms = three_piers.scenario.markets.set_index("market").loc["farms"]
    assert farms["name"] in name
    assert (what, limit) == ("N", f"{farms['n_limit_kg_ha']:.1f}")
    grains = delivered(inst, amounts(inst, plan), "n")
    each = grains[inst.markets.codes.index("farms")] * 1000 / farms["amount"]
    assert float(got) == pytest.approx(each, abs=0.051)
    assert page.table("Groups that limit what their fields get in a year [kg/ha]")
    none = replace(three_piers, limited=no_limited_markets())
    assert limited_groups(facts(none)) is None


def test_charges_that_keep_a_standard_are_counted(three_piers, page):
    each, counts = standard_table(three_piers), standards_met(three_piers)
    assert (counts["charges"] == len(three_piers.mixes)).all()
    passed = each.groupby("standard")["passed"].sum()
    assert counts.set_index("standard")["met"].to_dict() == passed.to_dict()
    fco = counts.set_index("standard").loc["fco_city"]
    assert fco["met"] == 0
    assert f"moisture at most 25 % ({len(three_piers.mixes)})" in fco["missed"]
    table = page.table("Charges of compost that keep a product standard")
    assert [row[1] for row in table["tbody"]] == [
        f"{row['met']} of {row['charges']}" for row in counts.to_dict("records")
    ]
    assert "drying the compost" in page.text
    assert "richer in potash" not in page.text
    assert "2 mg cadmium" in page.text  # of fish


def test_assumptions_and_cautions_are_there(page, three_piers):
    used = three_piers.scenario.defaults_used
    assert value(page.table("Defaults in use")["tfoot"][0][-1]) == len(used)
    for word in ("Fish waste", "Windrow heat", "Run-off", "Lifting", "Siting", "Salt"):
        assert word in page.text
    text = " ".join(page.text.split())
    assert f"{len(three_piers.audit)} checks over" in text
    assert "all passed" in text


def test_a_check_that_failed_is_named(three_piers):
    passed = three_piers.audit["check"] != "pad on every day"
    audit = three_piers.audit.assign(passed=passed)
    page = Page(report_html(replace(three_piers, audit=audit)))
    assert [row[0].strip() for row in page.table("Checks that failed")["tbody"]] == [
        "pad on every day"
    ]
    assert "1 FAILED" in page.text


def test_every_number_of_a_table_has_a_unit(page):
    """The unit stands in the heading, in the caption, or in a column of its own."""
    plain = (
        "C:N of mixes",
        "C:N",
        "Available C:N",
        "Sources",
        "Rows checked",
        "Worst",
        "Allowed",
    )
    plain += ("Worst", "Allowed", "Values", "Months in")
    for each in page.tables:
        if each["caption"].startswith(("Settings", "About this run", "Factors")):
            continue  # the unit stands beside the number
        for column, head in enumerate(each["thead"][0]):
            cells = [row[column] for row in each["tbody"]]
            if column and any(value(cell) is not None for cell in cells):
                said = "[" in head or "[" in each["caption"]
                assert said or head.strip().startswith(plain), (each["caption"], head)


def test_a_year_of_other_periods_does_not_speak_of_months():
    page = Page(report_html(result()))
    assert page.table("Feedstock collected and left by period")
    assert "month" not in page.text


def css():
    folder = resources.files("maps") / "static"
    return {
        name: (folder / name).read_text(encoding="utf-8")
        for name in ("report.css", "map.css")
    }


def test_style_prints_on_a4_and_is_the_map_s():
    styles = css()
    for rule in ("size: A4", "counter(page)", "break-inside: avoid", "break-after"):
        assert rule in styles["report.css"]
    roots = [
        dict(re.findall(r"--(\w+): ([^;]+);", text.split("}")[0]))
        for text in styles.values()
    ]
    assert all(roots[1][name] == look for name, look in roots[0].items())


@pytest.mark.parametrize(
    ("text", "ground"),
    [
        ("#2a211a", "#fffdf8"),
        ("#655a4f", "#fffdf8"),
        ("#655a4f", "#f6f1e6"),
        ("#2f5d3a", "#f6f1e6"),
        ("#dccfb8", "#2e2118"),
        ("#5c170c", "#fbe3dc"),
        ("#4d443b", "#d3e3e6"),
    ],
)
def test_text_can_be_read(text, ground):
    """WCAG 2.2, success criterion 1.4.3: text needs a contrast of 4.5."""
    assert text in css()["report.css"] or text == "#2e2118"
    light, dark = sorted((luminance(text), luminance(ground)), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_what_would_overturn_the_plan_is_said_with_its_figures(three_piers, page):
    """The available C:N of the mixes, how many are below the window, nitrogen lost."""
    poor = three_piers.mixes["cn"] * 0.6
    mixes = three_piers.mixes.assign(cn_available=poor)
    said = " ".join(overturned(facts(replace(three_piers, mixes=mixes))))
    low = three_piers.scenario.settings.mix.cn_low
    below = int((poor < low).sum())
    assert below > 0
    assert f"{below} of {len(mixes)} mixes are then below {low:g}" in said
    assert between(poor.min(), poor.max()) in said
    lost = three_piers.mixes["nitrogen_lost"] * 100
    assert f"lose {between(lost.min(), lost.max(), 0)} % of the nitrogen" in said
    assert "What would overturn this" in page.text
