"""The page for notebooks: what it says to type runs, and names every promise."""

import re

import pandas as pd
import pytest

import loamhaul
from maps.manual import read_pages

(PAGE,) = (page.text for page in read_pages() if page.name == "notebook")
BLOCKS = re.findall(r"^```python\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)


@pytest.mark.thorough
def test_what_the_page_says_runs_in_its_order(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {}
    for block in BLOCKS:
        exec(block, names)
    assert len(BLOCKS) == 4
    assert (tmp_path / "mydistrict" / "out" / "map.html").exists()
    assert (tmp_path / "mydistrict" / "out" / "rounds_m01" / "rounds.xlsx").exists()
    assert names["planned"].summary["status"] == "optimal"
    assert isinstance(names["found"]["yards"], pd.DataFrame)


def test_the_page_names_every_function():
    functions = [n for n in loamhaul.__all__ if n.islower()]
    assert [name for name in functions if name not in PAGE] == []
