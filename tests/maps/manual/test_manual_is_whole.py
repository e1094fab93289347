"""The manual names every command, option, setting and column; its links lead on."""

import re
from html import escape, unescape

import pytest
from support.manual import (
    FOLDER,
    README,
    all_by_hand,
    asked_for,
    commands,
    html,
    options,
)
from support.places import ROOT

from logistics.scenario import columns_of, settings_columns
from logistics.scenario.schema import tables
from maps.manual import read_pages
from maps.manual.page import anchor
from maps.manual.reference import setting_group, with_reference
from maps.outputs import OUTPUTS

LINK = re.compile(r"\]\(([^)\s]+)\)")
README_LINES = 150
PICTURE_BYTES = 250_000
ALL_PICTURES_BYTES = 500_000


def cells(row_of: str) -> list[str]:
    """Rows of the manual's tables that begin with a name."""
    name = re.escape(escape(row_of))
    return re.findall(rf"<td><code>{name}</code></td>\s*<td>(.*?)</td>", html())


def letters(text: str) -> str:
    """Letters and digits of a text or of HTML: what is read, however it is set."""
    return re.sub(r"\W", "", unescape(re.sub(r"<[^>]+>", "", text)))


@pytest.mark.parametrize("command", commands(), ids=lambda c: c.name)
def test_every_command_has_its_place_in_the_manual(command):
    wish = f"command {command.name}"
    assert wish in asked_for(), (
        f"Write a line `{wish}` in a reference block of the page in maps/manual/ "
        "where the command belongs"
    )


@pytest.mark.parametrize("command", commands(), ids=lambda c: c.name)
def test_every_option_is_explained_by_hand(command):
    """The reference has every option by itself; a reader wants to know what for."""
    missing = {name for name in options(command) if name not in all_by_hand()}
    assert not missing, (
        f"Say in a page of maps/manual/ what {', '.join(sorted(missing))} of "
        f"`loamhaul {command.name}` is good for"
    )


@pytest.mark.parametrize("command", commands(), ids=lambda c: c.name)
def test_every_option_is_in_the_page_with_its_help(command):
    for option in command.options:
        assert letters(option.meaning) in letters(" ".join(cells(option.name)))


def test_every_group_of_settings_has_its_place_in_the_manual():
    wishes = [wish.split() for wish in asked_for()]
    placed = {word for kind, *words in wishes if kind == "settings" for word in words}
    missing = {setting_group(name) for name in settings_columns()} - placed
    assert not missing, (
        f"Write a line `settings {' '.join(sorted(missing))}` in a reference block of "
        "the page in maps/manual/ where these settings belong"
    )


@pytest.mark.parametrize("name", settings_columns())
def test_every_setting_is_in_the_page_with_its_meaning(name):
    told = letters(" ".join(cells(name)))
    assert letters(settings_columns()[name].meaning) in told


@pytest.mark.parametrize("table", tables())
def test_every_table_and_column_is_in_the_page(table):
    assert f"table {table}" in asked_for(), (
        f"Write a line `table {table}` in a reference block of a page in maps/manual/"
    )
    for column in columns_of(table):
        told = letters(" ".join(cells(column.name)))
        assert letters(column.meaning) in told, column.name


def test_every_page_is_listed_and_titled():
    names = [page.name for page in read_pages()]
    assert sorted(names) == sorted(path.stem for path in FOLDER.glob("*.md"))
    assert len(names) == len(set(names))
    for page in read_pages():
        assert page.text.startswith("# "), page.name
        assert page.title


def test_a_page_may_only_ask_for_what_there_is():
    for wish in ("settings nothing", "table nothing", "command nothing", "nothing"):
        with pytest.raises((ValueError, KeyError), match="nothing"):
            with_reference(f"```reference\n{wish}\n```", commands())


def headings(text: str) -> set[str]:
    return {anchor(title) for title in re.findall(r"^#+ (.+)$", text, re.MULTILINE)}


def test_links_between_the_files_lead_somewhere():
    for path in (README, *FOLDER.glob("*.md")):
        for link in LINK.findall(path.read_text(encoding="utf-8")):
            assert not link.startswith(("http:", "https:")), link
            file, _, place = link.partition("#")
            target = (path.parent / file).resolve()
            assert target.is_file(), f"{path.name}: {link}"
            if place:
                assert place in headings(target.read_text(encoding="utf-8")), link


def test_links_within_the_page_lead_somewhere():
    page = html()
    places = re.findall(r'\bid="([^"]+)"', page)
    assert len(places) == len(set(places)), "two places have one name"
    links = re.findall(r'\bhref="([^"]*)"', page)
    assert len(links) > 100
    assert {link for link in links if not link.startswith("#")} == set()
    assert {link[1:] for link in links} <= set(places)


def test_the_page_loads_nothing():
    page = html()
    assert "default-src 'none'" in unescape(page)
    assert "unsafe-" not in page
    assert not re.search(r'\bsrc="(?!data:)', page)
    assert not re.search(r"\bstyle=|\bon[a-z]+=\"|@import|url\(", page)
    assert "http://" not in page.replace("http://www.w3.org", "")


def test_signs_of_markup_in_the_reference_stay_text():
    page = html()
    assert "&lt;" not in re.sub(r"<code>.*?</code>", "", page, flags=re.DOTALL)
    assert "https://tiles.example.org/{z}/{x}/{y}.png" in page
    for text in ("cost|uncollected|co2e", "at_least and at_most"):
        assert text in page


def test_readme_is_short_and_has_every_command():
    text = README.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= README_LINES
    listed = re.findall(r"^\| `loamhaul (\w+)", text, re.MULTILINE)
    assert sorted(listed) == sorted(command.name for command in commands())


@pytest.mark.parametrize("path", [README, FOLDER / "plan.md"], ids=lambda p: p.name)
def test_tables_of_outputs_are_those_written(path):
    """In the order of writing or not, but all of them and no other."""
    text = path.read_text(encoding="utf-8")
    table = text.partition("| output |")[2].partition("\n\n")[0]
    listed = re.findall(r"^\| `([^`]+)`", table, re.MULTILINE)
    assert sorted(name.rstrip("/") for name in listed) == sorted(OUTPUTS)


def test_readme_gives_the_two_commands_first():
    text = README.read_text(encoding="utf-8")
    first = re.findall(r"^    (.+)$", text, re.MULTILINE)
    assert first[:2] == [
        "pip install uv && uv run loamhaul plan scenarios/brackwater",
        "pip install uv && uv run --group test pytest",
    ]


def test_pictures_are_small_and_shown():
    pictures = list((FOLDER / "pictures").iterdir())
    everything = all_by_hand()
    assert len(pictures) > 5
    sizes = [picture.stat().st_size for picture in pictures]
    assert sum(sizes) <= ALL_PICTURES_BYTES
    for picture in pictures:
        assert picture.stat().st_size <= PICTURE_BYTES
        assert f"pictures/{picture.name})" in everything
    assert "maps/manual/pictures/" in README.read_text(encoding="utf-8")


def test_nothing_of_the_old_readme_points_nowhere():
    """Words of the program that send people to the README."""
    for path in [*ROOT.glob("maps/**/*.py"), *ROOT.glob("logistics/**/*.py")]:
        assert "README" not in path.read_text(encoding="utf-8"), path.name
