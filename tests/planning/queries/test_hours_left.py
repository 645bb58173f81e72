"""A plan made during a day leaves alone the hours that are over."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from apps.places.core.hours import Window
from apps.planning.core.problem import Problem
from apps.planning.queries.build_problem import build_problem
from apps.planning.queries.hours_left import left_of, passed_minutes
from tests.cast import make_cast
from tests.pickups.plans import write_plan


def test_what_is_over_is_cut_off_and_a_rest_of_a_few_minutes_too() -> None:
    morning, evening = Window(360, 600), Window(960, 1110)
    assert left_of((morning, evening), 0) == (morning, evening)
    assert left_of((morning, evening), 480) == (Window(480, 600), evening)
    assert left_of((morning, evening), 597) == (evening,)


def test_minutes_pass_on_the_groups_own_day_only() -> None:
    """Lisbon keeps UTC+1 in May (IANA zone database)."""
    at = datetime(2026, 5, 12, 9, 30, tzinfo=UTC)
    assert passed_minutes(at.date(), at, "Europe/Lisbon") == 10 * 60 + 30
    assert passed_minutes(at.date() + timedelta(days=1), at, "Europe/Lisbon") == 0
    assert passed_minutes(at.date(), None, "Europe/Lisbon") == 0


@pytest.mark.django_db
def test_pairs_whose_hours_are_over_meet_no_more_but_who_was_announced_may_be_late() -> None:
    cast = make_cast(history_days=0)
    write_plan(cast, [(cast.vegetables, cast.drum, 0, 3_000)])
    first = cast.today + timedelta(days=1)

    def meets(problem: Problem) -> dict[str, bool]:
        return {
            pair.digester: pair.meets_on_day[0]
            for pair in problem.pairs
            if pair.source == "quay-stall"
        }

    early = meets(build_problem(cast.group, first, 3).problem)
    night = datetime(first.year, first.month, first.day, 22, 50, tzinfo=UTC)
    late = meets(build_problem(cast.group, first, 3, at=night).problem)
    assert all(early.values())
    assert late.pop(cast.drum.code)
    assert late
    assert not any(late.values())
