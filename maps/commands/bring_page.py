"""What `bring` prints of tables: the proposal, what is asked, what is wrong."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import typer
from rich.table import Table

from maps.bringing import MOST_LINES
from maps.shared import clean, print_table, text_console

if TYPE_CHECKING:
    from logistics.bringing import Body, Proposal
    from maps.bringing import Bringing


def ready(bringing: Bringing, proposal: Proposal) -> bool:
    """Whether nothing is asked and nothing is wrong; says what is."""
    from logistics.scenario import ScenarioError

    if proposal.questions:
        many = len(proposal.questions)
        typer.echo(
            f"{many} question{'' if many == 1 else 's'} to answer first: in "
            f"{bringing.recipe}, where a ? stands, or with --answer."
        )
        return False
    if proposal.faults:
        typer.echo(str(ScenarioError(proposal.faults)), err=True)
        return False
    return True


def show(bringing: Bringing, proposal: Proposal) -> None:
    """Print the proposal."""
    for body in proposal.bodies:
        _show_sheet(body)
    for question in proposal.questions:
        typer.echo(f"? {clean(question.place)}\n    {clean(question.text)}")
        if question.choices:
            from logistics.scenario import in_list

            typer.echo(f"    One of: {clean(in_list(question.choices))}")
    for warning in _first([*proposal.warnings]):
        typer.echo(f"Warning: {clean(warning)}")
    for line in bringing.changes(proposal):
        typer.echo(clean(line))


def _first(texts: Sequence[object]) -> list[str]:
    shown = [str(text) for text in texts[:MOST_LINES]]
    more = len(texts) - len(shown)
    return [*shown, f"{more} more of the kind"] if more > 0 else shown


def _show_sheet(body: Body) -> None:
    """Print one sheet: what it is taken for, its columns, and what is left out."""
    from logistics.scenario import in_list

    recipe, sheet = body.recipe, body.sheet
    if not recipe.table:
        typer.echo(
            clean(f"{sheet.label}: left out, because {recipe.why or 'so told'}.")
        )
        return
    table = "which table is asked" if recipe.table == "?" else f"table {recipe.table}"
    heads = in_list(map(str, recipe.heading_rows))
    rows = "" if sheet.layer else f", headings in row {heads}"
    typer.echo(
        clean(f"{sheet.label}: {table} ({recipe.confidence}: {recipe.why}){rows}, "
              f"{len(body.rows):,} rows.")
    )  # fmt: skip
    for said in sheet.said:
        typer.echo(clean(f"  It {said}."))
    if recipe.table == "?":
        return
    if recipe.columns:
        _show_columns(body)
    for name in ("values", "told"):
        for key, value in getattr(recipe, name).items():
            typer.echo(clean(f"  {key} = {value}"))
    for ours, words in recipe.words.items():
        pairs = in_list(f"{word!r} is {meant}" for word, meant in words.items())
        typer.echo(clean(f"  {ours}: {pairs}"))
    if body.unused:
        typer.echo(clean(f"  Columns left out: {in_list(body.unused)}."))
    for line in _first([f"Row {row} left out: {why}" for row, why in body.left]):
        typer.echo(clean(f"  {line}."))
    typer.echo("")


def _show_columns(body: Body) -> None:
    table = Table(box=None)
    for head in ("column", "from", "unit", "first cell", "sure?", "because"):
        table.add_column(head)
    for column in body.recipe.columns:
        first = next((text for _, text in body.texts(column.ours)), "")
        unit = {"ours": ""}.get(column.unit, column.unit)
        cells = (column.ours, column.heading, unit, first[:30], column.confidence,
                 column.why)  # fmt: skip
        table.add_row(*map(clean, cells))
    print_table(text_console(), table)
