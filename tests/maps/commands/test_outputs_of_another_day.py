"""Commands in a folder of outputs that version 0.1.0 wrote."""

import shutil

import pytest
from support.places import DATA, SMALL
from typer.testing import CliRunner

from maps.commands.command_line import app

OLD = DATA / "made_by_0_1_0"


@pytest.mark.slow
def test_a_stress_test_is_made_anew_beside_the_runs_of_0_1_0(tmp_path):
    """Its figures are of other rules: none is taken, and none is lost."""
    folder = shutil.copytree(SMALL, tmp_path / "district")
    shutil.copytree(OLD, folder / "out")
    before = (OLD / "stress.jsonl").read_text().splitlines()
    asked = ["stress", str(folder), "--draws", "0", "--workers", "1"]
    done = CliRunner().invoke(app, asked)
    assert done.exit_code == 0, done.output
    after = (folder / "out" / "stress.jsonl").read_text().splitlines()
    assert after[: len(before)] == before
    keys = [line.partition(",")[0] for line in after]
    assert len(set(keys)) == len(keys) > len(before)
    for command in ("sheets", "compare"):
        more = {
            "sheets": ["--period", "m01"],
            "compare": ["--change", "scale_wages:percent=10"],
        }
        done = CliRunner().invoke(app, [command, str(folder), *more[command]])
        assert done.exit_code == 0, done.output
