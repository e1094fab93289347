"""The command line: exit codes, faults, help, one page."""

import ast
import importlib.util
import io
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest
from rich.console import Console
from support.fake_result import HOSTILE, result, table
from typer.testing import CliRunner

from logistics.scenario import library
from maps.commands.choices import STATUS_EXIT, Exit
from maps.commands.command_line import COMMANDS, app
from maps.commands.progress_line import progress_text
from maps.shared.console import grouped
from maps.tables.terminal import show

RUNNER = CliRunner()
HEAVY = {"pandas", "numpy", "pulp", "geopandas", "folium", "scipy", "pydantic"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A starter folder, as a newcomer makes it."""
    made = tmp_path_factory.mktemp("new") / "district"
    assert RUNNER.invoke(app, ["new", str(made)]).exit_code == 0
    return made


def test_help_imports_nothing_heavy():
    code = (
        "import sys; from typer.testing import CliRunner;"
        "from maps.commands.command_line import app;"
        "assert CliRunner().invoke(app, ['--help']).exit_code == 0;"
        f"print(sorted({HEAVY!r} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_module_runs_as_the_command():
    done = subprocess.run(
        [sys.executable, "-m", "maps", "--help"],
        capture_output=True,
        text=True,
        check=True,
    )
    for command in ("new", "check", "plan"):
        assert command in done.stdout


def test_starter_is_free_of_faults(folder):
    done = RUNNER.invoke(app, ["check", str(folder)])
    assert (done.exit_code, "no faults" in done.output) == (0, True)
    for line in ("supply of rice_husk: 1,500 t/yr", "demand for compost: 1,500 t/yr"):
        assert line in done.output


@pytest.mark.slow
def test_starter_gives_a_plan(folder, tmp_path):
    done = RUNNER.invoke(app, ["plan", str(folder), "--out", str(tmp_path / "out")])
    assert done.exit_code == 0, done.output
    assert (tmp_path / "out" / "map.html").exists()
    assert "Net cost" in done.output
    assert "\x1b" not in done.output


def test_starter_explains_every_column(folder):
    from logistics.scenario.schema import COLUMNS_FILE

    meanings = pd.read_csv(COLUMNS_FILE, dtype=str)["meaning"]
    notes = (folder / "notes.csv").read_text(encoding="utf-8-sig")
    notes += (folder / "scenario.toml").read_text(encoding="utf-8")
    assert [text for text in meanings if text not in notes] == []


def test_new_does_not_write_over_a_folder(folder):
    done = RUNNER.invoke(app, ["new", str(folder)])
    assert (done.exit_code, "already exists" in done.output) == (2, True)


def test_new_makes_a_workbook(tmp_path):
    done = RUNNER.invoke(app, ["new", str(tmp_path / "b"), "--format", "xlsx"])
    assert done.exit_code == 0
    checked = RUNNER.invoke(app, ["check", str(tmp_path / "b")])
    assert checked.exit_code == Exit.FAULTS  # its examples are never read
    assert "sheet 'sources': has no rows" in checked.stderr


def test_faults_are_listed_with_code_1(folder, tmp_path):
    bad = tmp_path / "bad"
    RUNNER.invoke(app, ["new", str(bad)])
    text = (bad / "sources.csv").read_text(encoding="utf-8")
    (bad / "sources.csv").write_text(text.replace("rice_husk", "rice_hsk"))
    for command in ("check", "plan"):
        done = RUNNER.invoke(app, [command, str(bad)])
        assert done.exit_code == 1
        assert "sources.csv, row 2, column 'material': 'rice_hsk'" in done.output
        assert "Traceback" not in done.output
    assert not (bad / "out").exists()


@pytest.mark.parametrize(
    "words",
    [["plan"], ["plan", "nowhere"], ["fly"], ["plan", ".", "--goal", "fame"]],
)
def test_wrong_usage_has_code_2(words):
    assert RUNNER.invoke(app, words).exit_code == 2


def test_output_that_cannot_be_written_is_told_before_solving(folder, tmp_path):
    (tmp_path / "taken").write_text("a file")
    done = RUNNER.invoke(app, ["plan", str(folder), "--out", str(tmp_path / "taken")])
    assert (done.exit_code, "is a file" in done.output) == (2, True)


@pytest.mark.parametrize(("status", "code"), STATUS_EXIT.items())
def test_status_sets_the_exit_code(
    folder, tmp_path, summary_only, monkeypatch, status, code
):
    """Best plan and outputs are written whatever the status."""
    monkeypatch.setattr("logistics.results.run", lambda *_, **__: result(status=status))
    monkeypatch.setattr("logistics.studies.with_ranges", lambda plan, *_, **__: plan)
    out = tmp_path / "out"
    words = ["plan", str(folder), "--estimate", "--out", str(out)]
    done = RUNNER.invoke(app, words)
    assert done.exit_code == code
    assert (out / "summary.json").exists()


def test_options_reach_the_settings(folder, tmp_path, summary_only, monkeypatch):
    seen = []

    def run(scenario, progress, **_):
        seen.append((scenario.settings, progress))
        return result()

    monkeypatch.setattr("logistics.results.run", run)
    options = ["--seconds", "7", "--gap", "2", "--goal", "co2e"]
    done = RUNNER.invoke(app, ["plan", str(folder), "--out", str(tmp_path), *options])
    settings, progress = seen[0]
    assert (settings.solve.seconds, settings.solve.gap) == (7, 0.02)
    assert settings.goal.minimise == "co2e"
    assert progress.left.limit == 7
    assert done.stderr == "", "quiet when piped, unless it takes long"


def test_own_bugs_show_in_full(folder, tmp_path, monkeypatch):
    def run(*_, **__):
        raise ZeroDivisionError

    monkeypatch.setattr("logistics.results.run", run)
    done = RUNNER.invoke(app, ["plan", str(folder), "--out", str(tmp_path / "o")])
    assert isinstance(done.exception, ZeroDivisionError)


def page(planned, **options):
    out = io.StringIO()
    show(planned, Console(file=out, **options))
    return out.getvalue()


def test_page_holds_the_figures():
    text = page(result())
    for part in ("Hill yard", "450", "28–31", "52–58", "150 t delivered of 240 t"):
        assert part in text
    assert "1 t more at Port saves 9" in text
    assert "Travel: roads" in text


def test_names_cannot_steer_the_terminal():
    text = page(result(name="A\x1b[31m[bold]B[/bold]" + HOSTILE))
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert "[bold]B[/bold]" in text


def test_shortages_are_listed_on_the_page():
    short = table(
        how=["together"] * 15 + ["alone"] * 2,
        limit=["least"] * 17,
        what=[f"demand {n}" for n in range(15)] + ["demand 0"] * 2,
        where=["port"] * 17,
        when=["year"] * 15 + ["dry", "wet"],
        amount=[12.0] * 17,
        unit=["t"] * 17,
    )
    text = page(result(status="shortage", shortages=short))
    assert "If all are relaxed: demand 0 at Port falls short by 12.0 t." in text
    assert "demand 12" not in text
    assert "And 4 more in plan.xlsx, sheet shortages." in text


def test_narrow_terminal_breaks_no_number():
    lines = page(result(), width=40, force_terminal=True, no_color=True).splitlines()
    assert "…" not in "".join(lines)
    assert max(len(re.sub(r"\x1b\[[0-9;]*m", "", line)) for line in lines) <= 40


def test_enlarged_yard_is_no_yard_as_it_stands():
    planned = result()
    planned.scenario.tables["yards"]["existing_size"] = ["tiny", ""]
    assert "enlarged" in page(planned)
    planned.scenario.tables["yards"]["existing_size"] = ["small", ""]
    assert "existing" in page(planned)


def test_page_says_why_nothing_is_collected():
    planned = result()
    planned.summary["collected_share"] = {"all": 3e-9}
    planned.summary["uncollected_t"] = 540.0
    assert "Nothing is collected: within the limits set" in page(planned)
    assert "Nothing is collected" not in page(result())


def test_window_is_shown_as_it_was_set():
    planned = result()
    mix = planned.scenario.settings.mix.model_copy(update={"cn_low": 24.5})
    settings = planned.scenario.settings.model_copy(update={"mix": mix})
    planned.scenario.settings = settings
    assert "(window 24.5–40 for total carbon)" in page(planned)


def test_currency_is_no_markup():
    planned = result()
    planned.scenario.settings = planned.scenario.settings.model_copy(
        update={"currency": "[b]shells"}
    )
    heading = next(x for x in page(planned).splitlines() if "Cost of the year" in x)
    assert heading.endswith(" [b]shells")


def test_nothing_is_never_below_zero():
    assert grouped(-0.3) == "0"
    assert grouped(-1.26, 1) == "−1.3"


def test_gap_is_said_in_money_too():
    planned = result()
    planned.summary["gap_money"] = 40.0
    assert "gap 0.40 % or 40 shells a year" in page(planned)


@pytest.mark.parametrize("seconds", ["inf", "nan", "0"])
def test_endless_time_is_wrong_usage(folder, seconds):
    done = RUNNER.invoke(app, ["plan", str(folder), "--seconds", seconds])
    assert done.exit_code == 2


def test_reader_that_hangs_up_is_no_fault(folder):
    """`loamhaul check DIR | head -0` must not end with the code for faults."""
    run = [sys.executable, "-m", "maps", "check", str(folder)]
    with subprocess.Popen(run, stdout=subprocess.PIPE) as done:
        done.stdout.close()
    assert done.returncode not in (1, 2, 3, 4)


def test_progress_says_gap_and_time():
    from logistics.model.solving.highs import Progress

    text = progress_text(Progress("proof", 12.0, 1000.0, 990.0))
    assert text.startswith("proof · 12 s · best 1,000 · proven gap 1.00 %")
    text = progress_text(Progress("proof", 12.0, 1000.0, -9000.0))
    assert text == "proof · 12 s · best 1,000 · proven gap 1000.00 %"
    assert "gap" not in progress_text(Progress("proof", 12.0, 1000.0, -9001.0))


def modules_at_the_top(module):
    """Modules of ours that a module imports when it is itself imported, for types or
    not, and no more."""
    found = importlib.util.find_spec(module)
    body = ast.parse(Path(found.origin).read_text(encoding="utf-8")).body
    top = [node.module or "" for node in body if isinstance(node, ast.ImportFrom)]
    return {name for name in top if name.split(".")[0] in {"maps", "logistics"}}


def test_command_line_imports_late():
    """What the commands import at the top is in their own room, down to the last."""
    seen, waiting = set(), {"maps.commands.command_line"}
    while waiting:
        module = waiting.pop()
        seen.add(module)
        assert module.startswith("maps.commands."), module
        waiting |= modules_at_the_top(module) - seen
    assert len(seen) > 10


def test_every_module_of_a_command_is_registered():
    folder = Path(sys.modules["maps.commands"].__file__).parent
    modules = {
        path.stem.removesuffix("_command") for path in folder.glob("*_command.py")
    }
    assert modules == set(COMMANDS)


def test_materials_lists_every_feedstock_of_the_library_with_its_source():
    done = CliRunner().invoke(app, ["materials"])
    assert done.exit_code == 0
    frame = library("materials").frame
    assert f"{len(frame)} feedstocks" in done.output
    for code, name, source in frame[["material", "name", "source"]].to_numpy():
        assert f"\n{code}: {name}\n" in done.output
        assert f"    Source: {source}\n" in done.output
    assert "35 % water, C:N 13, nitrogen 3 % of dry mass" in done.output  # litter


def test_the_next_command_can_be_copied_where_the_path_has_blanks(tmp_path):
    """Pasted into a shell it names the folder again, whatever is in its name."""
    place = tmp_path / "my 'first' \"kin\" $1 ñ"
    done = RUNNER.invoke(app, ["new", str(place)])
    _, _, last = done.stdout.rpartition("then: ")
    assert shlex.split(last) == ["loamhaul", "check", str(place)]


def test_new_tells_of_the_feedstocks_it_does_not_write(tmp_path):
    done = CliRunner().invoke(app, ["new", str(tmp_path / "mine")])
    assert "16 feedstocks" in done.output
    assert "`loamhaul materials`" in done.output
