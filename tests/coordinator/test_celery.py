"""The same work rows through a real broker: announced, done, and not lost with it."""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime, timedelta

import pytest
import redis
from celery.contrib.testing.worker import start_worker

from apps.groups.models import Group, Work
from apps.groups.operations.ask_for_work import ask_for_work
from apps.planning.models import Plan, PlanStatus
from coordinator.celery import app
from coordinator.tasks import tick
from tests.cast import make_cast

pytestmark = [pytest.mark.redis, pytest.mark.django_db(transaction=True)]

PREFIX = f"test-{os.environ.get('PYTEST_XDIST_WORKER', 'alone')}-"
QUEUE = f"{PREFIX}celery"

done: list[str] = []


def consume(work: Work) -> None:
    """Remember what was done."""
    done.append(work.key)


def a_minute_ago() -> datetime:
    """Due on any clock, also one that counts milliseconds."""
    return datetime.now(UTC) - timedelta(minutes=1)


def wait_for(key: str) -> None:
    """Up to ten seconds. Ticking goes on, as it does in service: a worker that has just ended
    may have taken a message with it, and the row is announced again."""
    deadline = time.monotonic() + 10
    while key not in done and time.monotonic() < deadline:
        time.sleep(0.2)
        tick()
    assert key in done


@pytest.fixture
def broker(settings) -> str:
    """A Redis of our own number, with an empty queue of this process, known to Celery: another
    process's worker would look for the rows in its own database."""
    url = os.environ.get("TEST_REDIS_URL", "redis://127.0.0.1:6379/15")
    redis.Redis.from_url(url).delete(QUEUE)
    done.clear()
    app.conf.broker_url = url
    app.conf.broker_transport_options = {"global_keyprefix": PREFIX}
    settings.WORK_CONSUMERS = {"good": f"{__name__}.consume"}
    return url


@pytest.fixture
def group() -> Group:
    """Somebody to work for."""
    return Group.objects.create(code="harbour", name="Harbour", time_zone="Europe/Lisbon")


def test_due_work_is_handed_to_a_worker_and_done_once(broker, group):
    ask_for_work(group, "good", key="now", due_at=a_minute_ago())
    with start_worker(app, perform_ping_check=False):
        tick()
        tick()
        wait_for("now")
        time.sleep(0.3)
    assert done == ["now"]


def test_a_flushed_broker_loses_no_work(broker, group):
    ask_for_work(group, "good", key="kept", due_at=a_minute_ago())
    tick()
    redis.Redis.from_url(broker).delete(QUEUE)
    with start_worker(app, perform_ping_check=False):
        tick()
        wait_for("kept")


def test_the_nightly_plan_is_made_by_a_worker(settings, broker):
    cast = make_cast(history_days=7)
    settings.WORK_CONSUMERS = {"nightly_plan": "apps.planning.work.make_nightly_plan"}
    ask_for_work(cast.group, "nightly_plan", key=cast.today.isoformat(), due_at=cast.now)
    with start_worker(app, perform_ping_check=False):
        deadline = time.monotonic() + 60
        while not Plan.objects.of(cast.group).exists() and time.monotonic() < deadline:
            tick()
            time.sleep(0.5)
    assert Plan.objects.of(cast.group).get().status == PlanStatus.DRAFT


def test_putting_work_down_never_touches_the_broker(broker, group):
    app.conf.broker_url = "redis://127.0.0.1:1/0"
    work = ask_for_work(group, "good", key="later", due_at=datetime.now(UTC))
    assert work.done_at is None
