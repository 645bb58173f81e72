"""Own limits: tighter at once, looser with a second person, never beyond the last value."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from apps.digesters.models import LimitChange
from apps.digesters.operations.change_limit import (
    AlreadyConfirmed,
    LimitRefused,
    SecondPersonNeeded,
    confirm_loosening,
    loosen_limit,
    tighten_limit,
    withdraw_loosening,
)
from apps.digesters.queries.day_facts import own_rules
from apps.digesters.queries.own_limits import own_limits
from apps.digesters.queries.records import read_records
from tests.cast import Cast

LIMIT = "rise_per_week"
"""15 %, lower is tighter, nobody beyond 25 % (fixtures/digesters/limits.csv; chosen by us)."""


def counts(cast: Cast) -> float:
    records = read_records(cast.group, cast.today)
    return own_rules(records.digesters["duarte-drum"], records.rules).value(LIMIT)


def test_tightening_counts_at_once(cast: Cast) -> None:
    tighten_limit(
        cast.drum, LIMIT, Decimal(10), reason="Watching it", asked_by=cast.carla, now=cast.now
    )
    assert counts(cast) == 10


def test_loosening_counts_when_a_second_person_confirms(cast: Cast) -> None:
    asked = loosen_limit(
        cast.drum, LIMIT, Decimal(20), reason="Steady for a year", asked_by=cast.carla, now=cast.now
    )
    assert counts(cast) == 15
    with pytest.raises(SecondPersonNeeded, match="Carla asked for this"):
        confirm_loosening(asked, confirmed_by=cast.carla, now=cast.now)
    confirm_loosening(asked, confirmed_by=cast.ana, now=cast.now)
    assert counts(cast) == 20
    with pytest.raises(AlreadyConfirmed):
        confirm_loosening(asked, confirmed_by=cast.bruno, now=cast.now)
    tighten_limit(
        cast.drum, LIMIT, Decimal(18), reason="A little less", asked_by=cast.carla, now=cast.now
    )
    assert counts(cast) == 18


def test_a_waiting_loosening_is_withdrawn_once_and_then_nobody_confirms_it(cast: Cast) -> None:
    asked = loosen_limit(
        cast.drum, LIMIT, Decimal(20), reason="Steady", asked_by=cast.carla, now=cast.now
    )
    withdraw_loosening(asked, withdrawn_by=cast.carla, now=cast.now)
    for again in (
        lambda: confirm_loosening(asked, confirmed_by=cast.ana, now=cast.now),
        lambda: withdraw_loosening(asked, withdrawn_by=cast.carla, now=cast.now),
    ):
        with pytest.raises(AlreadyConfirmed, match="settled before"):
            again()
    assert own_limits(cast.drum, cast.today).waiting == ()


def test_the_database_wants_two_people_too(cast: Cast) -> None:
    asked = loosen_limit(
        cast.drum, LIMIT, Decimal(20), reason="Steady", asked_by=cast.carla, now=cast.now
    )
    with pytest.raises(IntegrityError), transaction.atomic():
        LimitChange.objects.of(cast.group).filter(pk=asked.pk).update(confirmed_by=cast.carla)


@pytest.mark.parametrize(
    ("limit", "value", "said"),
    [
        (LIMIT, "26", "Nobody may set “Rise over the week before” beyond 25"),
        (LIMIT, "NaN", "Nobody may set"),
        (LIMIT, "12", "is not looser"),
        ("no_such_limit", "1", "no limit called no_such_limit"),
        ("feed_g", "1.5", "not a whole amount"),
    ],
)
def test_a_loosening_that_cannot_be_is_refused(
    cast: Cast, limit: str, value: str, said: str
) -> None:
    with pytest.raises(LimitRefused, match=said):
        loosen_limit(
            cast.drum, limit, Decimal(value), reason="x", asked_by=cast.carla, now=cast.now
        )


def test_a_change_needs_a_reason_and_the_right_direction(cast: Cast) -> None:
    with pytest.raises(LimitRefused, match="Say why"):
        tighten_limit(cast.drum, LIMIT, Decimal(5), reason=" ", asked_by=cast.carla, now=cast.now)
    with pytest.raises(LimitRefused, match="looser than what counts now"):
        tighten_limit(cast.drum, LIMIT, Decimal(16), reason="x", asked_by=cast.carla, now=cast.now)
