"""
A grammar of hostile and careless districts: tables, settings, changes and commands.

A district begins as the small one of the tests, cut to a few rows and periods; then
cells, rows, settings and whole tables are put at the edges of what `columns.csv`
allows, and at times beyond. A case is plain text, so that a find can be kept as a file.
"""

from __future__ import annotations

import csv
import io
import json
from dataclasses import asdict, dataclass
from pathlib import Path

from hypothesis import strategies as st
from support.places import SMALL

from logistics.changes.registry import CHANGES
from logistics.scenario.schema import Column, columns_of, tables

Row = dict[str, str]

NAMES = (
    "[/x]", "[bold red]mill", "=1+1", "@sum", "CON", "nul", "a\u202eb", "é" * 40,
    "x" * 3000, "{{ 7 * 7 }}", "<script>alert(1)</script>", "'; --", '"', "%s %d {0}",
    "\u200b", "مطحنة", "粉碎", "&amp;", "-", "0", "nan", "None", "../../up", "C:\\x",
)  # fmt: skip
"""Names and titles as nobody should write them."""
WILD = ("", " ", "nan", "inf", "-inf", "1e308", "-1", "1e-300", "0x10", "7.5k", "1_000",
        "x", "½", "9" * 400, "=A1", "1,5", "−3", "yes", "all")  # fmt: skip
"""Values of cells that mostly are faults."""
POINTS = ((-30.5, 0.5), (-30.5, 0.5), (-30.48, 0.5), (-30.55, 0.42), (-30.4, 0.55),
          (-30.0, 1.0), (-31.0, 0.0), (-30.500001, 0.5))  # fmt: skip
"""Where things may stand: some at one place, some at the edge of the district."""
LINES = ("LINESTRING (-30.6 0.5, -30.4 0.5)", "LINESTRING (-30.5 0.4, -30.5 0.6)",
         "LINESTRING (-30.5 0.5, -30.5 0.5)", "LINESTRING (-30.55 0.42, -30.5 0.5)",
         "LINESTRING EMPTY", "POINT (-30.5 0.5)")  # fmt: skip
SHAPES = ("POLYGON ((-31 0, -30 0, -30 1, -31 1, -31 0))", "POINT (-30.5 0.5)",
          "POLYGON ((-30.6 0.4, -30.4 0.6, -30.4 0.4, -30.6 0.6, -30.6 0.4))",
          "LINESTRING (-30.6 0.5, -30.4 0.5)", "POLYGON EMPTY",
          "POLYGON ((-30.5 0.5, -30.49 0.5, -30.49 0.51, -30.5 0.5))")  # fmt: skip
MANY = {"sources": 4, "markets": 2, "yards": 3, "yard_sizes": 2, "trucks": 2}
OPTIONAL = tuple(
    name for name in tables() if name not in {*MANY, "materials", "calendar", "periods"}
)
SETTINGS = tuple(
    column
    for column in columns_of("settings")
    if not column.name.startswith(("solve.", "district.", "map.", "currency", "name"))
)
COMMANDS = (
    ("compare",), ("compare", "--map"), ("frontier", "--points", "2"),
    ("frontier", "--points", "2", "--against", "people"), ("robust",),
    ("stress", "--draws", "1", "--workers", "1"), ("shares",), ("changes",),
    ("rounds", "--period", "m1", "--iterations", "10"), ("sites", "--spacing", "30"),
    ("rounds", "--feedback", "1", "--iterations", "10", "--period", "m1"),
    ("why", "reef"), ("why", "farms"), ("why", "pier"), ("alternatives", "--most", "2"),
    ("sheets", "--period", "m1"), ("export",), ("export", "--to", "xlsx"),
    ("export", "--to", "kml"), ("export", "--to", "csv"), ("form",),
    ("plan", "--coarsen", "--estimate"), ("plan", "--goal", "co2e", "--estimate"),
    ("plan", "--goal", "uncollected", "--estimate"), ("plan", "--ranges"),
)  # fmt: skip
"""What may follow the plan; the folder goes behind the command's name."""
TIMED = {"plan", "compare", "frontier", "robust", "stress", "shares", "rounds", "why",
         "alternatives", "sheets"}  # fmt: skip


@dataclass(frozen=True)
class Case:
    """
    Files of a district by name, and the commands to run on it.

    Attributes
    ----------
    files
        Name of the file -> its text.
    runs
        Words after `loamhaul`, where `DIR` stands for the folder.
    """

    files: dict[str, str]
    runs: list[list[str]]

    def lay(self, folder: Path) -> Path:
        """Write the district into a new folder."""
        folder.mkdir(parents=True)
        for name, text in self.files.items():
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_text(text, encoding="utf-8", newline="")
        return folder

    def text(self) -> str:
        """Return the case as the text of a file."""
        return json.dumps(asdict(self), indent=1, ensure_ascii=True) + "\n"


def read_case(path: Path) -> Case:
    """Read a case that was kept."""
    return Case(**json.loads(path.read_text(encoding="utf-8")))


def _small(table: str) -> list[Row]:
    with (SMALL / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _csv(rows: list[Row], table: str) -> str:
    made = io.StringIO()
    names = list(dict.fromkeys(name for row in rows for name in row))
    names = names or [column.name for column in columns_of(table)]
    writer = csv.DictWriter(made, names, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return made.getvalue()


def _number(column: Column) -> st.SearchStrategy[str]:
    """Ends of the range, near them, tiny, ordinary, and now and then outside."""
    low = -1e6 if column.low is None else column.low
    high = 1e6 if column.high is None else column.high
    edge = [low, low, high, low + 1e-9, min(1.0, high), (low + high) / 2]
    edge += [max(low, min(high, v)) for v in (0.0, 1e-6, 0.5, 10, 100, 5000)]
    if column.default:
        edge.append(float(column.default))
    whole = column.kind == "integer"
    texts = [f"{v:.0f}" if whole else f"{v:.12g}" for v in edge]
    return st.integers(0, 49).flatmap(
        lambda dice: st.sampled_from(texts if dice else [f"{high + 1:.12g}"])
    )


def value(column: Column, codes: dict[str, list[str]]) -> st.SearchStrategy[str]:
    """Draw a value of a column, mostly one that it allows."""
    known = codes.get(column.refers_to or column.name + "s", [])
    kinds = {
        "lon": st.sampled_from([f"{x}" for x, _ in POINTS]),
        "lat": st.sampled_from([f"{y}" for _, y in POINTS]),
        "line": st.sampled_from(LINES),
        "shape": st.sampled_from(SHAPES),
        "yes_no": st.sampled_from(["yes", "no"]),
        "choice": st.sampled_from(column.choices or ("",)),
        "text": st.sampled_from(NAMES),
        "code": st.sampled_from([*known, "own", "m1"]),
        "list": st.sampled_from(["all", "", *known, ";".join(known)]),
    }
    usual = kinds[column.kind] if column.kind in kinds else _number(column)
    return st.integers(0, 49).flatmap(
        lambda dice: st.sampled_from(WILD) if dice == 0 else usual
    )


def _periods(draw: st.DrawFn) -> dict[str, list[Row]]:
    count = draw(st.sampled_from([1, 2, 3, 4, 4]))
    days = [365 // count] * count
    days[-1] += 365 - sum(days)
    periods = [
        {"period": f"m{k + 1}", "name": f"Part {k + 1}", "days": str(n),
         "working_days": str(draw(st.sampled_from([n, n * 6 // 7, n * 5 // 7, 1]))),
         "season_speed_pct": draw(st.sampled_from(["100", "100", "70", "10"]))}
        for k, n in enumerate(days)
    ]  # fmt: skip
    first = ["100"] + ["0"] * (count - 1)
    even = [f"{100 / count:.10f}"] * count
    calendar = [
        {"season": season, "period": f"m{k + 1}", "share_pct": share}
        for season in ("milling", "landing", "even", "planting")
        for k, share in enumerate(
            draw(st.sampled_from([even, even, first, first[::-1]]))
        )
    ]
    if draw(st.integers(0, 29)) == 0:
        calendar.pop(draw(st.integers(0, len(calendar) - 1)))
    return {"periods": periods, "calendar": calendar}


def _rows(draw: st.DrawFn, made: dict[str, list[Row]]) -> None:
    """Take some of the small district's rows, scaled and moved."""
    for table, most in MANY.items():
        least = 0 if draw(st.integers(0, 59)) == 0 else 1
        rows = [dict(row) for row in _small(table)]
        made[table] = rows[: draw(st.integers(least, most))]
        if draw(st.booleans()):
            made[table] = rows[::-1][: len(made[table])]
    sizes = {row["size"] for row in made["yard_sizes"]}
    for row in made["yards"]:
        if row["existing_size"] not in sizes:
            row["existing_size"] = ""
    size = draw(st.sampled_from([1.0, 1.0, 1.0, 1e-9, 1e-4, 0.01, 10.0, 1000.0]))
    for row in (*made["sources"], *made["markets"]):
        row["amount"] = f"{float(row['amount']) * size:.12g}"
    if draw(st.integers(0, 4)) == 0:
        x, y = draw(st.sampled_from(POINTS))
        for row in (*made["sources"], *made["yards"], *made["markets"]):
            row["lon"], row["lat"] = f"{x}", f"{y}"


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """Draw a district with its commands."""
    made = {"materials": [dict(row) for row in _small("materials")]} | _periods(draw)
    _rows(draw, made)
    if draw(st.integers(0, 4)) == 0:
        del made[draw(st.sampled_from(["markets", "periods", "markets"]))]
    codes = {
        t: [row[columns_of(t)[0].name] for row in rows] for t, rows in made.items()
    }
    codes["calendar"] = ["milling", "even"]
    none: st.SearchStrategy[list[str]] = st.just([])
    some = st.lists(st.sampled_from(OPTIONAL), max_size=2, unique=True)
    for table in draw(st.sampled_from([none, none, some]).flatmap(lambda drawn: drawn)):
        made[table] = [
            {c.name: draw(value(c, codes)) for c in columns_of(table)
             if c.required or draw(st.booleans())}
            for _ in range(draw(st.integers(1, 3)))
        ]  # fmt: skip
        key = columns_of(table)[0]
        for k, row in enumerate(made[table]):
            if key.key and key.kind == "code" and not key.refers_to:
                row[key.name] = f"k{k}"
    for _ in range(draw(st.sampled_from([0, 0, 0, 1, 1, 2, 4]))):
        table = draw(st.sampled_from(sorted(made)))
        column = draw(st.sampled_from(columns_of(table)))
        if made[table] and not column.key and column.name != "days":
            row = draw(st.sampled_from(made[table]))
            row[column.name] = draw(value(column, codes))
    files = {f"{table}.csv": _csv(rows, table) for table, rows in made.items()}
    files["scenario.toml"] = _settings(draw)
    return Case(files, _runs(draw, codes))


def _settings(draw: st.DrawFn) -> str:
    name = draw(st.sampled_from(["Small"] * 20 + list(NAMES)))
    currency = draw(st.sampled_from(["coin", "coin", "coin", "[/x]", "", "元"]))
    lines = [f"name = {json.dumps(name)}", f"currency = {json.dumps(currency)}"]
    if draw(st.booleans()):
        lines.append("district = {west = -31, south = 0, east = -30, north = 1}")
    lines.append("solve.seconds = 4")
    lines.append(f"solve.gap_pct = {draw(st.sampled_from(['0', '0.5', '5', '50']))}")
    chosen = st.lists(st.sampled_from(SETTINGS), max_size=3, unique=True)
    for column in draw(chosen) if draw(st.integers(0, 2)) == 0 else []:
        text = draw(value(column, {}))
        number = column.kind in {"number", "integer", "percent"}
        lines.append(f"{column.name} = {text if number else json.dumps(text)}")
    return "\n".join(lines) + "\n"


def _change(draw: st.DrawFn, codes: dict[str, list[str]]) -> str:
    from logistics.changes.files import arguments_of, shown

    name = draw(st.sampled_from(sorted(CHANGES)))
    said = []
    for argument, parameter in arguments_of(name).items():
        if parameter.default is not parameter.empty and draw(st.booleans()):
            continue
        word = shown(argument)
        known = codes.get(f"{word}s", [])
        numbers = ["0", "100", "-100", "50", "1e-9", "1e6", "0.5", "-30.5"]
        names = ["m1", "small", "even", "husk", "free", "own"]
        takes = [*known, *known, *known] if known else [*numbers, *numbers, *names]
        said.append(f"{word}={draw(st.sampled_from(takes))}")
    return f"{name}:{','.join(said)}" if said else name


def _runs(draw: st.DrawFn, codes: dict[str, list[str]]) -> list[list[str]]:
    runs = [["check", "DIR"], ["plan", "DIR"]]
    if draw(st.integers(0, 3)):
        runs[1].append("--estimate")
    for words in draw(st.lists(st.sampled_from(COMMANDS), min_size=1, max_size=2)):
        run = [words[0], "DIR", *words[1:]]
        asks = words[0] in TIMED - {"shares"}
        for _ in range(draw(st.integers(0, 2)) if asks else 0):
            run += ["--change", _change(draw, codes)]
        runs.append(run)
    return [[*run, "--seconds", "3"] if run[0] in TIMED else run for run in runs]
