"""Pages read back: elements, tables as cells, numbers in them, contrast."""

import re
from decimal import Decimal
from html.parser import HTMLParser

from maps.shared.figures import MINUS

VOID = {"meta", "path", "rect", "circle", "br"}
NUMBER = re.compile(rf"[{MINUS}]?[\d,]+(\.\d+)?$")


class Page(HTMLParser):
    """Elements with attributes, the text, and every table as cells."""

    def __init__(self, text):
        super().__init__()
        self.elements, self.tables, self.open = [], [], []
        self.text, self.style, self.part = "", "", ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        self.elements.append((tag, attrs))
        if tag not in VOID:
            self.open.append(tag)
        if tag == "table":
            self.tables.append({"caption": "", "kind": attrs["class"], "thead": []})
            self.tables[-1] |= {"tbody": [], "tfoot": []}
        elif tag in ("thead", "tbody", "tfoot"):
            self.part = tag
        elif tag == "tr":
            self.tables[-1][self.part].append([])
        elif tag in ("th", "td"):
            self.tables[-1][self.part][-1].append("")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag, f"</{tag}> closes something else"

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data):
        if "style" in self.open:
            self.style += data
            return
        self.text += data
        if "caption" in self.open:
            self.tables[-1]["caption"] += data
        elif "th" in self.open or "td" in self.open:
            self.tables[-1][self.part][-1][-1] += data

    def table(self, start):
        return next(t for t in self.tables if t["caption"].strip().startswith(start))


def value(text):
    """Turn a cell into a number; None if it is none."""
    text = text.strip()
    if not NUMBER.match(text):
        return None
    return Decimal(text.replace(",", "").replace(MINUS, "-"))


def luminance(colour):
    """Relative luminance (WCAG 2.2)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
