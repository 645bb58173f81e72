"""Work is done once, by one worker, and again only after a lease has run out."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection

from apps.groups.models import Group, Work
from apps.groups.operations.ask_for_work import ask_for_work
from apps.groups.operations.do_work import MOST_ATTEMPTS, do_due_work, do_work
from apps.groups.operations.plan_daily_work import plan_daily_work
from apps.groups.operations.record_fact import record_fact

done: list[str] = []


def consume(work: Work) -> None:
    """A consumer that remembers what it was given."""
    done.append(work.key)


def refuse(work: Work) -> None:
    """A consumer that always fails."""
    raise ValueError("no")


@pytest.fixture
def group(db, settings) -> Group:
    """A group whose work goes to the two consumers above."""
    done.clear()
    settings.WORK_CONSUMERS = {"good": f"{__name__}.consume", "bad": f"{__name__}.refuse"}
    return Group.objects.create(code="harbour", name="Harbour", time_zone="Europe/Lisbon")


def ask(group: Group, kind: str = "good", key: str = "a") -> Work:
    """A piece of work that is due."""
    return ask_for_work(group, kind, key=key, due_at=datetime.now(UTC) - timedelta(minutes=1))


def test_asking_twice_is_doing_once(group):
    assert ask(group) == ask(group)
    assert do_due_work() == 1
    assert do_due_work() == 0
    assert done == ["a"]


def test_work_not_yet_due_waits(group):
    ask_for_work(group, "good", key="b", due_at=datetime.now(UTC) + timedelta(hours=1))
    assert do_due_work() == 0


def test_a_leased_piece_is_left_alone_until_the_lease_runs_out(group):
    work = ask(group)
    Work.unscoped.update(leased_until_at=datetime.now(UTC) + timedelta(seconds=50))
    assert not do_work(work.pk)
    Work.unscoped.update(leased_until_at=datetime.now(UTC) - timedelta(seconds=1))
    assert do_work(work.pk)
    assert done == ["a"]


def test_a_failing_piece_is_put_back_and_at_last_given_up_loudly(group):
    work = ask(group, "bad")
    for _ in range(MOST_ATTEMPTS):
        Work.unscoped.update(leased_until_at=None)
        assert do_work(work.pk)
    work.refresh_from_db()
    assert work.given_up_at is not None
    assert work.last_error == "ValueError: no"
    Work.unscoped.update(leased_until_at=None)
    assert not do_work(work.pk)


def test_one_bad_piece_does_not_stop_the_others(group):
    ask(group, "bad", "x")
    ask(group, "good", "y")
    assert do_due_work() == 2
    assert done == ["y"]


def test_a_fact_brings_the_work_that_follows_from_it(group, settings):
    settings.WORK_AFTER_FACT = {"declined": ["good"]}
    # SQLite's clock counts milliseconds: what happened within this one is not due yet.
    happened_at = datetime.now(UTC) - timedelta(minutes=1)
    fact = record_fact(group, "declined", happened_at=happened_at)
    assert do_due_work() == 1
    assert done == [f"fact-{fact.uuid}"]


@pytest.mark.parametrize(
    ("now", "dates"),
    [
        # Clocks go back on 2026-10-25 in Lisbon: 00:30 UTC and 01:30 UTC are both local 01:30
        # or 00:30+01; every instant of that local day asks for the same, single piece.
        (["2026-10-25T00:30:00+00:00", "2026-10-25T01:30:00+00:00"], ["2026-10-25"]),
        (["2026-03-29T00:30:00+00:00", "2026-03-29T22:30:00+00:00"], ["2026-03-29"]),
        (["2026-03-29T23:30:00+00:00"], ["2026-03-30"]),
        (["2028-02-29T12:00:00+00:00"], ["2028-02-29"]),
    ],
)
def test_daily_work_is_once_for_each_local_date(group, settings, now, dates):
    settings.DAILY_WORK = {"good": "18:30"}
    for instant in now:
        plan_daily_work(datetime.fromisoformat(instant))
    assert list(Work.unscoped.values_list("key", flat=True)) == dates


@pytest.mark.django_db(transaction=True)
def test_workers_that_race_do_a_piece_once(settings):
    settings.WORK_CONSUMERS = {"good": f"{__name__}.consume"}
    done.clear()
    group = Group.objects.create(code="quay", name="Quay", time_zone="Europe/Lisbon")
    work = ask(group)

    def run() -> None:
        do_work(work.pk)
        connection.close()

    workers = [threading.Thread(target=run) for _ in range(8)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert done == ["a"]
