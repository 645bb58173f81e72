"""Where a soured digester stands on its way back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from apps.digesters.core.recovery import RECOVERY, RecoveryStep, RecoveryText, recovery_step
from apps.digesters.core.stages import UNFED, Stage
from apps.digesters.models import Digester, Reading, ReadingKind, StageChange, StageName
from apps.digesters.queries.records import group_rules


@dataclass(frozen=True, slots=True)
class RecoveryGuide:
    """`due` None: nothing soured. `strip` is the last one, of `strip_on`; `stopped_on` the day
    on which feeding was stopped."""

    due: RecoveryStep | None
    steps: Mapping[RecoveryStep, RecoveryText]
    strip: float | None
    strip_on: date | None
    stopped_on: date | None


def recovery_guide(digester: Digester, on: date) -> RecoveryGuide:
    """Three queries."""
    readings = Reading.objects.of(digester.group).filter(
        digester=digester, withdrawn_at=None, on__lte=on
    )
    strip = readings.filter(kind=ReadingKind.PH).last()
    smell = readings.filter(kind=ReadingKind.SOUR_SMELL).last()
    change = (
        StageChange.objects.of(digester.group)
        .filter(digester=digester, stage=StageName.RECOVERING)
        .last()
    )
    stop_hundredths = group_rules(digester.group).value("ph_stop") * 100
    is_sour = (strip is not None and strip.value < stop_hundredths) or (
        smell is not None and smell.value == 1
    )
    after_souring = (
        digester.stage == StageName.RECOVERING
        and (change.evidence if change else {}).get("recovering_from", "souring") == "souring"
    )
    due = None
    if after_souring or Stage(digester.stage) not in UNFED:
        due = recovery_step(
            is_recovering=digester.stage == StageName.RECOVERING and (after_souring or is_sour),
            is_sour=is_sour,
            days_stopped=max(0, (on - digester.stage_since_on).days),
            strip=strip.value / 100 if strip else None,
            strip_days=(on - strip.on).days if strip else 0,
        )
    return RecoveryGuide(
        due=due,
        steps=RECOVERY,
        strip=strip.value / 100 if strip else None,
        strip_on=strip.on if strip else None,
        stopped_on=digester.stage_since_on if digester.stage == StageName.RECOVERING else None,
    )
