"""The same plan gives the same bytes."""

import pytest


@pytest.mark.parametrize(
    "name", ["map.html", pytest.param("report.html", marks=pytest.mark.thorough)]
)
def test_the_file_is_byte_identical(planned, pages, tmp_path, writers, name):
    writers[name](planned, tmp_path / name)
    assert (tmp_path / name).read_bytes() == pages[name].read_bytes()
