"""Questions that a proposal leaves open, in words, with what may be answered."""

from __future__ import annotations

from dataclasses import dataclass

from logistics.bringing.body import Body
from logistics.bringing.complete import columns_by_name
from logistics.bringing.headings import PLACED
from logistics.bringing.standing import Surroundings
from logistics.scenario import in_list

TOLD = {
    "load_t": "How many tonnes does one truck or load carry?",
    "bag_kg": "How many kg does one bag or sack hold?",
    "quintal_kg": "How many kg is one quintal? (100 if metric, 46 in Central America)",
    "area_m2": "How many m2 is one of these units of land?",
    "gallon_l": "How many litres is one gallon? (3.785 US, 4.546 imperial)",
    "crs": "In which system are these metres? (as in EPSG:32736)",
    "near": "Near which place are the short plus codes? (latitude, longitude)",
    "swapped": "Are longitude and latitude swapped? (yes or no)",
    "encoding": "Which encoding has the file? (as in cp1252 or cp1256)",
}


@dataclass(frozen=True)
class Question:
    """
    A question.

    Attributes
    ----------
    label, key
        Sheet and place in its recipe; joined by a colon they are what `--answer` takes.
    text
        The question.
    choices
        Answers to choose from; empty if any may do.
    """

    label: str
    key: str
    text: str
    choices: tuple[str, ...] = ()

    @property
    def place(self) -> str:
        """What `--answer` takes before the sign `=`."""
        return f"{self.label}:{self.key}"


def question_of(body: Body, key: str, standing: Surroundings, label: str) -> Question:
    """Put what is asked at a key of a recipe into words; `label` names the sheet."""
    recipe = body.recipe
    head, _, rest = key.partition(".")
    if head == "table":
        return Question(label, key, f"Which table is {body.sheet.label}? {recipe.why}",
                        (*PLACED, "none"))  # fmt: skip
    if head == "told":
        return Question(label, key, TOLD.get(rest, f"What is {rest}?"))
    if head == "columns":
        return _of_column(body, key, rest, label)
    specs = columns_by_name(recipe.table)
    name = rest.partition(".")[0] if head == "words" else rest
    spec = specs[name]
    choices = spec.choices
    if spec.refers_to:
        choices = tuple(standing.codes(spec.refers_to))
    if spec.kind == "yes_no":
        choices = ("yes", "no")
    if head == "words":
        text = f"Which {name} is {rest.partition('.')[2]!r}?"
        return Question(label, key, text, choices)
    unit = f" [{spec.unit}]" if spec.unit.strip() else ""
    meant = f"{spec.meaning}{unit}"
    text = f"No file gives {name}. Which one for all rows of {label}? {meant}"
    return Question(label, key, text, choices)


def _of_column(body: Body, key: str, rest: str, label: str) -> Question:
    name, _, part = rest.rpartition(".")
    column = body.recipe.column(name)
    why = column.why if column else ""
    if part == "heading":
        heads = body.headings.texts
        named = tuple(h for h in heads if h and h in why) or heads
        return Question(label, key, f"Which column is {name}? {why}", named)
    if part == "decimal":
        text = f"Is the decimal sign of {name} a point or a comma? {why}"
        return Question(label, key, text, (".", ","))
    spec = columns_by_name(body.recipe.table).get(name)
    if spec is not None and spec.kind == "percent":
        return Question(label, key, f"Is {name} in % or a share? {why}", ("%", "share"))
    heading = column.heading if column else name
    some = in_list(["t", "kg", "t/week", "bags of 50 kg", "ha"])
    text = f"In which unit is {heading!r}? Such as {some}. {why[:1].upper()}{why[1:]}"
    return Question(label, key, text)
