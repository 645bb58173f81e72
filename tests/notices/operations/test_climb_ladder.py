"""Reminders, standby, coordinator: each once, on the group's own times, and not for what is done.

The times are checked against a clock written by hand: hours from 9 to 12, Lisbon's summer time.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.utils import translation

from apps.groups.models import Work
from apps.notices.models import Notice
from apps.notices.operations.climb_ladder import climb_ladder
from apps.notices.wording import word_notice
from apps.pickups.core.ladder import Rung, Times, rungs
from apps.pickups.core.life import ACCEPT, COMPLETE, LATE, Party
from apps.pickups.models import Ladder, Pickup, Standby
from apps.pickups.operations.answer_pickup import accept_pickup
from apps.pickups.operations.complete_pickup import complete_pickup
from apps.pickups.operations.put_up_ladders import put_up
from apps.pickups.operations.run_late import run_late
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.operations.take_step import Act, Actor
from tests.cast import Cast, make_cast
from tests.pickups.plans import write_plan
from tests.remembered import remembered

MORNING = datetime(2026, 5, 12, 5, 0, tzinfo=UTC)


def test_rungs_come_before_the_end_and_never_before_the_hours() -> None:
    found = rungs(9 * 60, 12 * 60, Times(240, 60, 30, 0))
    assert [(rung, minute) for rung, minute in found] == [
        (Rung.REMINDER, 540),
        (Rung.SECOND_REMINDER, 660),
        (Rung.STANDBY, 690),
        (Rung.COORDINATOR, 720),
    ]
    with pytest.raises(ValueError, match="later than the one before"):
        Times(30, 60, 30, 0)


@pytest.fixture
@remembered
def cast(db: None) -> Cast:
    """Duarte fetches at the quay; Elsa and Duarte are on standby."""
    cast = make_cast(history_days=0)
    sync_pickups(write_plan(cast, [(cast.vegetables, cast.drum, 0, 3_000)]), now=cast.now)
    for member in (cast.elsa, cast.duarte):
        Standby.unscoped.create(group=cast.group, member=member, since_at=cast.now)
    return cast


def ladder(cast: Cast, now: datetime = MORNING) -> list[Work]:
    put_up(cast.group, now.date(), now=now)
    return list(Work.objects.of(cast.group).filter(kind="climb_ladder").order_by("due_at", "id"))


def climb(cast: Cast, works: list[Work]) -> list[tuple[str, str]]:
    """Everything twice, as after a worker's death: who was told what."""
    for work in [*works, *works]:
        climb_ladder(work)
    return list(
        Notice.objects.of(cast.group)
        .filter(kind__startswith="pickup_")
        .order_by("id")
        .values_list("kind", "member__code")
    )


def act(cast: Cast, step, key: str) -> Act:
    return Act(step, Actor(cast.duarte, Party.FETCHER), key, MORNING + timedelta(hours=5))


def test_each_rung_is_told_once_and_its_words_have_a_link(cast: Cast) -> None:
    assert len(ladder(cast)) == 4
    works = ladder(cast)
    assert len(works) == 4
    assert [work.due_at.astimezone(UTC).hour * 60 + work.due_at.minute for work in works] == [
        540, 600, 630, 660,  # 10:00, 11:00, 11:30 and 12:00 on the harbour's clock
    ]  # fmt: skip
    assert climb(cast, works) == [
        ("pickup_reminder", cast.duarte.code),
        ("pickup_reminder", cast.duarte.code),
        ("pickup_standby", cast.elsa.code),
        ("pickup_unfetched", cast.carla.code),
    ]
    with translation.override("en"):
        texts = [
            word_notice(each, now=MORNING).text
            for each in Notice.objects.of(cast.group).order_by("id")
        ]
    assert all("3 kg" in text for text in texts)
    assert ["/day/" in text for text in texts] == [True, True, True, False]


def test_who_said_yes_is_reminded_once_and_who_fetched_never(cast: Cast) -> None:
    pickup = Pickup.objects.of(cast.group).get()
    works = ladder(cast)
    accept_pickup(cast.group, pickup.uuid, act(cast, ACCEPT, "a"))
    assert climb(cast, works[:2]) == [("pickup_reminder", cast.duarte.code)]
    complete_pickup(cast.group, pickup.uuid, act(cast, COMPLETE, "c"))
    assert len(climb(cast, works)) == 1


def test_whoever_is_late_has_a_ladder_of_the_new_time(cast: Cast) -> None:
    """At 11:00 local Duarte says two hours: until 13:00."""
    pickup = Pickup.objects.of(cast.group).get()
    old = ladder(cast)
    run_late(cast.group, pickup.uuid, act(cast, LATE, "l"), minutes=120)
    assert climb(cast, old) == []
    new = [work for work in ladder(cast) if work not in old]
    assert [work.payload["rung"] for work in new] == [
        "reminder", "second_reminder", "standby", "coordinator",
    ]  # fmt: skip
    assert new[-1].due_at == datetime(2026, 5, 12, 12, 0, tzinfo=UTC)
    assert len(climb(cast, new)) == 4


def test_a_group_has_its_own_times_and_what_has_passed_is_not_put_up(cast: Cast) -> None:
    Ladder.unscoped.create(
        group=cast.group,
        reminder_min=90,
        second_reminder_min=45,
        standby_min=20,
        coordinator_min=10,
    )
    works = ladder(cast, MORNING + timedelta(hours=6))  # 12:00 on the harbour's clock
    assert works == []
    works = ladder(cast, MORNING + timedelta(hours=5, minutes=30))  # 11:30
    assert [work.payload["rung"] for work in works] == ["standby", "coordinator"]
