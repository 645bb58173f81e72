"""The order of a round changed: promised, moved, and ordered anew."""

from __future__ import annotations

import pytest

from apps.places.operations.save_place import Window, save_place
from apps.rounds.models import RoundState
from apps.rounds.operations.change_order import lock_stop, move_stop
from apps.rounds.operations.errors import (
    OrderImpossible,
)
from apps.rounds.operations.note_stop import note_stop_done
from apps.rounds.operations.replan_round import replan_round
from apps.rounds.verifier import verify
from tests.rounds.harbour import (
    QUICK,
    pickup_of,
    waiting,
)

pytestmark = pytest.mark.django_db


def test_replanning_keeps_done_stops_and_brings_what_is_on_the_cart(harbour):
    found = harbour.announced()
    group = harbour.cast.group
    for stop in waiting(found)[:2]:
        note_stop_done(group, stop.uuid, harbour.act(str(stop.uuid)))
    done = list(found.stops.filter(state="done").values_list("uuid", "number", "begin_s"))
    again = replan_round(group, found.uuid, now=harbour.then, asked_by=None, effort=QUICK)
    assert list(again.stops.filter(state="done").values_list("uuid", "number", "begin_s")) == done
    assert [stop.number for stop in waiting(again)] == [3, 4, 5, 6]
    assert verify(again.document) == []
    for stop in waiting(again):
        note_stop_done(group, stop.uuid, harbour.act(str(stop.uuid)))
    again.refresh_from_db()
    assert again.state == RoundState.OVER


def test_a_locked_stop_keeps_its_time(harbour):
    found = harbour.build(from_min=9 * 60)
    last = waiting(found)[-1]
    locked = lock_stop(harbour.cast.group, last.uuid, is_locked=True)
    assert locked.locked_s == last.begin_s
    again = replan_round(
        harbour.cast.group, found.uuid, now=harbour.cast.now, asked_by=None, effort=QUICK
    )
    kept = again.stops.get(pk=last.pk)
    assert abs(kept.begin_s - last.begin_s) <= 600
    assert lock_stop(harbour.cast.group, last.uuid, is_locked=False).locked_s is None


def test_a_stop_is_moved_where_it_can_be_and_refused_where_not(harbour):
    found = harbour.build()
    group, now = harbour.cast.group, harbour.cast.now
    stops = waiting(found)
    brings = [stop for stop in stops if stop.side == "bring"]
    with pytest.raises(OrderImpossible, match="before its waste was fetched"):
        move_stop(group, brings[0].uuid, 1, now=now)
    moved = move_stop(group, brings[0].uuid, 6, now=now)
    assert moved.number == 6
    assert moved.locked_s == moved.begin_s
    order = waiting(found)
    assert [stop.number for stop in order] == list(range(1, 7))
    assert order[-1].pk == brings[0].pk
    found.refresh_from_db()
    assert verify(found.document) == []


def test_a_home_open_twice_is_served_when_it_fits_and_stays_there_when_ordered_anew(harbour):
    group, home = harbour.cast.group, harbour.cast.dome.place
    day = harbour.on.weekday()
    twice = [Window(day, 9 * 60, 10 * 60 + 30), Window(day, 12 * 60 + 30, 20 * 60)]
    save_place(
        group, code=home.code, name=home.name, area=home.area, street=home.street,
        access_note=home.access_note, latitude=home.latitude, longitude=home.longitude,
        is_public=False, hours=twice,
    )  # fmt: skip
    found = harbour.build()
    brought = found.stops.get(pickup=pickup_of(harbour, "quay-stall", "elsa-dome"), side="bring")
    # Its longer hours begin after noon, when everything else has long been done.
    assert brought.begin_s <= (10 * 60 + 30) * 60
    assert verify(found.document) == []
    again = replan_round(group, found.uuid, now=harbour.cast.now, asked_by=None, effort=QUICK)
    assert verify(again.document) == []
    assert max(stop.begin_s for stop in waiting(again)) <= (10 * 60 + 30) * 60
