"""What is exported can be imported, and then nothing changes."""

from __future__ import annotations

import pytest

from apps.feedstock.operations.adopt_published_materials import adopt_published_materials
from apps.groups.models import Fact
from apps.places.operations.set_absence import set_absence
from apps.reports.exchange.apply_import import apply_import
from apps.reports.exchange.export_sheet import blank_template, export_sheet
from apps.reports.exchange.preview_import import WORKBOOK, preview_import
from apps.reports.exchange.sheets import SHEETS
from apps.supply.operations.set_offer import set_offer
from tests.cast import Cast
from tests.ledger.operations.test_record_feeding import collect, feed

ALL = [(name, form) for name in SHEETS for form in ("csv", "xlsx")] + [(WORKBOOK, "xlsx")]


@pytest.fixture
def busy_cast(cast: Cast) -> Cast:
    """The cast with something on every sheet."""
    set_absence(cast.drum.place, first_on=cast.today, last_on=cast.today, now=cast.now)
    set_offer(cast.vegetables, on=cast.today, amount_g=7_500, now=cast.now)
    collect(cast, "c", 1_500, rejected_g=200)
    feed(cast, "f", 900, own_g=250, water_ml=1_000)
    files = {
        "calendar": "code,name,kind,first_on,last_on,yearly\nnew-year,New Year,holiday,2030-01-01,"
        "2030-01-01,yes\n",
        "carriers": "person,load_limit_kg,start,end,from,until,rest_min,rest_from,rest_until,"
        "avoids\ngraca,55.5,allotments,quay,07:30,12:00,15,09:00,10:30,school; ines\n",
        "materials": "code,name,ts_pct_wet,vs_pct_ts,measured_by\npods,Pea pods,14.2,91,Stove\n",
        "measures": "code,name,volume_l\npail,Blue pail,9.5\n",
        "people": "code,name\nnote,'=HYPERLINK(1)\n",
        "readings": "digester,on,time,kind,value\n"
        f"{cast.drum.code},{cast.today},06:30,ph,6.8\n"
        f"{cast.drum.code},{cast.today},06:31,burner_min,35\n",
    }
    for name, text in files.items():
        apply_import(cast.group, name, text.encode(), now=cast.now)
    return cast


@pytest.mark.parametrize(("sheet", "form"), ALL)
def test_importing_an_export_changes_nothing(busy_cast: Cast, sheet: str, form: str) -> None:
    group = busy_cast.group
    data = export_sheet(group, sheet, form)
    preview = preview_import(group, sheet, data, now=busy_cast.now)
    assert [str(problem) for problem in preview.problems] == []
    assert preview.count("same") > 0
    assert (preview.count("new"), preview.count("changed")) == (0, 0)
    facts = Fact.objects.of(group).count()
    apply_import(group, sheet, data, now=busy_cast.now)
    assert Fact.objects.of(group).count() == facts


def test_a_group_can_move_to_another(busy_cast: Cast) -> None:
    """Everything comes out of the workbook again, but what was set aside at a source."""
    data = export_sheet(busy_cast.group, WORKBOOK, "xlsx")
    adopt_published_materials(busy_cast.other_group)
    apply_import(busy_cast.other_group, WORKBOOK, data, now=busy_cast.now)
    for name in SHEETS:
        old = set(export_sheet(busy_cast.group, name, "csv").splitlines())
        new = set(export_sheet(busy_cast.other_group, name, "csv").splitlines())
        # Both groups have a member called founder; the workbook's has overwritten the other.
        assert old == new, name


@pytest.mark.parametrize(("sheet", "form"), ALL)
def test_a_blank_template_is_an_empty_import(cast: Cast, sheet: str, form: str) -> None:
    preview = preview_import(cast.group, sheet, blank_template(sheet, form), now=cast.now)
    assert preview.is_clean, [str(problem) for problem in preview.problems]
    assert preview.count("new") == 0


def test_text_that_looks_like_a_formula_leaves_quoted_and_comes_back(busy_cast: Cast) -> None:
    assert b"'=HYPERLINK(1)" in export_sheet(busy_cast.group, "people", "csv")


def test_numbers_below_zero_stay_numbers(busy_cast: Cast) -> None:
    # The quay lies at 9 degrees west, shown without needless zeros.
    assert b",38.5,-9," in export_sheet(busy_cast.group, "places", "csv")
