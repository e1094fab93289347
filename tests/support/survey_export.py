"""Made-up answers to an XLSForm, exported as the usual servers of forms do."""

import csv
import random
from dataclasses import dataclass, field

import openpyxl

STYLES = ("slash", "slash_split", "dash")
"""Group names with / and one cell for several choices, or a column each; with -."""


@dataclass
class Answered:
    """Answers of each visit, and of each entry of a repeated group."""

    survey: list
    choices: dict
    visits: list = field(default_factory=list)
    entries: dict = field(default_factory=dict)


def form_of(path):
    """Rows of the sheet `survey`, and the choices by list."""
    book = openpyxl.load_workbook(path)
    head, *rows = book["survey"].iter_rows(values_only=True)
    survey = [dict(zip(head, row, strict=True)) for row in rows]
    choices = {}
    for name, code, _ in book["choices"].iter_rows(min_row=2, values_only=True):
        choices.setdefault(name, []).append(code)
    return survey, choices


def answered(path, seed=1, visits=3, each=2):
    """Answer a form at random within its limits; what is not relevant stays blank."""
    survey, choices = form_of(path)
    draw = random.Random(seed)
    made = Answered(survey, choices)
    repeats = [line["name"] for line in survey if line["type"] == "begin_repeat"]
    used = {name: iter(draw.sample(v, len(v))) for name, v in choices.items()}
    for number in range(visits):
        visit = {}
        made.visits.append(visit)
        for line, path_ in _questions(survey, ""):
            visit[path_] = _answer(line, visit, choices, draw, used, repeats)
        for repeat in repeats:
            for _ in range(each):
                entry = {}
                made.entries.setdefault(repeat, []).append((number, entry))
                for line, path_ in _questions(survey, repeat):
                    entry[path_] = _answer(line, entry, choices, draw, used, repeats)
    return made


def _questions(survey, repeat):
    """Yield the questions in one repeated group, or outside of all, with their path."""
    groups, inside = [], ""
    for line in survey:
        kind = line["type"]
        if kind in ("begin_repeat", "begin_group"):
            groups.append(line["name"])
            inside = line["name"] if kind == "begin_repeat" else inside
        elif kind in ("end_repeat", "end_group"):
            groups.pop()
            inside = "" if kind == "end_repeat" else inside
        elif inside == repeat and kind != "note":
            yield line, (*groups, line["name"])


def _answer(line, so_far, choices, draw, used, repeats):
    kind, _, name = line["type"].partition(" ")
    if line["relevant"]:
        other, wanted = line["relevant"].removeprefix("../").split(" = ")
        told = next(v for p, v in so_far.items() if p[-1] == other)
        told = " ".join(told) if isinstance(told, tuple) else told
        if told != wanted.strip("'"):
            return ""
    if line["name"] == "here":
        return tuple(repeats)
    if kind == "select_multiple":
        must = line["required"] or draw.random() < 0.5
        return tuple(sorted(draw.sample(choices[name], 3))) if must else ()
    if kind == "select_one":
        return next(used[name]) if name == "road" else draw.choice(choices[name])
    if kind in ("decimal", "integer"):
        limits = line["constraint"]
        low, high = (
            (float(t.split()[-1]) for t in limits.split(" and ")) if limits else (0, 90)
        )
        return round(draw.uniform(low, min(high, low + 24)), 3)
    if kind == "geopoint":
        return (
            round(draw.uniform(-1.2, -0.8), 6),
            round(draw.uniform(-31.2, -30.7), 6),
            12.0,
            4.5,
        )
    if kind == "image":
        return f"{draw.randrange(10**12)}.jpg"
    if kind == "calculate":
        return line["calculation"].strip("'")
    if kind == "today":
        return "2027-02-03"
    return f'{line["name"]} "{draw.randrange(10**6)}", é & ={draw.randrange(99)}'


def written(made, folder, style):
    """Write the answers as an export; return its files."""
    join = "-" if style == "dash" else "/"
    sheets = {"survey": []}
    for number, visit in enumerate(made.visits):
        keys = {"_id": 5000 + number, "_uuid": f"u{number}", "_index": number + 1}
        keys = {"KEY": f"uuid:{number}"} if style == "dash" else keys
        sheets["survey"].append(_cells(visit, made, join, style) | keys)
    for repeat, entries in made.entries.items():
        for place, (number, entry) in enumerate(entries):
            if style == "dash":
                entry = {path[1:]: v for path, v in entry.items()}
                keys = {
                    "PARENT_KEY": f"uuid:{number}",
                    "KEY": f"uuid:{number}/{repeat}[{place}]",
                }
            else:
                keys = {
                    "_index": place + 1,
                    "_parent_table_name": "survey",
                    "_parent_index": number + 1,
                    "_submission__id": 5000 + number,
                    "_submission__uuid": f"u{number}",
                }
            sheets.setdefault(repeat, []).append(
                _cells(entry, made, join, style) | keys
            )
    if style == "dash":
        return [_csv(folder / _file(name), rows) for name, rows in sheets.items()]
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        heads = list(dict.fromkeys(h for row in rows for h in row))
        sheet.append(heads)
        for down, row in enumerate(rows, start=2):
            for place, head in enumerate(heads, start=1):
                cell = sheet.cell(down, place, row.get(head))
                if isinstance(cell.value, str):
                    cell.data_type = "s"  # never a formula
    book.save(folder / "survey.xlsx")
    return [folder / "survey.xlsx"]


def _file(name):
    return "survey.csv" if name == "survey" else f"survey-{name}.csv"


def _csv(path, rows):
    heads = list(dict.fromkeys(h for row in rows for h in row))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, heads, restval="")
        writer.writeheader()
        writer.writerows(rows)
    return path


def _cells(answers, made, join, style):
    lists = {line["name"]: line["type"].partition(" ")[2] for line in made.survey}
    cells = {}
    for path, value in answers.items():
        head = join.join(path)
        if isinstance(value, tuple) and lists[path[-1]]:
            if style != "slash_split":
                cells[head] = " ".join(value)
            if style != "dash":
                for code in made.choices[lists[path[-1]]]:
                    cells[f"{head}/{code}"] = int(code in value)
        elif isinstance(value, tuple) and style == "dash":
            for part, number in zip(
                ("Latitude", "Longitude", "Altitude", "Accuracy"), value, strict=True
            ):
                cells[f"{head}-{part}"] = number
        elif isinstance(value, tuple):
            cells[head] = " ".join(map(str, value))
            for part, number in zip(
                ("latitude", "longitude", "altitude", "precision"), value, strict=True
            ):
                cells[join.join((*path[:-1], f"_{path[-1]}_{part}"))] = number
        else:
            cells[head] = value
            if str(value).endswith(".jpg") and style != "dash":
                cells[f"{head}_URL"] = f"https://forms.example.org/{value}"
    return cells
