"""Forms on paper: one sheet of A4 a table, with all questions, units and cautions."""

import re
from dataclasses import replace
from html import unescape

import pytest
from support.fake_result import HOSTILE
from support.pages import Page
from support.places import ROOT
from typer.testing import CliRunner

from logistics.scenario import read_scenario, with_table
from maps.commands import app
from maps.forms import questions_for, write_paper_forms
from maps.forms.form_cautions import ON_SITE


@pytest.fixture(scope="module")
def demo():
    return read_scenario(ROOT / "scenarios" / "brackwater")


@pytest.fixture(scope="module")
def papers(demo, tmp_path_factory):
    folder = tmp_path_factory.mktemp("forms") / "paper"
    write_paper_forms(demo, folder)
    return folder


def test_every_question_stands_on_paper_with_unit_and_cautions(demo, papers):
    for table, questions in questions_for(demo).items():
        text = unescape((papers / f"{table}.html").read_text(encoding="utf-8"))
        for question in questions:
            assert question.words in text
            assert question.name == "amount" or question.unit in text
        assert all(line in text for line in ON_SITE[table])
        for label in ("Your name", "Date"):
            assert f'<div>{label}<div class="box">' in text


def test_fish_machines_and_run_off_are_cautioned_of():
    told = " ".join(line for lines in ON_SITE.values() for line in lines)
    for danger in ("Fish waste", "loaders", "Run-off", "no permit", "moving water"):
        assert danger in told


def test_names_are_text(demo, tmp_path):
    named = demo.materials.assign(name=[HOSTILE, *demo.materials["name"][1:]])
    strange = with_table(demo, "materials", named)
    strange = replace(strange, settings=replace_name(strange.settings))
    write_paper_forms(strange, tmp_path / "paper")
    for file in (tmp_path / "paper").iterdir():
        page = file.read_text(encoding="utf-8")
        assert HOSTILE not in page
        assert not re.search(r"<script", page)
        Page(page)


def replace_name(settings):
    return settings.model_copy(update={"name": HOSTILE})


def test_the_command_writes_one_set(tmp_path):
    folder = ROOT / "scenarios" / "highlake"
    done = CliRunner().invoke(app, ["form", str(folder), "--out", str(tmp_path / "f")])
    assert done.exit_code == 0, done.output
    assert sorted(f.name for f in tmp_path.rglob("*.*")) == [
        "markets.html", "sources.html", "survey.xlsx", "yards.html",
    ]  # fmt: skip
    assert "has no roads, so none can be asked about" in done.stdout
