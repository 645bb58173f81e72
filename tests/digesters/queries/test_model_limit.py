"""The model as one more limit: it lowers to the minimum, never raises."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.digesters.core.day_limits import DayLimits
from apps.digesters.models import ModelState, ReadingKind
from apps.digesters.operations.record_reading import record_reading
from apps.digesters.queries.day_limits import day_limits
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def stored(cast: Cast, safe_vs_g: int | None, days_ago: int = 0) -> None:
    """A state's figure without a model run."""
    ModelState.unscoped.update_or_create(
        group=cast.group,
        digester=cast.drum,
        on=cast.today - timedelta(days=days_ago),
        defaults={"blob": b"", "inputs_hash": "", "model_version": 1, "safe_vs_g": safe_vs_g},
    )


def today(cast: Cast) -> DayLimits:
    return day_limits(cast.group, cast.today, 1)[cast.drum.code].days[0].limits


def test_by_itself_it_lowers_to_the_minimum_and_below_only_with_an_observation(cast: Cast) -> None:
    by_rules = today(cast)
    stored(cast, 0)
    lowered = today(cast)
    assert lowered.binding("vs_g").rule_id == "model"
    assert lowered.max_vs_g == by_rules.min_vs_g > 0
    record_reading(  # below 6.8, where the model is believed; above 6.5, where feeding stops
        cast.drum,
        kind=ReadingKind.PH,
        value=660,
        taken_at=cast.now,
        now=cast.now,
        client_key="strip",
    )
    assert today(cast).max_vs_g == 0


@pytest.mark.parametrize(("safe_vs_g", "days_ago"), [(None, 0), (10**6, 0), (0, 8)])
def test_it_raises_nothing_and_an_old_state_says_nothing(
    cast: Cast, safe_vs_g: int | None, days_ago: int
) -> None:
    by_rules = today(cast)
    stored(cast, safe_vs_g, days_ago)
    with_model = today(cast)
    assert with_model.max_vs_g == by_rules.max_vs_g
    assert with_model.target_vs_g == by_rules.target_vs_g


def test_a_newer_state_comes_before_an_older_one(cast: Cast) -> None:
    by_rules = today(cast)
    stored(cast, 0, days_ago=1)
    stored(cast, None)
    assert today(cast).max_vs_g == by_rules.max_vs_g


def test_queries_do_not_grow_with_states(cast: Cast) -> None:
    with CaptureQueriesContext(connection) as without:
        today(cast)
    for back in range(5):
        stored(cast, 300, days_ago=back)
    with CaptureQueriesContext(connection) as with_states:
        today(cast)
    assert len(with_states) == len(without)
