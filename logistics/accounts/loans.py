"""Loans: what is owed, paid as interest and repaid, year by year."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from logistics.costs import annuity_factor
from logistics.scenario import Problem, Row, ScenarioError, records

FILE = "loans.csv"
ANNUITY, EQUAL = "annuity", "equal"


def loan_table(
    borrowed: float, rate: float, years: int, grace_years: int = 0, kind: str = ANNUITY
) -> pd.DataFrame:
    """
    Lay out a loan.

    Parameters
    ----------
    borrowed
        At the beginning of the first year. [money]
    rate
        Interest on what is owed at the beginning of a year, paid at its end. [1/yr]
    years
        Until all is repaid, years of grace among them.
    grace_years
        Years, from the first, in which interest alone is paid; fewer than `years`.
    kind
        "annuity": interest and what is repaid come to the same every year.
        "equal": the same is repaid every year.

    Returns
    -------
    DataFrame
        One row a year from 1: year, opening (owed at its beginning), interest, repaid,
        closing [money].

    Examples
    --------
    >>> print(loan_table(900.0, 0.10, 3, kind="equal").to_string(index=False))
     year  opening  interest  repaid  closing
        1    900.0      90.0   300.0    600.0
        2    600.0      60.0   300.0    300.0
        3    300.0      30.0   300.0      0.0
    """
    if not 0 <= grace_years < years:
        message = f"grace of {grace_years} years in a loan of {years}: it must be less"
        raise ValueError(message)
    left = years - grace_years
    paid = borrowed * float(annuity_factor(rate, left))
    rows, owed = list[tuple[int, float, float, float, float]](), borrowed
    for year in range(1, years + 1):
        interest = owed * rate
        repaid = borrowed / left if kind == EQUAL else paid - interest
        if year <= grace_years:
            repaid = 0.0
        elif year == years:
            repaid = owed
        rows.append((year, owed, interest, repaid, owed - repaid))
        owed -= repaid
    columns = ["year", "opening", "interest", "repaid", "closing"]
    return pd.DataFrame(rows, columns=columns)


def with_loans(
    years: Sequence[int], capital: Sequence[float], loans: pd.DataFrame
) -> pd.DataFrame:
    """
    Borrow a share of each year's capital, and pay it back.

    Parameters
    ----------
    years
        One after the other.
    capital
        What is spent at the beginning of each. [money]
    loans
        Table loans of the scenario; each year's borrowing is a loan of its own.

    Returns
    -------
    DataFrame
        year, borrowed (at its beginning), interest, repaid, debt (these at its end;
        debt after the last year is still to be paid) [money].

    Raises
    ------
    ScenarioError
        If a loan cannot be laid out, or more than the capital would be borrowed.
    """
    lines = records(loans)
    _check(lines, years)
    count = len(years)
    borrowed, interest, repaid, debt = np.zeros((4, count))
    for line in lines:
        low, high = _span(line, years)
        for at in range(count):
            drawn = float(capital[at]) * float(line["share"])
            if not low <= years[at] <= high or not drawn:
                continue
            grace, term = int(line["grace_years"]), int(line["years"])
            table = loan_table(drawn, float(line["rate"]), term, grace, line["kind"])
            seen = table.head(count - at)
            until = at + len(seen)
            borrowed[at] += drawn
            interest[at:until] += seen["interest"]
            repaid[at:until] += seen["repaid"]
            debt[at:until] += seen["closing"]
    return pd.DataFrame(
        {
            "year": list(years),
            "borrowed": borrowed,
            "interest": interest,
            "repaid": repaid,
            "debt": debt,
        }
    )


def _span(line: Row, years: Sequence[int]) -> tuple[int, int]:
    """First and last year in which a loan is taken."""
    low, high = str(line["from_year"] or ""), str(line["until_year"] or "")
    return int(low or years[0]), int(high or years[-1])


def _check(lines: list[Row], years: Sequence[int]) -> None:
    """Refuse loans that cannot be laid out."""
    problems = list[Problem]()
    for row, line in enumerate(lines, start=2):
        for column in ("from_year", "until_year"):
            text = str(line[column] or "")
            if text and not (text.isascii() and text.isdigit()):
                why, remedy = "is not a year", "Write digits such as 2027, or nothing"
                problems.append(Problem(FILE, row, column, text, why, remedy))
        if line["grace_years"] >= line["years"]:
            why = f"leaves no year of the {line['years']} to repay in"
            remedy = "Give fewer years of grace, or more years"
            value = line["grace_years"]
            problems.append(Problem(FILE, row, "grace_years", value, why, remedy))
    if not problems:
        problems = _too_much(lines, years)
    if problems:
        raise ScenarioError(problems)


def _too_much(lines: list[Row], years: Sequence[int]) -> list[Problem]:
    """Find the first year in which more than the capital would be borrowed."""
    for year in years:
        share = 0.0
        for row, line in enumerate(lines, start=2):
            low, high = _span(line, years)
            if low <= year <= high:
                share += float(line["share"])
            if share > 1 + 1e-9:
                why = f"makes it more than 100 % of the capital of {year}"
                remedy = "Lower the shares, or let the loans be taken in other years"
                value = 100 * float(line["share"])
                return [Problem(FILE, row, "share_pct", value, why, remedy)]
    return []
