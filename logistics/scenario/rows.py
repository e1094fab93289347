"""Rows of tables as plain dictionaries, where a loop reads better than a column."""

from typing import Any, Protocol, cast

import pandas as pd

Row = dict[str, Any]


class RowLike(Protocol):
    """A row of an input table: gives a column's value for its name."""

    def __getitem__(self, key: str, /) -> Any:
        """Value of a column."""


def records(table: pd.DataFrame) -> list[Row]:
    """Return the rows of a table, each a dictionary by column."""
    return cast("list[Row]", table.to_dict("records"))


def rows_by(table: pd.DataFrame, key: str) -> dict[str, Row]:
    """Return the rows of a table by their code."""
    return {str(row[key]): row for row in records(table)}


def totals(
    table: pd.DataFrame, keys: list[str], value: str = "tonnes"
) -> list[tuple[Any, ...]]:
    """Sum a column over keys, in order of first appearance: (key.., sum) rows."""
    sums = table.groupby(keys, sort=False, as_index=False)[value].sum()
    return [tuple(row) for row in sums[[*keys, value]].itertuples(index=False)]
