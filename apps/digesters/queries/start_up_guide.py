"""Where a new digester stands in the start-up guide."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from apps.digesters.core.stages import Stage
from apps.digesters.core.start_up import (
    RAISES,
    STEPS,
    Filling,
    StartStep,
    StepText,
    first_filling,
)
from apps.digesters.models import Digester, StageChange
from apps.digesters.queries.records import group_rules

WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class GuideStep:
    """One screen; `done_on` lists the days on which it was taken."""

    step: StartStep
    text: StepText
    done_on: tuple[date, ...]


@dataclass(frozen=True, slots=True)
class Guide:
    """`due` is the step that comes next, not before `not_before_on`; None: it runs, or is in a
    stage that has no start-up."""

    steps: Sequence[GuideStep]
    due: StartStep | None
    not_before_on: date | None
    filling: Filling


def start_up_guide(digester: Digester, on: date) -> Guide:
    """One query. Steps of an earlier start (before it was emptied) do not count."""
    changes = list(StageChange.objects.of(digester.group).filter(digester=digester))
    since = max(
        (at for at, change in enumerate(changes) if _begins(change)),
        default=0,
    )
    done: dict[StartStep, list[date]] = {step: [] for step in StartStep}
    for change in changes[since:]:
        name = change.evidence.get("guide")
        if name in set(StartStep):
            done[StartStep(name)].append(change.since_on)
    due = _due(Stage(digester.stage), done)
    return Guide(
        steps=[GuideStep(step, STEPS[step], tuple(done[step])) for step in StartStep],
        due=due,
        not_before_on=_not_before(digester, due, done),
        filling=first_filling(digester.working_volume_ml),
    )


def _begins(change: StageChange) -> bool:
    return change.stage == Stage.DRY.value and "guide" not in change.evidence


def _due(stage: Stage, done: dict[StartStep, list[date]]) -> StartStep | None:
    if stage is Stage.DRY:
        return StartStep.SEED if done[StartStep.TIGHT] else StartStep.TIGHT
    if stage is Stage.SEEDED:
        return StartStep.REST
    if stage is Stage.RESTING:
        for step in (StartStep.VENT, StartStep.FLAME):
            if not done[step]:
                return step
        return StartStep.RAMP
    if stage is Stage.RAMPING:
        return StartStep.RAISE if len(done[StartStep.RAISE]) < RAISES else StartStep.RUN
    return None


def _not_before(
    digester: Digester, due: StartStep | None, done: dict[StartStep, list[date]]
) -> date | None:
    if due is StartStep.RAMP:
        rest_days = group_rules(digester.group).value("seed_rest")
        return digester.stage_since_on + timedelta(days=math.ceil(rest_days))
    if due in (StartStep.RAISE, StartStep.RUN):
        return max([digester.stage_since_on, *done[StartStep.RAISE]]) + WEEK
    return None
