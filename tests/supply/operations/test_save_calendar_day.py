"""The group's calendar: entered once, followed by forecast and plan."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.groups.models import Fact, Work
from apps.planning.queries.meetings import place_hours
from apps.supply.core.forecast import Basis
from apps.supply.models import Offer
from apps.supply.operations.save_calendar_day import (
    UnusableCalendarDay,
    remove_calendar_day,
    save_calendar_day,
)
from apps.supply.operations.set_offer import set_offer
from apps.supply.queries.expected_supply import expected_supply
from tests.cast import Cast


def enter(cast: Cast, **changes: object):  # type: ignore[no-untyped-def]
    values = {
        "code": "harbour-day",
        "name": "Harbour day",
        "kind": "holiday",
        "first_on": cast.today,
        "last_on": cast.today,
        "source_kinds": ["canteen"],
        "now": cast.now,
    } | changes
    return save_calendar_day(cast.group, **values)  # type: ignore[arg-type]


def canteen(cast: Cast):  # type: ignore[no-untyped-def]
    rows = expected_supply(cast.group, cast.today, 2)
    return [row.forecast for row in rows if row.stream.code == "canteen-peelings"]


def test_a_holiday_empties_its_kind_and_asks_for_a_plan(cast: Cast) -> None:
    row = enter(cast)
    today = canteen(cast)[0]
    assert (today.p80_g, today.basis) == (0, Basis.ABSENT)
    assert canteen(cast)[1].p50_g == 6_000
    hours = place_hours(cast.group, cast.today, 2)
    assert hours.of(cast.school_canteen.place_id)[0] == ()
    assert hours.of(cast.school_canteen.place_id)[1] != ()
    assert Fact.objects.of(cast.group).filter(kind="calendar_changed").count() == 1
    assert Work.objects.of(cast.group).filter(kind="plan_again").exists()
    remove_calendar_day(row, now=cast.now)
    assert canteen(cast)[0].p50_g == 6_000


def test_what_the_source_says_of_the_day_itself_wins(cast: Cast) -> None:
    enter(cast)
    set_offer(cast.peelings, on=cast.today, amount_g=1_500, now=cast.now)
    assert canteen(cast)[0].p50_g == 1_500


def test_a_festival_brings_more_everywhere(cast: Cast) -> None:
    enter(cast, kind="festival", amount_percent=200, source_kinds=[])
    assert canteen(cast)[0].p50_g == 12_000


def test_a_stream_that_changed_hands_forgets_what_it_had(cast: Cast) -> None:
    for back in range(1, 43):
        Offer.unscoped.create(
            group=cast.group,
            stream=cast.peelings,
            on=cast.today - timedelta(days=back),
            amount_g=20_000,
            said_at=cast.now,
        )
    assert canteen(cast)[0].p50_g > 12_000
    cast.peelings.learnt_since_on = cast.today
    cast.peelings.save()
    assert canteen(cast)[0].p50_g == 6_000


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"last_on": None}, "last day"),
        ({"source_kinds": ["circus"]}, "circus"),
    ],
)
def test_impossible_entries_are_refused(cast: Cast, changes: dict[str, object], words: str) -> None:
    if "last_on" in changes:
        changes = {"last_on": cast.today - timedelta(days=1)}
    with pytest.raises(UnusableCalendarDay) as caught:
        enter(cast, **changes)
    assert words in str(caught.value)
