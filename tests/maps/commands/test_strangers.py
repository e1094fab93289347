"""
Two districts unlike the demos, from the first check to the foreman's month.

Tessandre has thirty sources, names with accents and commas, a currency of many noughts,
and roads drawn by another maker; Korravel plans by quarters, types decimal commas, and
has ten materials, long names and accounts of its own.
"""

import shutil
from pathlib import Path

import pandas as pd
import pytest
from support.places import KORRAVEL, TESSANDRE, TESSANDRE_ROADS
from typer.testing import CliRunner

from maps.commands.command_line import app
from maps.outputs import OUTPUTS
from maps.tables.sheet import NOTHING

pytestmark = pytest.mark.thorough

CHANGES = {
    "tessandre": (
        "force_yard:yard=cour_09",
        "close_source:source=moulin_4",
    ),
    "korravel": (
        "force_yard:yard=platz_3",
        "setting:name=policy.max_yards,value=1",
        "close_source:source=s08",
        "scale_price:percent=-50",
    ),
}
FEWER = {"tessandre": "camion", "korravel": "traktor"}
"""A truck type that is not to be had; the rest has to do."""
MONTH = {"tessandre": "octobre", "korravel": "q2"}


def call(*words):
    answer = CliRunner().invoke(app, [str(word) for word in words])
    assert answer.exception is None or isinstance(answer.exception, SystemExit), (
        answer.exception
    )
    return answer


@pytest.fixture(
    scope="module",
    params=[
        pytest.param(name, marks=pytest.mark.xdist_group(name)) for name in CHANGES
    ],
)
def district(request, tmp_path_factory) -> Path:
    """A copy, planned; Tessandre after its roads were brought in."""
    home = {"tessandre": TESSANDRE, "korravel": KORRAVEL}[request.param]
    folder = Path(shutil.copytree(home, tmp_path_factory.mktemp("s") / home.name))
    settings = folder / "scenario.toml"  # no test of speed: a rough plan in any time
    text = settings.read_text(encoding="utf-8")
    rough = text.replace("gap_pct = 0.5", "gap_pct = 6").replace("= 60", "= 900")
    assert rough != text
    settings.write_text(rough, encoding="utf-8")
    assert call("check", folder).exit_code == 0
    if home == TESSANDRE:
        assert call("roads", TESSANDRE_ROADS, folder, "--tracks").exit_code == 0
    planned = call("plan", folder)
    assert planned.exit_code == 0, planned.output
    return folder


def test_all_outputs_are_there_and_the_money_agrees(district):
    out = district / "out"
    assert {path.name for path in out.iterdir()} >= set(OUTPUTS)
    ledger = pd.read_csv(out / "plan.csv" / "ledger.csv")
    assert len(ledger) > 10


def test_what_ifs_answer_and_regret_is_never_negative(district):
    asked = [x for change in CHANGES[district.name] for x in ("--change", change)]
    call("compare", district, *asked, "--map")
    table = pd.read_csv(district / "out" / "compare.csv" / "overview.csv")
    assert table["change"].nunique() == 1 + len(CHANGES[district.name])
    assert not table["change"].str.contains("=").any()  # names in place of codes
    regret = next(name for name in table.columns if name.startswith("regret"))
    assert (table[regret].dropna() >= 0).all()
    unanswered = table["net cost" + regret.removeprefix("regret of the base's yards")]
    assert table.loc[unanswered.isna(), "remarks"].notna().all()


def test_a_month_drives_or_says_why_not(district, tmp_path):
    month = MONTH[district.name]
    call("rounds", district, "--period", month, "--out", tmp_path / "all")
    fewer = ["--change", f"set_fleet:truck={FEWER[district.name]},owned=0,hire_limit=0"]
    call("rounds", district, "--period", month, *fewer, "--out", tmp_path / "fewer")
    for run in ("all", "fewer"):
        (book,) = (tmp_path / run).rglob("rounds.xlsx")
        sheets = pd.read_excel(book, sheet_name=None, header=None)
        found = rows_of(sheets["not driven"], "reason")
        found = found[found["day"] != NOTHING]
        assert found["reason"].notna().all()
        assert not found["reason"].str.contains("carries").any()


def rows_of(sheet: pd.DataFrame, heading: str) -> pd.DataFrame:
    """The rows under the headings, wherever these begin on the sheet."""
    at = sheet.index[(sheet == heading).any(axis=1)][0]
    return sheet.loc[at + 1 :].set_axis(sheet.loc[at].tolist(), axis=1)
