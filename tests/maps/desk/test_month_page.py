"""The page of a month: rounds made, a day gone wrong, what was delivered."""

import io
import json
import re
import subprocess
import sys
import time
import zipfile

import pytest
from support.desk import Desk
from support.desk_plan import planned_small, renamed, with_plan

from maps.desk import errands
from maps.desk.errand_worker import DOERS, CannotBeDoneError, work
from maps.desk.errands import MONTHS, TODAY, errand_at
from maps.desk.kept import keep
from maps.desk.pages.month import PARTS

pytestmark = pytest.mark.slow

HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>"
PERIOD = "m04"


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    return planned_small(tmp_path_factory.mktemp("planned"))


@pytest.fixture(scope="module")
def here():
    """Do errands in this program, at once."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(errands, "done", work)
        patch.setattr(errands, "Thread", AtOnce)
        yield


class AtOnce:
    """A thread that has run when it is started."""

    def __init__(self, target, daemon):
        self.run = target

    def start(self):
        self.run()

    def is_alive(self):
        return False


class Month:
    """A desk with the rounds of a month."""

    def __init__(self, folder, result):
        self.desk = Desk(folder)
        self.scenario, self.entry = with_plan(folder, result)
        self.place = f"/s/small/plans/{self.entry.code}"
        self.page = f"/s/small/month?period={PERIOD}"
        answer = self.desk.post(f"{self.place}/months/{PERIOD}/make")
        assert answer.status == 303
        self.folder = self.entry.folder / MONTHS / PERIOD
        self.facts = json.loads((self.folder / "month.json").read_text())

    def trouble(self, **form):
        form = {"first": "3", "last": "4"} | form
        return self.desk.post(f"{self.place}/months/{PERIOD}/today", form)


@pytest.fixture(scope="module")
def month(tmp_path_factory, result, here):
    return Month(tmp_path_factory.mktemp("shelf"), result)


@pytest.fixture
def no_sheets(monkeypatch):
    """Without sheets and map, which are tried elsewhere."""
    monkeypatch.setattr("maps.field.write_rounds", lambda *_: None)


def test_the_rounds_of_a_month_are_made_and_shown(month):
    assert errand_at(month.folder).state == "done"
    page = month.desk.get(month.page).text
    assert "Run sheets of the day" in page
    assert "rounds_map.html" in page
    assert "Yard sheet: <bdi>Shoal yard" in page
    planned = sum(month.facts["planned"]["tonnes"])
    driven = sum(one["tonnes"] for one in month.facts["tours"])
    assert driven == pytest.approx(planned)
    again = month.desk.post(f"{month.place}/months/{PERIOD}/make")
    assert again.status == 303  # they are there: nothing is made again
    wait = month.desk.get("/s/small/month?period=m05").text
    assert "Make the rounds of the month" in wait


def test_sheets_run_as_strangers_and_nothing_else_is_sent(month):
    base = f"{month.place}/rounds/months/{PERIOD}"
    sheets = f"{base}/sheets/rounds_{PERIOD}"
    shown = month.desk.get(f"{sheets}/rounds_map.html")
    assert shown.status == 200
    rules = shown.headers["content-security-policy"]
    assert rules.startswith("sandbox allow-scripts")
    assert "allow-same-origin" not in rules
    book = month.desk.get(f"{sheets}/rounds.xlsx")
    assert book.headers["content-disposition"].startswith("attachment")
    secret = month.scenario.parent / "secret.html"
    secret.write_text("secret")
    (month.folder / "sheets" / "link.html").symlink_to(secret)
    for path in (
        f"{base}/rounds.kept",
        f"{base}/month.json",
        f"{base}/sheets/link.html",
        f"{base}/sheets/none.html",
        f"{month.place}/rounds/inputs/x/sheets/a.html",
        f"{month.place}/rounds/months/con/sheets/a.html",
        f"{month.place}/rounds/months/none/sheets/a.html",
    ):
        assert month.desk.get(path).status == 404, path
    assert month.desk.get(f"{base}/sheets/../month.json").status == 400


def test_a_day_gone_wrong_is_planned_anew_and_put_in_force(month, no_sheets):
    choices = month.facts["choices"]
    mill = next(c for c in choices["sources"] if c.startswith("mill"))
    answer = month.trouble(**{"down-0": "1", "source-0": mill, "share-0": "50"})
    place = answer.headers["location"]
    page = month.desk.get(place).text
    assert "delivers 50% of its loads" in page
    assert "Use these rounds" in page
    assert "Driving hours" in page
    assert "Hot windrows" in page
    code = place.rsplit("/", 1)[1]
    told = month.desk.get(f"/s/small/api/plans/{month.entry.code}/rounds/today/{code}")
    assert told.json()["state"] == "done"
    assert told.json()["answer"] is True
    assert "Nothing has to change" in page  # nothing is due on these two days
    assert "are in force" not in month.desk.get(month.page).text
    used = month.desk.post(f"{place}/settle", {"what": "use"})
    assert used.headers["location"].endswith("day=3")
    assert "planned anew are in force" in month.desk.get(month.page).text
    assert month.desk.post(f"{place}/settle", {"what": "aside"}).status == 422
    form = month.desk.get(f"{month.page}&part=today").text
    assert '<option value="1" selected>1 of' in form
    more = month.trouble(**{"full-0": "on"}).headers["location"]
    later = errand_at(month.entry.folder / TODAY / more.rsplit("/", 1)[1])
    assert later.state == "done"
    assert later.asked["base"] == code
    assert "Nothing has to change" not in month.desk.get(more).text
    month.desk.post(f"{place}/settle", {"what": "first"})
    assert "are in force" not in month.desk.get(month.page).text
    assert month.desk.post(f"{more}/settle", {"what": "aside"}).status == 303
    assert month.desk.get(more).status == 404


@pytest.mark.parametrize(
    "form",
    [
        {},
        {"down-0": "3"},
        {"down-0": "-1"},
        {"first": "5", "down-0": "1"},
        {"first": "0", "down-0": "1"},
        {"last": "x", "down-0": "1"},
        {"source-0": "nowhere"},
        {"source-0": "mill_north", "share-0": "60"},
        {"road-0": "none"},
    ],
)
def test_trouble_that_does_not_fit_is_refused(month, form):
    before = sorted((month.entry.folder / TODAY).glob("*"))
    assert month.trouble(**form).status == 422
    assert sorted((month.entry.folder / TODAY).glob("*")) == before


def test_all_trucks_may_be_down_but_no_more(month, no_sheets):
    count = month.facts["choices"]["trucks"][0]["count"]
    assert month.trouble(**{"down-0": str(count)}).status == 303
    assert month.trouble(**{"down-0": str(count + 1)}).status == 422


@pytest.mark.parametrize(
    "way",
    [
        *("months/m04/make", "months/m04/today", "months/m04/add/log"),
        *("months/m04/rest", "months/m04/crew/drivers", "rounds/months/m04/stop"),
    ],
)
def test_only_forms_of_the_desk_change_anything(month, way):
    address = f"{month.place}/{way}"
    assert month.desk.get(address).status in (404, 405)
    assert (
        month.desk.post(address, headers={"origin": "http://x.example"}).status == 403
    )
    assert (
        month.desk.post(address, headers={"content-type": "text/plain"}).status == 415
    )
    assert month.desk.post(address, headers={"cookie": None}).status == 401


def test_what_was_delivered_is_set_against_the_plan(month):
    planned = month.facts["planned"]
    row = next(n for n, kind in enumerate(planned["kind"]) if kind == "in")
    day, place = planned["day"][row], planned["place"][row]
    name = month.facts["names"]["place"][place]
    address = f"{month.place}/months/{PERIOD}/add/log"
    wrong = month.desk.post(
        address, {"block": f"{day}\t{HOSTILE}\t1\n{day}\t{name}\tx"}
    )
    assert wrong.status == 422
    assert "Nothing was written: 2 faults" in wrong.text
    assert "<script>alert" not in wrong.text
    assert not (month.scenario / "log").exists()
    right = month.desk.post(address, {"block": f"{day}\t{name}\t0,5"})
    shown = month.desk.get(right.headers["location"]).text
    assert "1 new line in the log" in shown
    assert f"up to day {day}" in shown
    assert '<svg class="deviation"' in shown
    again = month.desk.post(address, {"block": f"{day}\t{name}\t0.75"})
    text = month.desk.get(again.headers["location"]).text
    assert "1 took the place of an older one" in text
    log = (month.scenario / "log" / "delivered.csv").read_text()
    assert log.splitlines()[1].endswith(",0.75")
    assert len(log.splitlines()) == 2


def test_what_was_seen_on_the_pads_is_set_against_what_was_due(month):
    address = f"{month.place}/months/{PERIOD}/add/yards"
    wrong = month.desk.post(address, {"block": f"1\tshoal\t{HOSTILE}\t60"})
    assert wrong.status == 422
    assert "Nothing was written: 1 fault" in wrong.text
    assert "<script>alert" not in wrong.text
    block = f"30\tShoal yard\t{PERIOD}-1\t72,5\tyes\t{HOSTILE}"
    right = month.desk.post(address, {"block": block})
    shown = month.desk.get(right.headers["location"]).text
    assert "1 new line in the log" in shown
    assert "too hot: turn and wet it" in shown
    assert "Hot windrows" in shown
    assert month.desk.post(f"{address}x", {"block": block}).status == 404


def test_a_log_that_cannot_be_read_is_said_so(month):
    path = month.scenario / "log" / "delivered.csv"
    path.parent.mkdir(exist_ok=True)
    before = path.read_bytes() if path.exists() else None
    path.write_text("no log")
    assert "cannot be read" in month.desk.get(f"{month.page}&part=log").text
    assert month.desk.get(f"{month.page}&part=today").status == 200
    path.unlink() if before is None else path.write_bytes(before)


def test_rounds_of_another_office_are_made_again(month, tmp_path, no_sheets):
    """Their amounts cannot be opened here: the plan is made again from its tables."""
    other = Desk(tmp_path)
    packed = month.desk.get(f"{month.place}/share.zip").body
    assert other.post("/bring?file=there.share.zip", body=packed).status == 201
    place = other.opened.shelf.scenario("there") / "plans" / month.entry.code
    assert not (place / "plan.kept").exists()
    page = "/s/there/month?period=m04"
    assert "Make the rounds" in other.get(page).text
    other.post(f"/s/there/plans/{month.entry.code}/months/{PERIOD}/make")
    assert "made on another computer" in other.get(page).text
    assert (place / "plan.kept").exists()


def test_a_planted_file_is_no_rounds(month):
    """Rounds under the seal of another thing are not taken for those of the month."""
    kept = month.folder / "rounds.kept"
    before = kept.read_bytes()
    keep("something else", kept, "rounds of nothing")
    place = month.trouble(**{"down-0": "1"}).headers["location"]
    assert "Make them anew on the page of the month" in month.desk.get(place).text
    kept.write_bytes(before)


@pytest.mark.parametrize(
    "path",
    [
        *("/s/small/month?period=x", "/s/small/month?part=x", "/s/small/month?plan=x"),
        "/s/none/month",
    ],
)
def test_what_is_not_there_is_said_so(month, path):
    assert month.desk.get(path).status == 404


def test_names_of_the_month_are_text(tmp_path, result, here, no_sheets):
    month = Month(tmp_path, renamed(result, HOSTILE))
    place = month.trouble(**{"down-0": "1", "full-0": "on"}).headers["location"]
    month.desk.post(
        f"{month.place}/months/{PERIOD}/add/log", {"block": "1\tmill_north\t1"}
    )
    parts = [f"{month.page}&part={part}" for part in PARTS]
    for path in (place, *parts):
        page = month.desk.get(path).text
        assert "&lt;script&gt;" in page, path
        assert "<script>alert" not in page
        assert not re.search(r"<img|<b>", page)


def test_the_rest_of_the_month_is_planned_anew_from_stock(month, no_sheets):
    """What was logged is hauled no more; the page says what became of all."""
    place = next(p for p in month.facts["countable"] if p.startswith("mill"))
    last = month.facts["calendar"][-1]["day"]
    base = f"{month.place}/months/{PERIOD}"
    wrong = month.desk.post(f"{base}/add/stock", {"block": f"3\t{HOSTILE}\t1"})
    assert wrong.status == 422
    assert "<script>alert" not in wrong.text
    right = month.desk.post(f"{base}/add/stock", {"block": f"{last}\t{place}\t0"})
    assert "1 new line in the log" in month.desk.get(right.headers["location"]).text
    assert month.desk.post(f"{base}/rest", {"first": "99"}).status == 422
    asked = month.desk.post(f"{base}/rest", {"first": str(last)})
    address = asked.headers["location"]
    page = month.desk.get(address).text
    assert f"Rest of the month from day {last}" in page
    assert "no tonne of the plan is lost" in page
    assert "t is not there" in page
    assert "Use these rounds" in page
    used = month.desk.post(f"{address}/settle", {"what": "use"})
    assert month.desk.get(used.headers["location"]).status == 200
    assert month.desk.get(f"{month.page}&part=today").status == 200
    month.desk.post(f"{address}/settle", {"what": "first"})


def test_on_a_holiday_all_goes_to_later_days(month, no_sheets):
    day = month.facts["days"][0]["day"]
    asked = month.trouble(first=str(day), last=str(day), closed="on")
    place = asked.headers["location"]
    assert "Nobody drives" in month.desk.get(place).text
    folder = month.entry.folder / TODAY / place.rsplit("/", 1)[1]
    after = json.loads((folder / "month.json").read_text())["tours"]
    assert [one for one in after if one["day"] == day] == []
    assert [one for one in month.facts["tours"] if one["day"] == day]


def test_rounds_go_to_drivers_and_plates(month):
    base = f"{month.place}/months/{PERIOD}/crew"
    shown = f"{month.page}&part=crew"
    text = month.desk.get(shown).text
    assert "Name trucks and drivers" in text
    seen = re.findall(r'name="seen" value="(\w+)"', text)
    tour = month.facts["tours"][0]
    line = f"AB 12\t{tour['type']}\t{tour['home']}\t"
    line += "own" if tour["whose"] == "owned" else "hired"
    kept = month.desk.post(f"{base}/trucks", {"block": line, "seen": seen[0]})
    assert "The table is kept: 1 line" in month.desk.get(kept.headers["location"]).text
    late = month.desk.post(f"{base}/trucks", {"block": "", "seen": seen[0]})
    assert late.status == 422
    assert "was changed meanwhile" in late.text
    bad = month.desk.post(f"{base}/drivers", {"block": "all", "seen": seen[1]})
    assert bad.status == 422
    name = f"Ada {HOSTILE}"[:60]
    month.desk.post(f"{base}/drivers", {"block": name, "seen": seen[1]})
    page = month.desk.get(shown).text
    assert "<script>alert" not in page
    assert "Ada &lt;script&gt;" in page
    listed = month.desk.get(f"{month.page}&day={tour['day']}").text
    assert "<bdi>AB 12</bdi>, <bdi>Ada" in listed
    folder = f"{month.place}/rounds/months/{PERIOD}/sheets/rounds_{PERIOD}"
    sheet = f"{folder}/run_sheets_day_{tour['day']:02d}.html"
    printed = month.desk.get(sheet)
    assert "Plate <strong><bdi>AB 12</bdi></strong>" in printed.text
    assert "Ada &lt;script&gt;" in printed.text
    assert printed.headers["content-security-policy"].startswith("sandbox")
    holiday = {"block": f"all\t{tour['day']}\t\t{HOSTILE}", "seen": seen[2]}
    month.desk.post(f"{base}/off", holiday)
    page = month.desk.get(shown).text
    assert "nobody drives on this day" in page
    assert "<script>alert" not in page
    assert "AB 12" not in month.desk.get(sheet).text
    with zipfile.ZipFile(
        io.BytesIO(month.desk.get(f"{month.place}/share.zip").body)
    ) as z:
        assert not [name for name in z.namelist() if name.startswith(("crew", "log"))]
    for table in ("trucks", "drivers", "days_off"):
        (month.scenario / "crew" / f"{table}.csv").unlink()


def test_rounds_are_made_again_or_taken_back(month, no_sheets, monkeypatch):
    make = f"{month.place}/months/{PERIOD}/make"
    before = (month.folder / "rounds.kept").read_bytes()
    (month.folder / "rounds.kept").write_bytes(b"x" + before[1:])
    assert "made on another computer" in month.desk.get(month.page).text
    month.desk.post(make, {"again": "yes"})
    assert "made on another computer" not in month.desk.get(month.page).text
    assert (month.folder / "rounds.kept").stat().st_size > 1000

    def broken(*_):
        message = "no"
        raise CannotBeDoneError(message)

    monkeypatch.setitem(DOERS, MONTHS, broken)
    month.desk.post(make, {"again": "yes"})
    page = month.desk.get(month.page).text
    assert "Back to the rounds before" in page
    assert not (month.folder / "rounds.kept").exists()
    month.desk.post(make, {"back": "yes"})
    assert errand_at(month.folder).state == "done"
    assert "Rounds of a day" in month.desk.get(month.page).text
    assert month.desk.post(make, {"back": "yes"}).status == 422


def test_rounds_of_another_version_are_made_again(month, no_sheets):
    facts = month.folder / "month.json"
    facts.write_text(facts.read_text().replace('"format": 3', '"format": 2'))
    page = month.desk.get(month.page).text
    assert "made by another version" in page
    assert 'name="again"' in page
    month.desk.post(f"{month.place}/months/{PERIOD}/make", {"again": "yes"})
    assert "Rounds of a day" in month.desk.get(month.page).text


def test_days_planned_anew_from_earlier_rounds_are_not_put_in_force(month, no_sheets):
    place = month.trouble(**{"down-0": "1"}).headers["location"]
    month.desk.post(f"{month.place}/months/{PERIOD}/make", {"again": "yes"})
    page = month.desk.get(place).text
    assert "planned from earlier rounds" in page
    assert "Use these rounds" not in page
    assert month.desk.post(f"{place}/settle", {"what": "use"}).status == 422
    assert month.desk.post(f"{place}/settle", {"what": "aside"}).status == 303


def test_an_errand_that_waits_is_stopped(month):
    """It is not begun any more, and can be asked for again."""
    errands_ = month.desk.opened.errands
    folder = month.entry.folder / MONTHS / "m05"
    folder.mkdir(parents=True)
    (folder / "order.json").write_text("{}")
    (folder / "claimed").touch()
    errands_._waiting.append(folder)
    address = f"{month.place}/rounds/months/m05/stop"
    assert month.desk.post(address).status == 303
    assert not errands_._waiting
    assert errand_at(folder).state == "stopped"
    page = month.desk.get("/s/small/month?period=m05").text
    assert "Stopped. Nothing of it was kept" in page
    assert "Make the rounds of the month" in page
    assert month.desk.post(address.replace("m05", "m06")).status == 404


def test_an_errand_under_way_is_stopped_and_leaves_nothing(month, tmp_path):
    """In a program of its own, as at the desk: its searches end with it."""
    folder = month.entry.folder / MONTHS / "m07"
    folder.mkdir()
    (folder / "order.json").write_text("{}")
    program = subprocess.Popen(
        [sys.executable, "-P", "-m", "maps.desk.errand_worker"],
        stdin=subprocess.PIPE,
        text=True,
    )
    program.stdin.write(f"{folder}\n")
    program.stdin.close()
    until = time.monotonic() + 60
    while errand_at(folder).state != "running" and time.monotonic() < until:
        time.sleep(0.02)
    month.desk.opened.errands.stop(folder)
    assert program.wait(60) == 1
    one = errand_at(folder)
    assert one.state == "stopped"
    assert one.end["why"] == "Stopped. Nothing of it was kept."
    (folder / "month.json").write_text("{}")  # as if it had been writing
    errands.clear(folder)
    assert not (folder / "month.json").exists()
    assert errand_at(folder).state == "stopped"
