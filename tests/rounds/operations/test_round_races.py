"""Two phones at once on one round: one effect, and the grams are where they should be."""

from __future__ import annotations

import threading

import pytest
from django.db import connection

from apps.kernel.errors import Refused
from apps.ledger.models import Movement
from apps.ledger.queries.balances import balances_g
from apps.rounds.models import RoundEvent, RoundState
from apps.rounds.operations.announce_round import drop_round
from apps.rounds.operations.note_stop import note_stop_done, note_stop_problem
from apps.rounds.operations.replan_round import replan_round
from tests.rounds.harbour import QUICK, make_harbour, waiting

pytestmark = pytest.mark.django_db(transaction=True)


def run_together(jobs) -> list[str]:
    """Start all at one signal; return what became of each, in any order."""
    outcomes: list[str] = []
    gate = threading.Barrier(len(jobs))

    def run(job) -> None:
        gate.wait()
        try:
            found = job()
            outcomes.append("repeat" if isinstance(found, tuple) and not found[1] else "new")
        except Refused:
            outcomes.append("refused")
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=[job]) for job in jobs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return outcomes


def test_pairs_of_steps_at_once():
    harbour = make_harbour()
    group, found = harbour.cast.group, harbour.announced()
    first, second, *_rest = waiting(found)

    def on_cart_g() -> int:
        account = harbour.carrier.account_id
        return sum(balances_g(group, [account]).get(account, {}).values())

    # The same tap four times, and one of another phone.
    same = [lambda: note_stop_done(group, first.uuid, harbour.act("k"))] * 4
    other = [lambda: note_stop_done(group, first.uuid, harbour.act("other"))]
    outcomes = run_together(same + other)
    assert outcomes.count("new") == 1
    assert Movement.objects.of(group).count() == len(first.pickup.lines.all())
    assert on_cart_g() == first.load_g

    # Done and not done.
    outcomes = run_together(
        [
            lambda: note_stop_done(group, second.uuid, harbour.act("done")),
            lambda: note_stop_problem(group, second.uuid, harbour.act("no"), reason="other"),
        ]
    )
    assert sorted(outcomes) == ["new", "refused"]
    second.refresh_from_db()
    assert on_cart_g() == (second.load_g if second.state == "done" else first.load_g)

    # Ordered anew while something is noted: whichever was first, both are whole.
    third = waiting(found)[-1]
    pickup_fetch = found.stops.get(pickup=third.pickup, side="fetch")
    run_together(
        [
            lambda: replan_round(group, found.uuid, now=harbour.then, asked_by=None, effort=QUICK),
            lambda: note_stop_done(group, pickup_fetch.uuid, harbour.act("third")),
        ]
    )
    numbers = [stop.number for stop in waiting(found)]
    assert numbers == sorted(set(numbers))

    # Dropped while something is noted: never with something on the cart.
    last = waiting(found)[0]
    run_together(
        [
            lambda: drop_round(group, found.uuid, now=harbour.then, dropped_by=None),
            lambda: note_stop_done(group, last.uuid, harbour.act("last")),
        ]
    )
    found.refresh_from_db()
    assert found.state != RoundState.DROPPED or on_cart_g() == 0
    assert RoundEvent.objects.of(group).count() >= 2
