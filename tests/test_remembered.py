"""A remembered scene is the scene, row for row, and nothing of one test comes back in another."""

from __future__ import annotations

import pytest

from apps.ledger.models import Movement
from apps.people.models import Member
from apps.people.operations.add_member import add_member
from tests.cast import make_cast
from tests.remembered import put_rows, read_rows, remembered

pytestmark = pytest.mark.django_db


@remembered
def a_scene(days: int) -> list[Member]:
    made = make_cast.__wrapped__(history_days=days)
    return [made.duarte, made.elsa]


@pytest.fixture(scope="module")
def seen() -> dict[int, object]:
    return {}


@pytest.mark.parametrize("turn", range(4))
def test_every_row_comes_back(turn: int, seen: dict[int, object]) -> None:
    days = 2 + turn % 2
    duarte, _ = a_scene(days)
    rows = {table: sorted(found, key=str) for table, found in read_rows().items()}
    assert len(rows["ledger_movement"]) == days * 2 * 3 == Movement.unscoped.count()
    assert seen.setdefault(days, rows) == rows
    duarte.refresh_from_db()
    assert duarte.name == "Duarte"
    duarte.name = "Somebody else"
    duarte.save()
    ana = add_member(duarte.group, code="later", name="Later", roles=[])
    assert ana.pk > duarte.pk


def test_what_is_put_on_top_of_other_rows_is_refused() -> None:
    a_scene(2)
    with pytest.raises(Exception, match=r"(?i)unique|duplicate"):
        put_rows(read_rows())
