"""Many at once on one account: each key writes once, and no gram is counted twice."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection

from apps.ledger.models import Posting
from apps.ledger.operations.reverse_posting import CannotReverse, reverse_posting
from apps.ledger.queries.balances import balances_g
from apps.ledger.queries.invariants import check_ledger
from tests.cast import Cast
from tests.ledger.operations.test_record_feeding import collect, feed

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(
        "connection.vendor != 'postgresql'",
        reason="SQLite's in-memory test database has one writer by itself",
    ),
]

WORKERS = 8


def all_at_once(tasks: list) -> list:
    """Run the tasks in threads of their own, each with its own connection."""

    def run(task):
        try:
            return task()
        except CannotReverse as refused:
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(WORKERS) as pool:
        return list(pool.map(run, tasks))


def kept() -> bool:
    return all(promise.is_kept for promise in check_ledger())


def test_one_key_many_phones(cast: Cast) -> None:
    collect(cast, "c", 10_000)
    before = Posting.objects.of(cast.group).count()
    found = all_at_once([lambda: feed(cast, "tap", 1_000, own_g=100)] * 24)
    assert sum(not posted.is_repeat for posted in found) == 1
    assert Posting.objects.of(cast.group).count() == before + 1
    assert kept()


def test_many_keys_one_bin(cast: Cast) -> None:
    collect(cast, "c", 10_000)
    found = all_at_once([lambda n=n: feed(cast, f"tap-{n}", 1_000) for n in range(24)])
    # 24 kg were fed of 10 kg: 14 kg have a name of their own.
    assert sum(sum(posted.variance_g.values()) for posted in found) == 14_000
    assert balances_g(cast.group, [cast.drum.bin_account_id]) == {}
    assert kept()


def test_feeding_and_collecting_cross_without_a_deadlock(cast: Cast) -> None:
    tasks = []
    for n in range(16):
        tasks.append(lambda n=n: feed(cast, f"f-{n}", 500, own_g=100))
        tasks.append(lambda n=n: collect(cast, f"c-{n}", 500, rejected_g=50))
    assert all(not posted.is_repeat for posted in all_at_once(tasks))
    assert kept()


def test_one_posting_is_taken_back_once(cast: Cast) -> None:
    posting = collect(cast, "c", 10_000).posting
    found = all_at_once(
        [
            lambda n=n: reverse_posting(
                cast.group, posting, reason="", now=cast.now, client_key=f"r-{n}"
            )
            for n in range(12)
        ]
    )
    assert sum(not isinstance(each, CannotReverse) for each in found) == 1
    assert kept()
