"""What check doubts stands in every output of a plan, as text."""

import io

from rich.console import Console
from support.fake_result import HOSTILE, result

from logistics.scenario.accepted import Accepted
from maps.report.plan_facts import facts
from maps.report.sections.basis import section
from maps.shared import assumptions
from maps.tables.terminal import show


def doubted():
    """A truck twice as fast as any, and a reason that is markup."""
    made = result()
    made.scenario.tables["trucks"]["speed_factor"] = 2.0
    made.scenario.tables["roads"]["speed_kmh"] = 300.0
    made.scenario.accepted = (Accepted("speed", ("light",), f"[red]{HOSTILE}"),)
    return made


def test_the_sheet_of_assumptions_repeats_the_warnings():
    rows = assumptions(doubted())
    told = rows[rows["topic"] == "Check"]
    warned, accepted = told["note"].tolist()
    assert told["item"].tolist() == ["Warning", "Accepted warning"]
    assert warned.startswith("roads.csv, row 2, column 'speed_kmh': 300 is out of")
    assert accepted.startswith("speed for light is accepted: [red]<script>")
    assert "\u202e" not in accepted


def test_the_report_repeats_them_and_is_silent_without():
    said = str(section(facts(doubted())).pieces)
    assert "What check doubts" in said
    assert "300 is out of the usual" in said
    assert "What check doubts" not in str(section(facts(result())).pieces)


def test_the_terminal_page_repeats_them():
    out = io.StringIO()
    show(doubted(), Console(file=out, width=200))
    assert "Check doubts what this plan rests on:" in out.getvalue()
    assert "300 is out of the usual 15 to 100 [km/h]" in out.getvalue()
