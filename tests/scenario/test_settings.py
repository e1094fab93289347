"""Settings: one truth in columns.csv, percentages become shares, nothing slips by."""

from functools import partial
from types import SimpleNamespace

import pandas as pd
import pytest
from pydantic import BaseModel, ValidationError

from logistics.scenario import code_checks, settings_file
from logistics.scenario.coordinates import district
from logistics.scenario.schema import Column, settings_columns
from logistics.scenario.settings import (
    Settings,
    change_setting,
    flat_settings,
    settings_from,
)
from logistics.scenario.settings_file import line_of, read_settings, settings_text
from logistics.scenario.table_set import Tables

NAMED = settings_from({"name": "Test"})


def fields(record: type[BaseModel], head: str = "") -> set[str]:
    found = set()
    for name, field in record.model_fields.items():
        inner = field.annotation
        if isinstance(inner, type) and issubclass(inner, BaseModel):
            found |= fields(inner, f"{name}.")
        else:
            found.add(head + name)
    return found


def test_fields_are_the_rows_of_the_table():
    assert fields(Settings) == {c.inside for c in settings_columns().values()}


def test_percent_settings_are_shares():
    assert NAMED.mix.moisture_low == 0.45
    assert NAMED.solve.gap == 0.005
    assert NAMED.finance.discount == 0.10


def test_blank_limits_are_none():
    assert NAMED.policy.max_yards is None
    assert NAMED.mix.density_high_kg_m3 is None
    assert NAMED.travel.lane_limit_km is None
    assert NAMED.story == ""


def test_settings_cannot_be_changed_in_place():
    with pytest.raises(ValidationError):
        NAMED.mix.cn_low = 3
    assert change_setting(NAMED, "mix.moisture_low_pct", 50).mix.moisture_low == 0.5
    assert NAMED.mix.moisture_low == 0.45
    with pytest.raises(KeyError, match=r"mix\.cn_lo"):
        change_setting(NAMED, "mix.cn_lo", 25)


def test_flat_settings_round_trip():
    assert settings_from(flat_settings(NAMED)) == NAMED


def test_settings_text_reads_back(tmp_path):
    values = {
        "name": 'A "quoted" \\ name',
        "mix.moisture_low_pct": 47.5,
        "solve.seed": 7,
    }
    (tmp_path / "scenario.toml").write_text(settings_text(values), encoding="utf-8")
    read, problems = read_settings(tmp_path)
    assert problems == []
    assert settings_from(read) == settings_from(values)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "cp1252", "utf-16"])
def test_settings_in_any_encoding(tmp_path, encoding):
    text = 'name = "Señal"\r\n[mix]\r\ncn_low = 22\r\n'
    (tmp_path / "scenario.toml").write_bytes(text.encode(encoding))
    read, problems = read_settings(tmp_path)
    assert problems == []
    assert read == {"name": "Señal", "mix.cn_low": 22.0}


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("mix = 3", "is not a known setting"),
        ("[mix]\ncn_low = true", "is true or false, not a number"),
        ("[mix]\ncn_low = 2024-05-01", "is a date or a time, not a number"),
        ("[mix]\ncn_low = nan", "is not a finite number"),
        ("[mix]\ncn_low = -inf", "is not a finite number"),
        (f"[mix]\ncn_low = 1{'0' * 400}", "is not a finite number"),
        ("[mix]\ncn_low = 3", "is below 5"),
        ("[mix]\ncn_low = {a = 1}", "is a group, not a number"),
        ('[mix]\ncn_low = "20 t"', "has a unit in the cell"),
        ("[solve]\nthreads = 1.5", "is not a whole number"),
        ('[goal]\nminimise = "costs"', "is not one of the choices"),
        ("currency = 5", "is a number, not text"),
        ('currency = "a\\u0000b"', "holds unreadable characters"),
        ("[brew]\nstrength = 5", "is not a known setting"),
        (
            "[travel]\nstops_per_round = 3",
            "is no longer a setting: rounds to small places are reckoned place by "
            "place",
        ),
        (
            "[travel]\npickup_days = 1",
            "is no longer a setting: trucks call as often as the feedstock's "
            "keep_hours ask",
        ),
    ],
)
def test_wrong_settings(tmp_path, line, why):
    text = f'name = "T"\n{line}\n'
    (tmp_path / "scenario.toml").write_text(text, encoding="utf-8")
    _, (problem,) = read_settings(tmp_path)
    assert problem.why == why
    assert problem.row == text.count("\n")


@pytest.mark.parametrize(
    "text", ["a = [" * 5000, "x = 1" + "0" * 9000, '"', "\x00", "="]
)
def test_settings_that_do_not_parse(tmp_path, text):
    (tmp_path / "scenario.toml").write_text(text, encoding="utf-8")
    values, problems = read_settings(tmp_path)
    assert values == {}
    assert problems[0].row
    assert str(problems[0]).startswith("scenario.toml, line ")


def test_group_that_is_none(tmp_path):
    for text in ("mix = 3", "[[mix]]\ncn_low = 5"):
        (tmp_path / "scenario.toml").write_text(f'name = "T"\n{text}')
        _, (problem,) = read_settings(tmp_path)
        assert problem.row == 2
        assert problem.remedy.startswith("Write it as a group: [mix]")


def test_line_of_a_dotted_key():
    assert line_of('name = "T"\nmix.cn_low = 20', "mix.cn_low") == 2
    assert line_of("mix = {cn_low = 20}", "mix.cn_low") is None


TROUBLE = Column(
    table="settings",
    name="policy.favourite",
    kind="code",
    unit="",
    low=None,
    high=None,
    default="",
    required=False,
    key=False,
    refers_to="materials",
    meaning="A code of another table",
)


@pytest.fixture
def with_code(monkeypatch):
    """A setting that is a code of the table materials."""
    known = {**settings_columns(), "policy.favourite": TROUBLE}
    monkeypatch.setattr(settings_file, "settings_columns", lambda: known)
    monkeypatch.setattr(code_checks, "settings_columns", lambda: known)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ('"husk"', ""),
        ('"hsk"', "line 3, setting 'policy.favourite': 'hsk' is not a code in the"),
        ('"rice husk"', "is not a code: a code may have only letters"),
        ("3", "is a number, not text"),
    ],
)
def test_a_setting_may_be_a_code_of_a_table(with_code, tmp_path, written, said):
    text = f'name = "T"\n[policy]\nfavourite = {written}\n'
    (tmp_path / "scenario.toml").write_text(text)
    values, problems = read_settings(tmp_path)
    tables = Tables(
        {"materials": materials("husk", "fish")}, district(NAMED), (), values,
        partial(settings_file.line_in, tmp_path),
    )  # fmt: skip
    problems += code_checks.check_setting_codes(tables)
    assert len(problems) == bool(said)
    assert all(said in str(p) for p in problems), problems


def test_of_two_settings_neither_is_given_alone(monkeypatch, tmp_path):
    pair = ("policy.max_yards", "policy.capital_limit")
    monkeypatch.setattr(settings_file, "TOGETHER", (pair,))
    (tmp_path / "scenario.toml").write_text('name = "T"\n[policy]\nmax_yards = 2\n')
    (problem,) = read_settings(tmp_path)[1]
    assert "has no effect without policy.capital_limit" in str(problem)


def materials(*codes):
    frame = pd.DataFrame({"material": codes, "structure": False})
    return SimpleNamespace(frame=frame)
