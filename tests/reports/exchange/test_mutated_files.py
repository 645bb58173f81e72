"""Files damaged at random are previewed or refused; never anything else."""

from __future__ import annotations

import random
from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apps.groups.models import Group
from apps.reports.exchange.export_sheet import blank_template
from apps.reports.exchange.preview_import import WORKBOOK, preview_import
from apps.reports.exchange.problem import BadFile
from apps.reports.exchange.sheets import SHEETS

NOW = datetime(2026, 5, 11, 17, 0, tzinfo=UTC)

NASTY = [
    "", " ", "\x00", "\ufeff", "'", '"', "=1", "\u202e", "NaN", "1e999", "1_000", "-1", "٣", "0",
    "9" * 400, "x" * 10_000, "2026-02-30", "2026-13-01", "9999-12-31", "yes", ";", "; ;", "a;a",
    "Mo-Su 00:00-24:00", "Mo 25:00-26:00", "Su-Mo 08:00-09:00", "bread", "bread 1; bread 2", "🪣",
    "\ud7ff", "running", "a,b", "\r\n", "1.5", "1,5", "nan", "Infinity", "０",
]  # fmt: skip


@pytest.fixture
def group(db: None) -> Group:
    return Group.objects.create(code="g", name="G", time_zone="Europe/Lisbon")


def survives(group: Group, sheet: str, data: bytes, mark: str = ".") -> None:
    try:
        preview = preview_import(group, sheet, data, now=NOW, decimal_mark=mark)
    except BadFile as refused:
        said = [refused.sentence()]
    else:
        said = [str(problem) for problem in preview.problems]
    assert all(said)


RELAXED = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@RELAXED
@given(
    sheet=st.sampled_from(sorted(SHEETS)),
    rows=st.lists(st.lists(st.sampled_from(NASTY), max_size=12), max_size=5),
    mark=st.sampled_from(".,"),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"]),
)
def test_nasty_cells(
    group: Group, sheet: str, rows: list[list[str]], mark: str, encoding: str
) -> None:
    header = ",".join(column.name for column in SHEETS[sheet].columns)
    lines = [header, *(",".join(row) for row in rows)]
    survives(group, sheet, "\r\n".join(lines).encode(encoding, errors="replace"), mark)


@RELAXED
@given(seed=st.integers(0, 2**32), form=st.sampled_from(["csv", "xlsx"]), cuts=st.integers(1, 8))
def test_damaged_bytes(group: Group, seed: int, form: str, cuts: int) -> None:
    chance = random.Random(seed)
    sheet = chance.choice([*SHEETS, WORKBOOK]) if form == "xlsx" else chance.choice(list(SHEETS))
    data = bytearray(blank_template(sheet, form))
    for _cut in range(cuts):
        at = chance.randrange(len(data))
        match chance.randrange(3):
            case 0:
                data[at] = chance.randrange(256)
            case 1:
                del data[at : at + chance.randrange(1, 50)]
            case _:
                data[at:at] = chance.randbytes(chance.randrange(1, 20))
        if not data:
            break
    survives(group, sheet, bytes(data))
