"""The group administrator brings in a list: wrong first, then right, then once more unchanged."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import expect

from apps.places.models import Place
from tests.cast import Cast
from tests.journeys.conftest import OpenAs

pytestmark = pytest.mark.browser

HEADER = "code,name,area,street,access_note,latitude,longitude,public,hours\n"
WRONG = HEADER + "mill,Old mill,Harbour,Mill Row 3,,95,-9.001,no,Mo-Fr 08:00-12:00\n"
RIGHT = HEADER + "mill,Old mill,Harbour,Mill Row 3,,38.501,-9.001,no,Mo-Fr 08:00-12:00\n"


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_errors_then_apply(
    open_as: OpenAs, neighbourhood: Cast, tmp_path: Path, script: bool
) -> None:
    wrong, right = tmp_path / "wrong.csv", tmp_path / "right.csv"
    wrong.write_text(WRONG)
    right.write_text(RIGHT)
    page = open_as(neighbourhood.ana, "/g/harbour/sheets/", script=script)
    page.get_by_role("link", name="Bring in: Places").click()
    page.get_by_label("Your file").set_input_files(str(wrong))
    page.get_by_role("button", name="Read it and show me").click()
    expect(page.get_by_text("1 thing must be put right first")).to_be_visible()
    row = page.get_by_role("row").filter(has_text="latitude")
    expect(row).to_contain_text("95")
    assert not Place.objects.of(neighbourhood.group).filter(code="mill").exists()

    page.get_by_role("link", name="Choose the corrected file").click()
    page.get_by_label("Your file").set_input_files(str(right))
    page.get_by_role("button", name="Read it and show me").click()
    page.get_by_role("button", name="Write 1 row").click()
    expect(page.get_by_text("Imported: 1 new, 0 changed")).to_be_visible()
    assert Place.objects.of(neighbourhood.group).filter(code="mill").exists()

    page.get_by_role("link", name="Bring in: Places").click()
    page.get_by_label("Your file").set_input_files(str(right))
    page.get_by_role("button", name="Read it and show me").click()
    expect(page.get_by_text("There is nothing to write.")).to_be_visible()
