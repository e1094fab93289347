"""Tables of the terminal: nothing is cut, however long a name and narrow a window."""

from io import StringIO

import pytest
from rich.console import Console
from rich.table import Table

from maps.shared import print_table, text_console

LONG = "Südliche Genossenschaft, Halle 3, alte Mühlstraße 14"
WORD = "Abfallbehandlungsanlagenbetriebsgesellschaft"
TITLE = "scale_price:percent=-20,market=gemüse_hinter_der_brücke"


def printed(rows, width, heads=("Name", "Cost a year", "Tonnes", "Closed")):
    """Lines of a table of names, two numbers and names again."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for place, head in enumerate(heads):
        table.add_column(head, justify="right" if place in (1, 2) else "left")
    for row in rows:
        table.add_row(*row)
    stream = StringIO()
    print_table(Console(file=stream, width=width), table)
    return stream.getvalue().splitlines()


ROWS = [
    (LONG, "1,234,567,890", "12,345", LONG),
    (WORD, "-483", "7", ""),
    (TITLE, "5, as good as equal", "8", WORD),
]


@pytest.mark.parametrize("width", [100, 80, 60, 40, 30])
def test_no_name_and_no_number_is_cut(width):
    """Every word of every cell is there, and no line is wider than the window."""
    lines = printed(ROWS, width)
    assert max(map(len, lines)) <= width
    text = " ".join(" ".join(lines).split())
    assert "…" not in text
    joined = text.replace(" ", "")
    for row in ROWS:
        for cell in row[:3]:
            for word in cell.split():
                assert word in joined


@pytest.mark.parametrize("width", [80, 60])
def test_names_stand_whole_on_lines_of_their_own(width):
    lines = printed(ROWS, width)
    for name, *_ in ROWS:
        assert name in lines
    assert lines[lines.index(LONG) + 1].split() == ["1,234,567,890", "12,345"]


def test_numbers_stand_below_their_headings():
    """Last signs of heading and numbers are in one column."""
    lines = printed(ROWS[:2], 80)
    heading = next(line for line in lines if "Tonnes" in line)
    for number in ("12,345", " 7"):
        line = next(line for line in lines if line.endswith(number))
        assert len(line) == len(heading)


def test_short_names_make_a_plain_table():
    lines = printed([("Mill", "5", "7", "Pier")], 80)
    assert [line.split() for line in lines] == [
        ["Name", "Cost", "a", "year", "Tonnes", "Closed"],
        ["Mill", "5", "7", "Pier"],
    ]


def test_many_figures_stand_below_each_other():
    lines = printed([(LONG, "1,234,567,890,123", "12,345,678", "")], 30)
    assert "  Cost a year:" in lines
    assert any(line.strip() == "Tonnes: 12,345,678" for line in lines)


@pytest.mark.parametrize("width", [100, 30])
@pytest.mark.parametrize("name", ["Depot [link=x]of[/link] the council", "[/b] mill"])
def test_a_name_that_looks_like_markup_is_printed_as_it_is(name, width):
    """In the table side by side and in the stacked one, as heading and as cell."""
    lines = printed([(name, "1", "2", name)], width, heads=(name, "A", "B", "C"))
    text = "".join("".join(lines).split())
    assert text.count(name.replace(" ", "")) == 3
    assert not any("\x1b" in line for line in lines)


def test_a_text_console_prints_markup_as_it_is(capsys):
    text_console().print("Closed: [red]mill[/red]", highlight=False)
    assert capsys.readouterr().out == "Closed: [red]mill[/red]\n"
