"""Write all files of a stress test."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from logistics.changes import write_change_file
from logistics.studies import runs_table
from maps.shared import write_csv
from maps.studies.stress_basis import FUTURES
from maps.studies.stress_page import stress_html
from maps.studies.stress_tables import stress_tables, with_units
from maps.tables import write_tables

if TYPE_CHECKING:
    from logistics.studies import Stress

SHEETS = {
    "what hurts most": "Which losses cost most with the yards as built",
    "re-planned": "Which losses cost most if the yards may be chosen anew",
    "ranges at their ends": "Which uncertain figure moves the cost most",
    "draws": "How cost spreads over futures drawn from the ranges, yards as built",
    "draws re-planned": "How cost spreads over the same futures, yards chosen anew",
    "yards chosen": "In how many futures each yard would be built",
    "futures": "Results of every future",
    "ranges": "Which ranges the draws use",
}
"""Sheet -> what it answers."""


def write_stress(found: Stress, out: Path) -> Sequence[str]:
    """Write stress.html, stress.xlsx, stress.csv and every future into a folder."""
    folder = out / FUTURES
    folder.mkdir(parents=True, exist_ok=True)
    for future in found.futures[1:]:
        write_change_file(future.change, folder / f"{future.change.code}.toml")
    table = with_units(runs_table(found), found.scenario)
    write_csv(table, out / "stress.csv")
    title = found.scenario.settings.name
    write_tables(
        stress_tables(found), out / "stress.xlsx", title, "Stress test", SHEETS
    )
    page = stress_html(found)
    (out / "stress.html").write_text(page, encoding="utf-8", newline="\n")
    return ("stress.html", "stress.xlsx", "stress.csv", f"{FUTURES}/")
