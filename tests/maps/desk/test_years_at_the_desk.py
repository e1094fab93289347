"""The years ahead at the desk: asked for, planned by a worker, stopped, shown."""

import json

import pytest
from support.desk import Desk, make_scenario

from logistics.model import Progress
from logistics.scenario import read_scenario
from maps import outputs
from maps.desk.book import STOP, order_plan, plans
from maps.desk.study_job import StudyJob
from maps.desk.worker import work
from maps.desk.years_study import STOPPED, _Watch, years_gone
from maps.report import write_report

HEADS = "year,capital,carry_over,supply_pct,changes\n"
TWO = "2027,100000,yes,60,\n2028,100000,yes,160,lost\n"
LOST = 'title = "Shoal is lost"\n[[change]]\ndo = "close_yard"\nyard = "shoal"\n'
ASKED = {"study": "years", "solve.seconds": 20.0}


@pytest.fixture
def desk(tmp_path):
    return Desk(tmp_path)


@pytest.fixture
def small(desk):
    folder = make_scenario(desk.opened.shelf.folder)
    (folder / "years.csv").write_text(HEADS + TWO)
    (folder / "changes").mkdir(exist_ok=True)
    (folder / "changes" / "lost.toml").write_text(LOST)
    return folder


def test_only_a_district_with_years_is_offered_them(desk, small):
    assert "Plan the years" in desk.get("/s/small/plan").text
    (small / "years.csv").unlink()
    assert "Plan the years" not in desk.get("/s/small/plan").text
    told = desk.post("/s/small/studies/start", {"study": "years"})
    assert told.status == 422
    assert "table years" in told.text


def test_what_is_asked_holds_the_changes_of_the_years(desk, small):
    """As they are now; a file elsewhere is not read, whatever the table names."""
    (small.parent / "far.toml").write_text(LOST)
    row = TWO.replace("lost", f"lost close_road:road=no_road {small.parent}/far.toml")
    (small / "years.csv").write_text(HEADS + row)
    assert desk.post("/s/small/studies/start", {"study": "years"}).status == 303
    [study] = plans(small, "studies")
    asked = study.order["asked"]["changes"]
    assert [one["code"] for one in asked] == ["lost", "close_road:road=no_road"]
    (small / "changes" / "lost.toml").unlink()
    assert 'yard = "shoal"' in asked[0]["text"]
    page = desk.get(f"/s/small/studies/{study.code}").text
    assert "The way through the years: 2027 to 2028" in page


@pytest.fixture
def report_only(monkeypatch):
    """Of the plan of the last year only the report is written."""
    monkeypatch.setattr(outputs, "OUTPUTS", {"report.html": write_report})


@pytest.mark.slow
@pytest.mark.usefixtures("report_only")
def test_the_worker_plans_the_years_and_the_page_shows_the_way(desk, small):
    changes = [{"code": "lost", "title": "Shoal is lost", "text": LOST}]
    study = order_plan(small, {**ASKED, "changes": changes}, "studies")
    work(study.folder)
    [made] = plans(small, "studies")
    assert made.state == "done", made.end
    out = made.folder / "outputs"
    record = json.loads((out / "way.json").read_text())
    assert (2028, "shoal", "closes") in {
        (step["year"], step["yard"], step["step"]) for step in record["steps"]
    }
    place = f"/s/small/studies/{made.code}"
    page = desk.get(place).text
    assert f'src="{place}/files/way.html"' in page
    assert "Which yard when" in page
    assert "<bdi>2028</bdi>" in page
    for name in ("way.html", "way.xlsx", "last_year/report.html"):
        assert name == "way.html" or f'href="{place}/files/{name}?keep"' in page
        told = desk.get(f"{place}/files/{name}")
        assert told.status == 200, name
        assert told.body == (out / name).read_bytes()
    events = (made.folder / "events.jsonl").read_text().splitlines()
    steps = [e for e in map(json.loads, events) if e["kind"] == "step"]
    assert [e["done"] for e in steps] == sorted(e["done"] for e in steps)
    assert {e["words"] for e in steps} >= {"2028", "Yards for all years"}


@pytest.mark.thorough
@pytest.mark.usefixtures("report_only")
def test_stopping_keeps_the_best_choice_and_plans_its_years_whole(small):
    """A wish of the first moment ends the choice with the first yards that do."""
    study = order_plan(small, ASKED, "studies")
    (small / "years.csv").write_text(HEADS + TWO.replace("lost", ""))
    told = []
    job = StudyJob(
        read_scenario(small), ASKED, study.folder, lambda kind, **_: told.append(kind)
    )
    (study.folder / STOP).touch()
    note = years_gone(job, job.scenario)
    assert "until you stopped" in note
    assert not job.stopped
    record = json.loads((study.folder / "outputs" / "way.json").read_text())
    assert record["status"] != "shortage"


@pytest.mark.slow
def test_capital_that_keeps_nothing_standing_is_told(small):
    rows = "".join(f"{year},0,no,,\n" for year in range(2027, 2037))
    (small / "years.csv").write_text(HEADS + rows)
    study = order_plan(small, ASKED, "studies")
    work(study.folder)
    [failed] = plans(small, "studies")
    assert failed.state == "failed"
    assert "More is needed: 3,000 coin in 2036." in failed.end["why"]


def test_parts_are_told_in_order_and_a_wish_to_stop_is_passed_on_once(tmp_path):
    told = []
    scenario = read_scenario(make_scenario(tmp_path))
    job = StudyJob(scenario, {}, tmp_path, lambda kind, **more: told.append(more))
    watch = _Watch(job, 4)
    state = Progress("proof", 0.1, None, 0.0)
    for title in ("2028", "2028", "all years", "2027", "2028"):
        watch.tell(title, state)
    assert [one["done"] for one in told if "done" in one] == [0, 1, 2, 3]
    assert not watch.stop_once()
    job_stop = tmp_path / STOP
    job_stop.touch()
    assert watch.stop_once()
    assert not job_stop.exists()
    assert watch.stop_once()
    assert STOPPED.endswith("nothing was kept.")
