"""Formulas of figures: reckoned, said and written for a spreadsheet alike."""

import math

import pandas as pd
import pytest

from maps.tables.lineage_terms import Number, Rows

TABLES = {
    "hauls": pd.DataFrame(
        {
            "from": ["Mill", "Port", "Mill*", None],
            "tonnes [t]": [10.0, 20.0, 40.0, float("nan")],
            "one way [km]": [1.0, 2.0, 3.0, 4.0],
        }
    ),
    "none": pd.DataFrame({"tonnes [t]": []}),
}
TONNES = Rows("hauls", "tonnes [t]")
MILL = Rows("hauls", "tonnes [t]", (("from", "=", "Mill"),))


@pytest.mark.parametrize(
    ("formula", "value", "words"),
    [
        (TONNES, 70.0, "sum of tonnes [t] in hauls"),
        (MILL, 10.0, "sum of tonnes [t] in hauls where from = Mill"),
        (Rows("hauls"), 4.0, "rows in hauls"),
        (Rows("hauls", where=(("tonnes [t]", ">", 15.0),)), 2.0, None),
        (Rows("hauls", where=(("from", "<>", ""),)), 3.0, None),
        (Rows("hauls", "tonnes [t]", times="one way [km]"), 170.0, None),
        (Rows("hauls", "tonnes [t]", how="most"), 40.0, None),
        (Rows("hauls", "tonnes [t]", (("from", "=", "Port"),), how="look"), 20.0, None),
        (Number(100) * MILL / TONNES, 1000 / 70, None),
        ((MILL + TONNES) / Number(4), 20.0, None),
        (TONNES - MILL, 60.0, "sum of tonnes [t] in hauls − sum of tonnes [t] in hauls"
         " where from = Mill"),
        (Rows("none"), 0.0, None),
        (Rows("none", "tonnes [t]"), 0.0, None),
    ],
)  # fmt: skip
def test_a_formula_is_reckoned_and_said(formula, value, words):
    assert formula.value(TABLES) == pytest.approx(value)
    if words:
        assert formula.words() == words


def test_what_is_divided_by_nothing_is_not_known():
    assert math.isnan((TONNES / Rows("none")).value(TABLES))


def test_cells_quote_texts_and_compare_them_letter_by_letter():
    said = Rows("hauls", "tonnes [t]", (("from", "=", 'a"b*'),)).cell(TABLES)
    assert said == "SUMPRODUCT(('hauls'!$A$2:$A$5=\"a\"\"b*\")*'hauls'!$B$2:$B$5)"
    assert Rows("none", "tonnes [t]").cell(TABLES) == "0"
