"""Every number of a report, with what it claims to come from, and whether it does."""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

from maps.shared.figures import MINUS

VOID = {"meta", "path", "rect", "circle", "br", "line", "polyline", "ellipse", "use"}
DIGITS = re.compile(r"\d")
NUMBER = re.compile(rf"[{MINUS}-]?\d[\d,]*(?:\.\d+)?")
NO_FIGURE = {
    "chemical formula": r"\b(?:CO2e?|co2e|CH4|N2O|P2O5|K2O)\b",
    "name of a setting": r"\b[a-z]+\.[a-z_]*\d?[a-z_]*\d?[a-z_]*\b",
}
"""What has digits and is no figure: the kind, and how to know it."""


@dataclass
class Numbers(HTMLParser):
    """The numbers of a page by where they stand."""

    page: str
    marked: list = field(default_factory=list)
    tables: list = field(default_factory=list)
    unnamed: list = field(default_factory=list)
    loose: list = field(default_factory=list)
    plain: list = field(default_factory=list)

    def __post_init__(self):
        super().__init__()
        self.stack = []
        self.feed(self.page)

    def handle_starttag(self, tag, attrs):
        if tag not in VOID:
            self.stack.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        while self.stack.pop()[0] != tag:
            pass

    def handle_startendtag(self, tag, attrs):
        """Leave out what has neither text nor end."""

    def handle_data(self, data):
        tags = [tag for tag, _ in self.stack]
        if not DIGITS.search(data) or "style" in tags:
            return
        attrs = {key: value for _, each in self.stack for key, value in each.items()}
        if "data-from" in attrs:
            self.marked.append((attrs["data-from"], data))
        elif "data-rows" in attrs:
            (self.tables if attrs["data-rows"] else self.unnamed).append(
                (attrs["data-rows"], data)
            )
        elif kind := self._kind(tags, attrs, data):
            self.plain.append((kind, data))
        else:
            self.loose.append(data.strip())

    def _kind(self, tags, attrs, data):
        """Say why a text with digits holds no figure; blank if it may."""
        if (
            "title" in tags
            or "h1" in tags
            or "bdi" in tags
            or "story" in attrs.values()
        ):
            return "a name"
        if tags[-1] == "span" and tags[-2] == "h2":
            return "number of a section"
        if tags[-1] == "a" and data.strip().startswith("section "):
            return "number of a section"
        for kind, pattern in NO_FIGURE.items():
            data = re.sub(pattern, "", data)
            if not DIGITS.search(data):
                return kind
        return ""


def first_number(text):
    """First number of a text, and one unit of its last decimal."""
    found = NUMBER.search(text.replace("\N{NO-BREAK SPACE}", " "))
    digits = found.group().replace(",", "").replace(MINUS, "-")
    decimals = len(digits.partition(".")[2])
    return float(digits), 10.0**-decimals


SCALE = {"thousand": 1e3, "million": 1e6, "billion": 1e9}


def says(text, value):
    """Whether a text gives a value, rounded; a surplus or saving may lose its sign."""
    number, unit = first_number(text)
    factor = next((SCALE[w] for w in SCALE if w in text), 1.0)
    number, unit = number * factor, unit * factor
    return min(abs(number - value), abs(number + value)) <= unit * (1 + 1e-6)


def wrong(numbers, lineage, tables):
    """Marked numbers whose recomputation from the tables gives another number."""
    found = []
    for code, text in numbers.marked:
        family, _, key = code.partition("/")
        if family == "words":
            if not _stands_in(text, tables[key]):
                found.append((code, text, "stands in no cell"))
        elif family == "rows":
            rows = len(tables[key])
            if first_number(text)[0] > rows:
                found.append((code, text, f"{rows} rows"))
        elif not says(text, lineage[code].formula.value(tables)):
            found.append((code, text, lineage[code].formula.value(tables)))
    return found


def _stands_in(text, table):
    """Whether every word of a text stands in one row of a table."""
    wanted = re.findall(r"\w+", text.replace("₂", "2").replace("₅", "5"))
    wanted = wanted[:-1] if text.endswith("…") else wanted
    for row in (
        table.astype(object)
        .where(table.notna(), "")
        .astype(str)
        .itertuples(index=False)
    ):
        if set(wanted) <= set(re.findall(r"\w+", " ".join(row))):
            return True
    return False


__all__ = ["Numbers", "says", "wrong"]
