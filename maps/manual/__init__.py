"""The manual: pages in Markdown beside this file, made into one page to search."""

from maps.manual.page import manual_html
from maps.manual.pages import Page, read_pages
from maps.manual.reference import Command, Option

__all__ = ["Command", "Option", "Page", "manual_html", "read_pages"]
