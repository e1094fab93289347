"""Forms on paper print on one sheet of A4 each, nothing outside or over each other."""

import pytest
from support.places import ROOT
from support.printed import need_office, sheets

from logistics.scenario import read_scenario
from maps.forms import write_paper_forms


def test_each_form_prints_on_one_sheet_of_a4(chromium, tmp_path):
    need_office()
    write_paper_forms(read_scenario(ROOT / "scenarios" / "brackwater"), tmp_path / "p")
    for file in sorted((tmp_path / "p").iterdir()):
        window = chromium.new_page()
        window.goto(file.resolve().as_uri())
        pdf = tmp_path / f"{file.stem}.pdf"
        window.pdf(path=pdf, prefer_css_page_size=True)
        window.close()
        (sheet,) = sheets(pdf)
        assert (sheet.width, sheet.height) == pytest.approx((595, 842), abs=2)
        assert sheet.outside() == []
        assert sheet.over_each_other() == []
