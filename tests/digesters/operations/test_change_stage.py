"""Stages change by allowed steps, on evidence, with their caution."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.digesters.core.stages import Evidence, Stage
from apps.digesters.models import Digester, ReadingKind, StageChange
from apps.digesters.operations.change_stage import StageRefused, change_stage, confirm_step
from apps.digesters.operations.record_reading import record_reading
from apps.digesters.queries.day_limits import day_limits
from tests.cast import Cast

WELL = {Evidence.GAS_BURNS, Evidence.PH_GOOD, Evidence.NO_SOUR_SMELL}


def stage_of(digester: Digester, stage: Stage, days_ago: int, cast: Cast) -> Digester:
    digester.stage = stage.value
    digester.stage_since_on = cast.today - timedelta(days=days_ago)
    digester.save()
    return digester


def test_a_step_that_does_not_exist_names_those_that_do(cast: Cast) -> None:
    with pytest.raises(StageRefused, match="it may become: paused, recovering, closed"):
        change_stage(cast.drum, Stage.SEEDED, evidence=WELL, on=cast.today, now=cast.now)


def test_evidence_that_is_missing_is_named(cast: Cast) -> None:
    with pytest.raises(StageRefused, match="The household agrees"):
        change_stage(cast.bag, Stage.RECOVERING, evidence=(), on=cast.today, now=cast.now)


def test_a_paused_digester_recovers_from_its_pause(cast: Cast) -> None:
    done = change_stage(
        cast.bag,
        Stage.RECOVERING,
        evidence={Evidence.HOME_AGREES},
        on=cast.today,
        now=cast.now,
        recorded_by=cast.carla,
    )
    assert "step by step" in done.caution
    assert done.change.evidence["recovering_from"] == "pause"
    cast.bag.refresh_from_db()
    assert cast.bag.stage == "recovering"
    limits = day_limits(cast.group, cast.today, 1)["heitor-bag"].days[0].limits
    assert limits.max_vs_g > 0


def test_rest_after_seeding_is_counted_in_days(cast: Cast) -> None:
    """15 days without waste: common practice, no source."""
    bag = stage_of(cast.bag, Stage.RESTING, 14, cast)
    seen = {
        Evidence.RESTED,
        Evidence.FIRST_GAS_VENTED,
        Evidence.GAS_BURNS,
        Evidence.PH_GOOD,
    }
    with pytest.raises(StageRefused, match="14 of 15 days"):
        change_stage(bag, Stage.RAMPING, evidence=seen, on=cast.today, now=cast.now)
    stage_of(bag, Stage.RESTING, 15, cast)
    change_stage(bag, Stage.RAMPING, evidence=seen, on=cast.today, now=cast.now)


def test_what_is_vouched_for_must_not_contradict_the_last_strip(cast: Cast) -> None:
    bag = stage_of(cast.bag, Stage.RECOVERING, 20, cast)
    record_reading(
        bag, kind=ReadingKind.PH, value=660, taken_at=cast.now, now=cast.now, client_key="strip"
    )
    with pytest.raises(StageRefused, match=r"showed 6\.6; take a new one"):
        change_stage(bag, Stage.RAMPING, evidence=WELL, on=cast.today, now=cast.now)


@pytest.mark.parametrize(("days", "said"), [(1, "has not come yet"), (-11, "cannot lie before")])
def test_days_that_cannot_be_are_refused(cast: Cast, days: int, said: str) -> None:
    with pytest.raises(StageRefused, match=said):
        change_stage(
            cast.bag,
            Stage.CLOSED,
            evidence=(),
            on=cast.today + timedelta(days=days),
            now=cast.now,
        )


def test_a_ramp_rises_a_step_a_week_on_evidence(cast: Cast) -> None:
    """25, 50, 75, 100 % by week (Voegeli et al. 2014, from memory)."""
    bag = stage_of(cast.bag, Stage.RAMPING, 8, cast)
    StageChange.objects.of(cast.group).filter(digester=bag).delete()
    step = {Evidence.GAS_BURNS, Evidence.PH_GOOD}

    def share() -> int:
        limits = day_limits(cast.group, cast.today, 1)["heitor-bag"].days[0].limits
        ramp = next(
            limit
            for limit in limits.limits
            if (limit.rule_id, limit.quantity) == ("ramp", "feed_g")
        )
        return round(100 * ramp.value / bag.rated_feed_g)

    assert share() == 25
    with pytest.raises(StageRefused, match="must be seen"):
        confirm_step(bag, evidence={Evidence.GAS_BURNS}, on=cast.today, now=cast.now)
    confirm_step(bag, evidence=step, on=cast.today, now=cast.now)
    assert share() == 50
    with pytest.raises(StageRefused, match="wait until a week is over"):
        confirm_step(bag, evidence=step, on=cast.today, now=cast.now)


def test_only_a_rising_digester_takes_steps(cast: Cast) -> None:
    with pytest.raises(StageRefused, match="only a ramping or recovering one"):
        confirm_step(cast.drum, evidence=WELL, on=cast.today, now=cast.now)
