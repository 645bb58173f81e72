"""A new digester from the tightness test to its first feed, in order and with dates kept."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from apps.digesters.core.start_up import StartStep
from apps.digesters.models import Digester, StageChange
from apps.digesters.operations.change_stage import StageRefused
from apps.digesters.operations.take_start_up_step import Loss, StepNotYet, take_start_up_step
from apps.digesters.queries.lighting import why_not_light
from apps.digesters.queries.start_up_guide import start_up_guide
from apps.kernel.days import local_instant
from tests.cast import Cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def dry(cast: Cast) -> Digester:
    """Heitor's bag, emptied and begun anew today."""
    cast.bag.stage = "dry"
    cast.bag.stage_since_on = cast.today
    cast.bag.save()
    StageChange.objects.of(cast.group).filter(digester=cast.bag).update(stage="dry")
    return cast.bag


def at(cast: Cast, on: date) -> datetime:
    return local_instant(on, cast.now.time(), cast.group.time_zone)


def take(cast: Cast, step: StartStep, days: int, **changes):
    on = cast.today + timedelta(days=days)
    cast.bag.refresh_from_db()
    return take_start_up_step(
        cast.bag, step, on=on, now=at(cast, on), recorded_by=cast.heitor, **changes
    )


def test_the_steps_come_in_their_order_and_keep_their_days(cast, dry):
    with pytest.raises(StepNotYet, match="Is it tight"):
        take(cast, StartStep.SEED, 0)
    with pytest.raises(StepNotYet, match="tight is under 60 L"):  # 2 % of 3000 L
        take(cast, StartStep.TIGHT, 0, loss=Loss(60_000))
    take(cast, StartStep.TIGHT, 0, loss=Loss(20_000))
    take(cast, StartStep.SEED, 1, filled_with="dung")
    assert "Vent" in str(why_not_light(Digester.unscoped.get(pk=dry.pk)))
    take(cast, StartStep.REST, 1)
    with pytest.raises(StepNotYet, match="Let the first holder out"):
        take(cast, StartStep.FLAME, 5)
    assert "Vent" in str(why_not_light(Digester.unscoped.get(pk=dry.pk)))
    take(cast, StartStep.VENT, 6)
    assert why_not_light(Digester.unscoped.get(pk=dry.pk)) is None
    take(cast, StartStep.FLAME, 9)
    with pytest.raises(StageRefused, match="wait"):
        take(cast, StartStep.RAMP, 10)
    take(cast, StartStep.RAMP, 16)
    dry.refresh_from_db()
    assert dry.stage == "ramping"
    guide = start_up_guide(dry, cast.today + timedelta(days=16))
    assert guide.due is StartStep.RAISE
    assert guide.not_before_on == cast.today + timedelta(days=23)
    done = {each.step: [(on - cast.today).days for on in each.done_on] for each in guide.steps}
    assert done == {
        StartStep.TIGHT: [0],
        StartStep.SEED: [1],
        StartStep.REST: [1],
        StartStep.VENT: [6],
        StartStep.FLAME: [9],
        StartStep.RAMP: [16],
        StartStep.RAISE: [],
        StartStep.RUN: [],
    }
    for days in (23, 30, 37):
        take(cast, StartStep.RAISE, days)
    take(cast, StartStep.RUN, 44)
    dry.refresh_from_db()
    assert dry.stage == "running"
    assert start_up_guide(dry, cast.today + timedelta(days=44)).due is None
