"""Two transitions at once on one pickup: one after the other, in one order or the other. Every
pair there is: `python -m tests.benchmarks.pickup_races`."""

from __future__ import annotations

from itertools import combinations

import pytest

from apps.ledger.queries.invariants import check_ledger
from apps.pickups.queries.invariants import check_pickups
from tests.pickups.racers import SHORT
from tests.pickups.races import Course

pytestmark = pytest.mark.django_db(transaction=True)

MENDED = [("announced", "decline", "reassign"), ("accepted", "reassign", "plan asks more")]
"""Races that once ended otherwise, beside the short table."""


def test_two_at_once_are_one_after_the_other_and_the_loser_is_told_why():
    course = Course()
    races = [(start, *pair) for start, names in SHORT.items() for pair in combinations(names, 2)]
    for race in [*races, *MENDED]:
        together, orders = course.race(*race)
        assert together in orders, race
        assert together.is_said, (race, together.told)
    broken = [each for each in (*check_ledger(), *check_pickups()) if not each.is_kept]
    assert not broken
