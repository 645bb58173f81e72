"""The sheets of a group in and out: preview, all or nothing, and back unchanged."""

from __future__ import annotations

from typing import Any

import pytest

from apps.places.models import Place
from tests.api.caller import Caller
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def send(caller: Caller, address: str, content: bytes, kind: str = "text/csv") -> Any:
    response = caller.client.post(caller.base + address, content, content_type=kind)
    response.data = response.json()
    return response


def test_what_is_exported_changes_nothing_when_it_is_imported(cast: Cast) -> None:
    ana = Caller(cast.ana)
    for sheet in ("places", "sources", "streams", "digesters"):
        csv = ana.get(f"/exports/{sheet}")
        assert csv["Content-Type"] == "text/csv"
        seen = send(ana, f"/imports/{sheet}/preview", csv.content)
        assert seen.status_code == 200, seen.data
        assert seen.data["is_clean"], seen.data
        assert seen.data["changes"][0]["new"] == seen.data["changes"][0]["changed"] == 0
        applied = send(ana, f"/imports/{sheet}", csv.content)
        assert (applied.data["added"], applied.data["changed"]) == (0, 0)


def test_a_whole_workbook(cast: Cast) -> None:
    ana = Caller(cast.ana)
    book = ana.get("/exports/workbook?form=xlsx")
    seen = send(ana, "/imports/workbook/preview", book.content, book["Content-Type"])
    assert seen.data["is_clean"], seen.data["problems"]


def test_a_wrong_row_keeps_everything_out_and_is_named(cast: Cast) -> None:
    ana = Caller(cast.ana)
    csv = ana.get("/exports/places").content.decode("utf-8-sig")
    header, first, *_rest = csv.splitlines()
    wrong = f"{header}\r\n{first.replace(first.split(',')[0], 'new-place')}\r\nhalf-place,,,\r\n"
    before = Place.objects.of(cast.group).count()
    seen = send(ana, "/imports/places/preview", wrong.encode())
    assert seen.status_code == 200
    assert not seen.data["is_clean"]
    assert {problem["row"] for problem in seen.data["problems"]} == {3}
    refused = send(ana, "/imports/places", wrong.encode())
    assert (refused.status_code, refused.data["code"]) == (422, "import_refused")
    assert refused.data["errors"][0]["field"].startswith("places.3")
    assert Place.objects.of(cast.group).count() == before


@pytest.mark.parametrize(
    ("address", "content", "kind", "status"),
    [
        ("/imports/places/preview", b"", "text/csv", 422),
        ("/imports/places/preview", b"\xff\xfe\x00", "text/csv", 422),
        ("/imports/places/preview", b"PK\x03\x04nothing", "text/csv", 422),
        ("/imports/nothing/preview", b"a,b", "text/csv", 404),
        ("/imports/places/preview", b"a" * 2_000_001, "text/csv", 413),
        ("/imports/places/preview", b"{}", "application/json", 415),
        ("/imports/places", b"code\r\n=1+1\r\n", "text/csv", 422),
    ],
)
def test_files_that_cannot_be_read(
    cast: Cast, address: str, content: bytes, kind: str, status: int
) -> None:
    refused = send(Caller(cast.ana), address, content, kind)
    assert refused.status_code == status
    assert refused["Content-Type"] == "application/problem+json"


def test_blank_sheets(cast: Cast) -> None:
    ana = Caller(cast.ana)
    blank = ana.get("/templates/sources")
    assert blank.content.decode("utf-8-sig").splitlines()[1].startswith(("#", '"#'))
    seen = send(ana, "/imports/sources/preview", blank.content)
    assert seen.data["is_clean"]
    assert ana.get("/templates/nothing").status_code == 404


def test_files_hold_exact_addresses_and_are_the_administrators_alone(cast: Cast) -> None:
    for member in (cast.bruno, cast.carla, cast.duarte, cast.filipe):
        assert Caller(member).get("/exports/places").status_code == 403
