"""From the row of a product standard to what every charge must keep."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from logistics.composting import carbon_left
from logistics.model.problem import Feed, Standard, StandardRow
from logistics.scenario import Problem, Row, ScenarioError, choose_from, rows_by

if TYPE_CHECKING:
    import pandas as pd

    from logistics.scenario import Scenario

NAMES = {"n": "nitrogen", "p2o5": "P2O5", "k2o": "K2O"}
SETTING = "product.standard"


def standard_of(scenario: Scenario, table: pd.DataFrame, feed: Feed) -> Standard | None:
    """
    Write the standard that `product.standard` names as rows over charges.

    Parameters
    ----------
    scenario, table
        Settings and standards; feedstocks, see `composting.feedstocks`.
    feed
        The same feedstocks as numbers.

    Returns
    -------
    Standard or None
        None where no standard is asked for.

    Raises
    ------
    ScenarioError
        If there is no such standard, or compost is wetter than it allows.
    """
    product = scenario.settings.product
    if not product.standard:
        return None
    known = rows_by(scenario.standards, "standard")
    if product.standard not in known:
        why = "is not a code in the table standards"
        raise _fault(product.standard, why, choose_from(product.standard, [*known]))
    row = known[product.standard]
    wet, high = scenario.settings.process.product_moisture, row["moisture_high"]
    if high < wet:
        why = (
            f"allows {high * 100:g} % moisture, but process.product_moisture_pct is "
            f"{wet * 100:g}"
        )
        raise _fault(
            product.standard, why, f"Set it to {high * 100:g} or less: dry the compost"
        )
    name, rows = str(row["name"]), _rows(row, table, feed)
    return Standard(product.standard, name, tuple(rows))


def _fault(code: str, why: str, remedy: str) -> ScenarioError:
    place = ("scenario.toml", None, SETTING, code)
    return ScenarioError([Problem(*place, why, remedy)])


def _rows(row: Row, table: pd.DataFrame, feed: Feed) -> Iterator[StandardRow]:
    """
    Yield the limits of a standard that are not blank.

    Of a wet tonne, with carbon c left in its compost, nutrients kept k, dry compost d::

        c <= high * n,  low * n <= c,  k >= low * d,  c >= low * d

    Nitrogen is kept on a line, and never more than there is (`nitrogen_bounds`), so
    each limit that asks for enough of it is two rows.
    """
    known, of = feed.kept, str(row["name"])
    carbon = carbon_left(table)
    compost = feed.dry * (1 - feed.dry_matter_loss)
    line, whole = feed.nitrogen_kept
    fewest = [line] if np.array_equal(line, whole) else [line, whole]
    if np.isfinite(high := row["cn_high"]):
        for end, n in enumerate(fewest):
            words = f"carbon beyond C:N {high:g} ({of})"
            yield StandardRow(f"cn_high_{end}", "most", words, carbon - high * n)
    if np.isfinite(low := row["cn_low"]):
        words = f"carbon for C:N {low:g} ({of})"
        yield StandardRow("cn_low", "least", words, low * line - carbon)
    for key, name in NAMES.items():
        if np.isfinite(low := row[f"{key}_low"]):
            words = f"{name} of {low * 100:g} % ({of})"
            for end, kept in enumerate(fewest if key == "n" else [known[key]]):
                each = low * compost - kept
                yield StandardRow(f"{key}_low_{end}", "least", words, each)
    if np.isfinite(low := row["npk_low"]):
        words = f"N + P2O5 + K2O of {low * 100:g} % ({of})"
        for end, n in enumerate(fewest):
            together = n + known["p2o5"] + known["k2o"]
            each = low * compost - together
            yield StandardRow(f"npk_low_{end}", "least", words, each)
    if np.isfinite(low := row["carbon_low"]):
        words = f"organic carbon of {low * 100:g} % ({of})"
        yield StandardRow("carbon_low", "least", words, low * compost - carbon)
