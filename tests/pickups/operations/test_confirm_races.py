"""Many phones at once on one pickup: one effect. The long run is
`python -m tests.benchmarks.confirm_races`."""

from __future__ import annotations

import threading
from datetime import timedelta

import pytest
from django.db import connection

from apps.ledger.models import Movement
from apps.pickups.core.life import COMPLETE, DECLINE, Party, StepRefused
from apps.pickups.models import Pickup, PickupEvent
from apps.pickups.operations.complete_pickup import complete_pickup
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.operations.take_step import Act, Actor, take_step
from tests.cast import make_cast
from tests.pickups.plans import write_plan

pytestmark = pytest.mark.django_db(transaction=True)


def run_together(jobs) -> list[str]:
    """Start all at one signal; return what became of each, in any order."""
    outcomes: list[str] = []
    gate = threading.Barrier(len(jobs))

    def run(job) -> None:
        gate.wait()
        try:
            outcomes.append("new" if job()[1] else "repeat")
        except StepRefused:
            outcomes.append("refused")
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=[job]) for job in jobs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return outcomes


@pytest.fixture
def scene():
    """The neighbourhood and Duarte's pickup."""
    cast = make_cast(history_days=0)
    sync_pickups(write_plan(cast, [(cast.vegetables, cast.drum, 0, 3_000)]), now=cast.now)
    return cast, Pickup.objects.of(cast.group).get()


def asked(cast, step, key, reason="") -> Act:
    """Duarte's tap."""
    actor = Actor(cast.duarte, Party.FETCHER)
    return Act(step, actor, key, cast.now + timedelta(days=1), reason=reason)


@pytest.mark.parametrize("same_key", [True, False])
def test_ten_confirmations_have_one_effect(scene, same_key):
    cast, pickup = scene

    def job(number):
        key = "k" if same_key else f"k{number}"
        return lambda: complete_pickup(cast.group, pickup.uuid, asked(cast, COMPLETE, key))

    outcomes = run_together([job(number) for number in range(10)])
    assert outcomes.count("new") == 1
    assert outcomes.count("repeat" if same_key else "refused") == 9
    assert Movement.objects.of(cast.group).count() == 1
    assert PickupEvent.objects.of(cast.group).count() == 1


def test_confirming_and_declining_at_once_leave_one_of_the_two(scene):
    cast, pickup = scene
    outcomes = run_together(
        [
            lambda: complete_pickup(cast.group, pickup.uuid, asked(cast, COMPLETE, "a")),
            lambda: take_step(cast.group, pickup.uuid, asked(cast, DECLINE, "b", "ill")),
        ]
    )
    assert sorted(outcomes) == ["new", "refused"]
    pickup.refresh_from_db()
    delivered = Movement.objects.of(cast.group).exists()
    assert delivered == (pickup.state == "delivered")
