"""Commands run in this process on a case of the grammar, and what must hold of it."""

from __future__ import annotations

import json
import math
import traceback
from collections.abc import Iterator
from pathlib import Path

import pandas as pd
from jsonschema import Draft202012Validator
from support.grammar import Case
from support.places import ROOT
from typer.testing import CliRunner

from maps.commands.command_line import app

CODES = {0, 1, 2, 3, 4}
SCHEMA = Draft202012Validator(
    json.loads((ROOT / "maps/manual/summary.schema.json").read_text(encoding="utf-8"))
)
OURS = "This is a bug in Loamhaul"


def faults_of(case: Case, folder: Path) -> Iterator[str]:
    """
    Run a case; yield what does not hold, with the command.

    No command may end in an exception or outside of the exit codes, no plan may fail
    its audit, and the money of the summary is that of the ledger.
    """
    case.lay(folder)
    for words in case.runs:
        typed = [str(folder) if word == "DIR" else word for word in words]
        done = CliRunner().invoke(app, typed)
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            told = "".join(traceback.format_exception(done.exception))
            yield f"{words}: {told}"
        elif done.exit_code not in CODES or OURS in done.output:
            yield f"{words}: code {done.exit_code}: {done.output}"
        elif done.exit_code in {1, 2} and not done.stderr.strip():
            yield f"{words}: code {done.exit_code} without a word: {done.output}"
        elif words[0] == "plan" and done.exit_code in {0, 3, 4}:
            yield from (f"{words}: {fault}" for fault in money_faults(folder / "out"))
        if words[0] == "check" and done.exit_code == 1:
            return  # every other command says the same; `test_endings` holds it


def money_faults(out: Path) -> Iterator[str]:
    """Hold the summary against its schema and the ledger, where there is a plan."""
    if not (out / "summary.json").exists():
        return
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    for wrong in SCHEMA.iter_errors(summary):
        yield f"summary.json, {wrong.json_path}: {wrong.message}"
    net = summary["gross_cost"] + summary["income"] + summary["sources_pay"]
    if not math.isclose(net, summary["total_cost"], rel_tol=1e-6, abs_tol=1e-3):
        total = summary["total_cost"]
        yield f"cost, income and sources make {net}, the total is {total}"
    if (out / "plan.csv" / "ledger.csv").exists():
        rows = pd.read_csv(out / "plan.csv" / "ledger.csv")
        column = next(name for name in rows.columns if name.startswith("amount"))
        if not math.isclose(
            rows[column].sum(), summary["total_cost"], rel_tol=1e-6, abs_tol=1e-2
        ):
            yield f"ledger {rows[column].sum()}, total {summary['total_cost']}"
