"""Random days through the operations, invariants after each step.

Hypothesis picks what people do: announce, accept, decline, collect, complete, fail, feed, offer,
re-plan, reassign, let the clock run. After each step: no gram is lost or made, no stored daily
feed lies above its maximum, no confirmation counts twice, one plan is announced, and what was
begun is left alone. The long run is `python -m tests.benchmarks.random_days`.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.journeys.day_machine import DayMachine

pytestmark = pytest.mark.django_db


def test_random_days_keep_every_promise(db):
    run_state_machine_as_test(
        DayMachine,
        settings=settings(
            max_examples=3,
            stateful_step_count=12,
            deadline=None,
            database=None,
            derandomize=True,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        ),
    )
