"""The budget as a workbook: what LibreOffice reckons is what the ledger says."""

import subprocess

import openpyxl
import pandas as pd
import pytest
from support.places import SMALL
from support.printed import need_office

from logistics.accounts.budget import book
from logistics.results.pipeline import run
from logistics.scenario.edits import with_table
from logistics.scenario.scenario import read_scenario
from maps.tables.budget_workbook import write_budget
from maps.tables.plan_workbook import write_workbook


@pytest.fixture(scope="module")
def result():
    base = read_scenario(SMALL)
    return run(with_table(base, "yards", base.yards.assign(existing_size="")))


@pytest.fixture(scope="module")
def folder(result, tmp_path_factory):
    path = tmp_path_factory.mktemp("books")
    write_budget(result, path / "budget.xlsx")
    write_workbook(result, path / "plan.xlsx")
    return path


def without_values(path, out):
    """Save the formulas alone, so that nothing stored can be taken for reckoned."""
    book_ = openpyxl.load_workbook(path)
    book_.save(out)


def reckoned(path, tmp_path):
    """Let LibreOffice open a workbook without stored values, and read what it saves."""
    bare = tmp_path / path.name
    without_values(path, bare)
    assert shown(bare) == {}
    out = tmp_path / "out"
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    subprocess.run(
        [
            "soffice",
            profile,
            "--headless",
            "--convert-to",
            "xlsx",
            "--outdir",
            out,
            bare,
        ],
        check=True,
        capture_output=True,
        timeout=240,
    )
    return shown(path, out / path.name)


def shown(path, values=None):
    """Value of every formula cell, by sheet and cell; none where none is stored."""
    formulas = openpyxl.load_workbook(path)
    seen = openpyxl.load_workbook(values or path, data_only=True)
    return {
        (sheet.title, cell.coordinate): seen[sheet.title][cell.coordinate].value
        for sheet in formulas
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
        and seen[sheet.title][cell.coordinate].value is not None
    }


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["budget.xlsx", "plan.xlsx"])
def test_a_spreadsheet_reckons_what_is_stored(folder, tmp_path, name):
    """Every formula, reckoned from nothing, gives the figure written beside it."""
    need_office()
    stored = shown(folder / name)
    found = reckoned(folder / name, tmp_path)
    assert set(found) == set(stored)
    assert len(found) > (300 if name == "budget.xlsx" else 10)
    for cell, value in stored.items():
        assert found[cell] == pytest.approx(value, rel=1e-9, abs=1e-6), cell


def table_of(folder, sheet, header=0):
    return pd.read_excel(folder / "budget.xlsx", sheet_name=sheet, header=header)


def test_totals_are_the_ledgers(folder, result):
    """Each sheet's own grand total, read back, is the net annual cost."""
    net = result.ledger["amount"].sum()
    for sheet in ("months", "yards", "districts"):
        last = table_of(folder, sheet).iloc[-1]
        assert last["All"] == pytest.approx(net), sheet
        assert last.iloc[2:-1].astype(float).sum() == pytest.approx(net), sheet
    estimates = table_of(folder, "estimates").set_index("Name")["Amount [coin]"]
    assert estimates["Net annual cost"] == pytest.approx(net)
    assert estimates["The same from the ledger"] == pytest.approx(net)


def test_cross_sheet_totals_agree(folder, result):
    money = book(result)
    estimates = table_of(folder, "estimates").set_index("Name")["Amount [coin]"]
    spent = estimates["Total wage recurrent"] + estimates["Total non-wage recurrent"]
    by_month = table_of(folder, "outputs")["cost [coin] recurrent"]
    assert by_month.iloc[:12].sum() == pytest.approx(spent)
    assert spent == pytest.approx(money.kind("recurrent"))
    bought = table_of(folder, "capital")["cost [coin]"].iloc[:-1].sum()
    assert bought == pytest.approx(money.capital["cost"].sum())
    assert set(table_of(folder, "checks")["passed"].dropna()) == {"yes"}


@pytest.fixture(scope="module")
def plan_books(folder):
    """plan.xlsx with its formulas, and with their values."""
    path = folder / "plan.xlsx"
    return openpyxl.load_workbook(path), openpyxl.load_workbook(path, data_only=True)


def totals_of(books, sheet):
    """Read the totals below a sheet of plan.xlsx, by heading."""
    formulas, seen = (book_[sheet] for book_ in books)
    return {
        formulas.cell(1, cell.column).value: seen[cell.coordinate].value
        for cell in formulas[formulas.max_row]
        if cell.data_type == "f"
    }


def test_totals_of_the_plan_s_workbook_are_the_ledgers_and_agree(plan_books, result):
    """What these formulas hold is what LibreOffice reckons (the test above)."""
    net, entries = result.ledger["amount"].sum(), result.ledger
    for sheet in ("ledger", "budget"):
        assert totals_of(plan_books, sheet)["amount [coin/yr]"] == pytest.approx(net), (
            sheet
        )
    hauls = totals_of(plan_books, "hauls")
    haulage = entries[entries["account"].str.startswith("haulage")]["amount"].sum()
    assert hauls["cost [coin]"] == pytest.approx(haulage)
    yards, supply = totals_of(plan_books, "yards"), totals_of(plan_books, "supply")
    assert yards["intake [t/yr]"] == pytest.approx(supply["collected [t/yr]"])
    compost, sold = (
        totals_of(plan_books, "compost"),
        totals_of(plan_books, "deliveries"),
    )
    assert yards["compost made [t/yr]"] == pytest.approx(compost["ready [t]"])
    assert compost["delivered [t]"] == pytest.approx(sold["delivered [t]"])
    work = totals_of(plan_books, "work")
    assert work["trucks [h]"] == pytest.approx(hauls["truck time [h]"])
    moved = yards["intake [t/yr]"] + compost["delivered [t]"]
    assert hauls["tonnes [t]"] == pytest.approx(moved)
    assert totals_of(plan_books, "mixes")["charge [t]"] == pytest.approx(
        work["into windrows [t]"]
    )


def test_two_sides_of_an_account_are_not_summed(plan_books):
    """What arises and where it goes; today and the plan: no total over both."""
    assert totals_of(plan_books, "nutrients") == {}
    assert totals_of(plan_books, "emissions") == {}


def test_vehicles_carry_the_haulage_and_fleet_of_the_ledger(folder, result):
    sheet = table_of(folder, "vehicles")
    lines = result.ledger[result.ledger["account"].str.startswith(("haulage", "fleet"))]
    total = sheet["cost [coin/yr] in all"].iloc[: len(result.scenario.trucks)].sum()
    assert total == pytest.approx(lines["amount"].sum())


def test_rows_of_the_parts_lead_to_the_ledger_sheet(folder):
    """The row number given is the row on the sheet ledger."""
    book_ = openpyxl.load_workbook(folder / "budget.xlsx", data_only=True)
    ledger, parts = book_["ledger"], table_of(folder, "parts").dropna()
    sums = parts.groupby("row of the ledger")["amount [coin/yr]"].sum()
    for row, amount in sums.items():
        assert ledger.cell(int(row), 8).value == pytest.approx(amount)
