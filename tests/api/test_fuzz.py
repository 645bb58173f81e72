"""A few requests an operation, made up from the description: no fault, no answer that the
description does not have. `python -m tests.benchmarks.api_fuzz` does the same at length."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from tests.api.fuzzing import Neighbourhood, load_schema, send, today_cast_instant
from tests.cast import make_cast

EXAMPLES = 2

schema = load_schema()
OPERATIONS = [found.ok() for found in schema.get_all_operations()]


@pytest.fixture
def neighbourhood(db: None) -> Neighbourhood:
    return Neighbourhood(make_cast(today_cast_instant(), history_days=3))


def test_made_up_requests_meet_no_fault(neighbourhood: Neighbourhood) -> None:
    statuses: dict[int, int] = {}
    for operation in OPERATIONS:

        @given(case=operation.as_strategy())
        @settings(
            max_examples=EXAMPLES,
            deadline=None,
            derandomize=True,
            database=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        def run(case: object) -> None:
            status = send(neighbourhood, case, "everything")
            statuses[status] = statuses.get(status, 0) + 1

        run()
    # Most get past the door, or the test would say little.
    assert sum(count for status, count in statuses.items() if status < 300) > len(OPERATIONS)
