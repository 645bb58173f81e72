"""A person's calendar, read by a strict reader written from RFC 5545."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.notices.operations.make_calendar import make_calendar
from apps.notices.queries.calendar import CalendarOver, calendar_of, open_calendar
from apps.pickups.core.life import DECLINE, Party
from apps.pickups.models import Pickup
from apps.pickups.operations.answer_pickup import end_pickup
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.operations.take_step import Act, Actor
from tests.cast import make_cast
from tests.notices.queries.strict_calendar import plain_text, read_calendar
from tests.pickups.plans import write_plan
from tests.remembered import remembered

pytestmark = pytest.mark.django_db


@pytest.fixture
@remembered
def cast():
    """Duarte fetches at the quay tomorrow, Elsa at the school."""
    cast = make_cast(history_days=0)
    cast.quay_stall.name = "Stall 4, on the quay; fruit \\ greens – Zé's " + "long " * 12
    cast.quay_stall.save()
    plan = write_plan(
        cast, [(cast.vegetables, cast.drum, 0, 3_000), (cast.peelings, cast.dome, 0, 4_000)]
    )
    sync_pickups(plan, now=cast.now)
    return cast


def test_a_calendar_is_sound_and_says_when_where_and_how_much(cast):
    calendar = read_calendar(calendar_of(cast.duarte, now=cast.now))
    [event] = calendar.inside
    # 12 May 2026, 9:00 to 12:00 in Lisbon, which is an hour ahead of UTC in summer.
    assert event.value("DTSTART") == "20260512T080000Z"
    assert event.value("DTEND") == "20260512T110000Z"
    assert cast.quay_stall.name.strip() in plain_text(event.value("SUMMARY"))
    assert "3 kg" in plain_text(event.value("DESCRIPTION"))
    assert plain_text(event.value("LOCATION")) == "Quay Lane 1, Harbour"  # a public place
    assert event.value("STATUS") == "TENTATIVE"


def test_private_places_are_named_by_their_area_only(cast):
    octets = calendar_of(cast.elsa, now=cast.now)
    [event] = read_calendar(octets).inside
    assert plain_text(event.value("LOCATION")) == "Harbour"
    assert b"School Lane" not in octets
    assert b"Ring twice" not in octets


def test_changes_keep_the_uid_and_raise_the_sequence_and_a_decline_cancels(cast):
    [before] = read_calendar(calendar_of(cast.duarte, now=cast.now)).inside
    sync_pickups(write_plan(cast, [(cast.vegetables, cast.drum, 0, 2_000)]), now=cast.now)
    [changed] = read_calendar(calendar_of(cast.duarte, now=cast.now)).inside
    assert changed.value("UID") == before.value("UID")
    assert int(changed.value("SEQUENCE")) > int(before.value("SEQUENCE"))
    pickup = Pickup.objects.of(cast.group).get(digester=cast.drum)
    decline = Act(DECLINE, Actor(cast.duarte, Party.FETCHER), "d", cast.now, reason="ill")
    end_pickup(cast.group, pickup.uuid, decline)
    [over] = read_calendar(calendar_of(cast.duarte, now=cast.now)).inside
    assert over.value("STATUS") == "CANCELLED"


def test_the_source_sees_who_comes(cast):
    [event] = read_calendar(calendar_of(cast.filipe, now=cast.now)).inside
    assert plain_text(event.value("SUMMARY")) == "Duarte's digester comes for waste"


def test_an_empty_calendar_is_sound_too(cast):
    assert read_calendar(calendar_of(cast.graca, now=cast.now)).inside == []


def test_the_address_is_secret_and_the_last_one_counts(cast):
    first = make_calendar(cast.duarte, now=cast.now)
    assert open_calendar(first) == cast.duarte
    second = make_calendar(cast.duarte, now=cast.now)
    assert len(second) == 22  # 128 bits in base 64 without padding, RFC 4648
    assert open_calendar(second) == cast.duarte
    for token in (first, second[:-1] + ("A" if second[-1] != "A" else "B"), ""):
        with pytest.raises(CalendarOver):
            open_calendar(token)
    cast.duarte.left_at = cast.now - timedelta(days=1)
    cast.duarte.save()
    with pytest.raises(CalendarOver):
        open_calendar(second)
