"""
Hostile and careless districts through the commands: no traceback, no lost money.

The plain run takes a few fixed districts, the thorough one more. `support/case_runs.py`
says what must hold. Cases that once failed are kept in `tests/data/cases`.
"""

import json

import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings
from jsonschema import Draft202012Validator
from support.case_runs import SCHEMA, faults_of
from support.grammar import Case, cases, read_case
from support.places import DATA

KEPT = sorted((DATA / "cases").glob("*.json"))


def held(count: int, number: int):
    """Run a fixed sample of districts; written small, so that many go by."""

    @settings(
        max_examples=count,
        database=None,
        deadline=None,
        derandomize=False,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @seed(number)
    @given(case=cases())
    def run(case: Case, *, place, at):
        at.append(len(at))
        assert list(faults_of(case, place / f"{len(at)}")) == [], case.text()

    return run


@pytest.fixture
def few_outputs(monkeypatch):
    """Summary and tables only: what the other files hold is tried elsewhere."""
    from maps import outputs

    few = {name: outputs.OUTPUTS[name] for name in ("summary.json", "plan.csv")}
    monkeypatch.setattr(outputs, "OUTPUTS", few)


@pytest.mark.usefixtures("few_outputs")
def test_a_few_hostile_districts(tmp_path):
    at: list[int] = []
    held(2, 1)(place=tmp_path, at=at)
    assert len(at) >= 2


@pytest.mark.thorough
@pytest.mark.usefixtures("few_outputs")
def test_hostile_districts(tmp_path):
    at: list[int] = []
    held(25, 2)(place=tmp_path, at=at)
    assert len(at) >= 25


@pytest.mark.thorough
@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.stem)
def test_cases_that_once_failed(path, tmp_path):
    assert list(faults_of(read_case(path), tmp_path / "district")) == []


def test_a_case_is_kept_and_read_again(tmp_path):
    case = Case({"a.csv": "x\n\u202e"}, [["check", "DIR"]])
    (tmp_path / "case.json").write_text(case.text(), encoding="utf-8")
    assert read_case(tmp_path / "case.json") == case


def test_the_schema_is_one_and_finds_what_is_wrong():
    Draft202012Validator.check_schema(SCHEMA.schema)
    wrong = {"status": "fine", "audit_passed": False, "surprise": 1}
    told = " ".join(error.message for error in SCHEMA.iter_errors(wrong))
    assert "surprise" in told
    assert "'total_cost' is a required property" in told
    assert "'fine' is not one of" in told


def test_money_that_does_not_add_up_is_found(tmp_path):
    """What holds the plans is itself held: one coin more in the total is found."""
    from support.case_runs import money_faults

    (tmp_path / "summary.json").write_text(
        json.dumps({"gross_cost": 5, "income": -2, "sources_pay": 1, "total_cost": 5})
    )
    assert any("total is 5" in fault for fault in money_faults(tmp_path))
