"""Wrong files: a sentence with row, column and figure; nothing half done."""

from __future__ import annotations

import io
import time
import tracemalloc
import zipfile

import openpyxl
import pytest

from apps.reports.exchange.apply_import import ImportRefused, apply_import
from apps.reports.exchange.preview_import import UnknownSheet, preview_import
from apps.reports.exchange.problem import BadFile
from apps.supply.models import Source, Stream
from tests.cast import Cast

STREAMS = "code,source,material,monday_kg\n"


def problems(cast: Cast, sheet: str, text: str | bytes, mark: str = ".") -> list[str]:
    data = text.encode() if isinstance(text, str) else text
    preview = preview_import(cast.group, sheet, data, now=cast.now, decimal_mark=mark)
    return [str(problem) for problem in preview.problems]


def workbook(rows: list[list[object]], sheet: str = "streams") -> bytes:
    book = openpyxl.Workbook()
    page = book.active
    page.title = sheet
    for row in rows:
        page.append(row)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def short(value: object) -> str:
    """What a test with such a value is called."""
    return repr(value[:40] if isinstance(value, bytes | str) else value)


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("2,5", "“2” "),
        ('"2,5"', "“2,5” is not an amount in kg"),
        ("1_000", "“1_000” is not an amount"),
        ("NaN", "“NaN” is not an amount"),
        ("1e999", "“1e999” is not an amount"),
        ("-1", "“-1” is not an amount"),
        ("٣", "“٣” is not an amount"),
        ("0.0001", "at most three decimals"),
        ("2000.001", "at most 2000 kg"),
        ("=1+1", "starts like a formula"),
    ],
)
def test_amounts_are_read_strictly(cast: Cast, cell: str, words: str) -> None:
    found = problems(cast, "streams", f"{STREAMS}new,quay-stall,bread,{cell}\n")
    assert len(found) == 1
    assert found[0].startswith("streams, row 2")
    if cell == "2,5":
        assert "5 cells, the header 4" in found[0]
    else:
        assert "column monday_kg" in found[0]
        assert words in found[0]


def test_a_comma_is_read_when_it_was_chosen(cast: Cast) -> None:
    text = "code;source;material;monday_kg\nnew;quay-stall;bread;2,5\n"
    assert problems(cast, "streams", text, mark=",") == []
    apply_import(cast.group, "streams", text.encode(), now=cast.now, decimal_mark=",")
    assert Stream.objects.of(cast.group).get(code="new").monday_g == 2_500
    wrong = problems(cast, "streams", text.replace("2,5", "2.5"), mark=",")
    assert "like 2,5" in wrong[0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("code,source\n", "column material: The column material is missing"),
        ("code,source,material,code\n", "The column code is there twice"),
        (f"{STREAMS.strip()},colour\n", "The column colour is not known"),
        (f"{STREAMS}a b,quay-stall,bread,1\n", "“a b” is not a code"),
        (f"{STREAMS}x,quay-stall,gold,1\n", "“gold” is not among this group's materials"),
        (f"{STREAMS}x,quay-stall,bread,1\nx,quay-stall,bread,2\n", "x is in row 2 already"),
        (f"{STREAMS},quay-stall,bread,1\n", "column code: The cell is empty"),
        (f"{STREAMS}x,,bread,1\n", "column source: The cell is empty"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(cast: Cast, text: str, words: str) -> None:
    found = problems(cast, "streams", text)
    assert any(words in each for each in found), found


def test_another_groups_codes_are_unknown(cast: Cast) -> None:
    text = f"{STREAMS}x,quay-stall,bread,1\n".encode()
    preview = preview_import(cast.other_group, "streams", text, now=cast.now)
    assert "“quay-stall” is not among this group's sources" in str(preview.problems[0])


def test_every_problem_is_listed_and_nothing_is_written(cast: Cast) -> None:
    text = f"{STREAMS}good,quay-stall,bread,1\nbad,quay-stall,bread,x\nworse,nobody,bread,1\n"
    with pytest.raises(ImportRefused) as refused:
        apply_import(cast.group, "streams", text.encode(), now=cast.now)
    assert [problem.row for problem in refused.value.problems] == [3, 4]
    assert not Stream.objects.of(cast.group).filter(code="good").exists()


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("x" * 10_000, "10000 characters; shorten it to 120"),
        ("a\x0bb", "invisible character (U+000B)"),
        ("\u202eabc", "invisible character (U+202E)"),
        ("=SUM(A1)", "starts like a formula"),
        ("@SUM(A1)", "starts like a formula"),
        ("+1+1", "starts like a formula"),
    ],
    ids=short,
)
def test_names_are_plain_text(cast: Cast, name: str, words: str) -> None:
    found = problems(cast, "people", f"code,name\nx,{name}\n")
    assert len(found) == 1
    assert words in found[0]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("código\n".encode("utf-16"), "is not UTF-8"),
        ("code,name\nx,São\n".encode("latin-1"), "Byte 14 of the file is not UTF-8"),
        (b"code,name\nx,a\x00b\n", "NUL"),
        (b'code,name\nx,"a\n', "quotation mark"),
        (b"x" * 2_000_001, "at most 2000 kB"),
        (b"code,name\n" + b"x,y\n" * 5_001, "more than 5000 rows"),
        (b"a," * 200 + b"b\n", "more than 100 columns"),
        (b"PK\x03\x04 broken", "cannot be read"),
        (b"", "empty"),
    ],
    ids=short,
)
def test_files_that_cannot_be_read_say_why(cast: Cast, data: bytes, words: str) -> None:
    with pytest.raises(BadFile, match=words.replace("(", r"\(")):
        preview_import(cast.group, "people", data, now=cast.now)


def test_a_byte_order_mark_is_welcome(cast: Cast) -> None:
    assert problems(cast, "people", b"\xef\xbb\xbfcode,name\nx,Xavier\n") == []


def test_an_unknown_sheet_is_said_to_be_unknown(cast: Cast) -> None:
    with pytest.raises(UnknownSheet, match="The sheets are: people"):
        preview_import(cast.group, "ghosts", b"code\n", now=cast.now)


def test_formulas_in_a_workbook_are_refused(cast: Cast) -> None:
    data = workbook(
        [["code", "source", "material", "monday_kg"], ["x", "quay-stall", "bread", "=1+1"]]
    )
    assert "starts like a formula" in problems(cast, "streams", data)[0]


def test_numbers_of_a_workbook_are_understood(cast: Cast) -> None:
    data = workbook(
        [["code", "source", "material", "monday_kg"], ["x", "quay-stall", "bread", 0.1 + 0.2]]
    )
    apply_import(cast.group, "streams", data, now=cast.now, decimal_mark=",")
    assert Stream.objects.of(cast.group).get(code="x").monday_g == 300


def repack(data: bytes, name: str, content: bytes) -> bytes:
    """The workbook with one member replaced or added."""
    old, new = zipfile.ZipFile(io.BytesIO(data)), io.BytesIO()
    with zipfile.ZipFile(new, "w", zipfile.ZIP_DEFLATED) as package:
        for member in old.infolist():
            if member.filename != name:
                package.writestr(member.filename, old.read(member))
        package.writestr(name, content)
    return new.getvalue()


PAGE = "xl/worksheets/sheet1.xml"


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("xl/media/bomb.bin", b"0" * 20_000_001, "at most 100 parts and 20000 kB"),
        ("xl/vbaProject.bin", b"x", "macros"),
        (PAGE, b'<!DOCTYPE x [<!ENTITY a "b">]><x>&a;</x>', "cannot be read"),
        (PAGE, '<!DOCTYPE x [<!ENTITY a "b">]><x>&a;</x>'.encode("utf-16"), "cannot be read"),
        (PAGE, b"<worksheet", "cannot be read"),
    ],
    ids=short,
)
def test_hostile_workbooks_are_refused(cast: Cast, name: str, content: bytes, words: str) -> None:
    data = repack(workbook([["code", "name"], ["x", "y"]], "people"), name, content)
    with pytest.raises(BadFile, match=words):
        preview_import(cast.group, "people", data, now=cast.now)


def test_a_workbook_of_many_parts_is_refused(cast: Cast) -> None:
    data = workbook([["code", "name"]], "people")
    for number in range(100):
        data = repack(data, f"xl/media/{number}.bin", b"")
    with pytest.raises(BadFile, match="parts"):
        preview_import(cast.group, "people", data, now=cast.now)


@pytest.mark.parametrize("cell", ["A1048576", "XFD2", "A20001", "ALM2"])
def test_a_cell_far_away_is_refused_at_once(cast: Cast, cell: str) -> None:
    book = openpyxl.Workbook()
    book.active.title = "people"
    book.active.append(["code", "name"])
    book.active[cell] = "x"
    data = io.BytesIO()
    book.save(data)
    with pytest.raises(BadFile, match="far outside the table"):
        preview_import(cast.group, "people", data.getvalue(), now=cast.now)


def test_the_largest_import_keeps_its_bars(cast: Cast) -> None:
    """Bar: at most 10 s and 150 MB for 5,000 rows."""
    rows = "".join(f"s{n},Source {n},household,quay,,2,yes\n" for n in range(5_000))
    data = ("code,name,kind,place,contact,max_homes_per_day,active\n" + rows).encode()
    tracemalloc.start()
    began = time.monotonic()
    applied = apply_import(cast.group, "sources", data, now=cast.now)
    seconds = time.monotonic() - began
    _now, peak_bytes = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert applied.added == 5_000
    assert Source.objects.of(cast.group).count() == 5_003
    # Tracing memory slows it threefold, which is allowed for.
    assert seconds < 30
    assert peak_bytes < 150_000_000
