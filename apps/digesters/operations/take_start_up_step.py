"""Take one step of the start-up guide; each is kept with its day, its evidence and its name."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import transaction

from apps.digesters.core.start_up import MOST_LOSS_PERCENT, STEPS, StartStep, is_tight
from apps.digesters.models import Digester, StageChange
from apps.digesters.operations.change_stage import change_stage, confirm_step
from apps.digesters.queries.start_up_guide import start_up_guide
from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.kernel.errors import Refused
from apps.kernel.figures import FigureError
from apps.kernel.quantities import in_thousands
from apps.kernel.words import gettext_noop
from apps.people.models import Member


class StepNotYet(Refused):
    """Another step comes first, or its day or evidence is missing."""

    code = "step_not_yet"


@dataclass(frozen=True, slots=True)
class Loss:
    """What a filled tank lost in the tightness test."""

    lost_ml: int
    hours: int = 24


@transaction.atomic
def take_start_up_step(
    digester: Digester,
    step: StartStep,
    *,
    on: date,
    now: datetime,
    recorded_by: Member | None = None,
    loss: Loss | None = None,
    filled_with: str = "",
) -> StageChange:
    """`recorded_by` vouches for what the step asks for. `loss` belongs to TIGHT, `filled_with`
    ("dung" or "slurry") to SEED."""
    row: Digester = (
        Digester.objects.of(digester.group)
        .select_for_update(of=("self",))
        .select_related("group")
        .get(pk=digester.pk)
    )
    due = start_up_guide(row, on).due
    if step is not due:
        raise StepNotYet(
            gettext_noop("First comes: %(title)s"),
            figures={"title": STEPS[due].title if due else gettext_noop("nothing; it runs")},
        )
    text = STEPS[step]
    if step is StartStep.TIGHT:
        return _note(row, step, on, now, recorded_by, _checked_loss(row, loss))
    if step in (StartStep.VENT, StartStep.FLAME):
        return _note(row, step, on, now, recorded_by, {})
    if step is StartStep.RAISE:
        change = confirm_step(row, evidence=text.seen, on=on, now=now, recorded_by=recorded_by)
    else:
        assert text.goal is not None
        change = change_stage(
            row, text.goal, evidence=text.seen, on=on, now=now, recorded_by=recorded_by
        ).change
    change.evidence = {**change.evidence, "guide": str(step)}
    if filled_with:
        change.evidence["filled_with"] = filled_with[:20]
    change.save(update_fields=["evidence"])
    return change


def _checked_loss(digester: Digester, loss: Loss | None) -> dict[str, Any]:
    if loss is None:
        raise StepNotYet(gettext_noop("Say how many litres it lost in the test."), field="lost_ml")
    try:
        tight = is_tight(digester.working_volume_ml, loss.lost_ml, loss.hours)
    except FigureError as error:
        raise StepNotYet(str(error), field="lost_ml") from error
    if not tight:
        most_ml = digester.working_volume_ml * MOST_LOSS_PERCENT * loss.hours // 2400
        raise StepNotYet(
            gettext_noop(
                "It lost %(lost)s L in %(hours)s h; tight is under %(most)s L. Find the leak, "
                "have it mended from outside, and test again."
            ),
            field="lost_ml",
            figures={
                "lost": in_thousands(loss.lost_ml),
                "hours": loss.hours,
                "most": in_thousands(most_ml),
            },
        )
    return {"lost_ml": loss.lost_ml, "hours": loss.hours}


def _note(
    digester: Digester,
    step: StartStep,
    on: date,
    now: datetime,
    recorded_by: Member | None,
    figures: dict[str, Any],
) -> StageChange:
    """Evidence within a stage: a row of the same stage."""
    today = local_date(now, digester.group.time_zone)
    if not digester.stage_since_on <= on <= today:
        raise StepNotYet(
            gettext_noop("Give a day from %(first)s to %(last)s."),
            field="on",
            figures={"first": digester.stage_since_on, "last": today},
        )
    seen = sorted(each.name for each in STEPS[step].seen)
    change = StageChange.unscoped.create(
        group=digester.group,
        digester=digester,
        stage=digester.stage,
        since_on=on,
        evidence={"guide": str(step), "seen": seen, **figures},
        recorded_at=now,
        recorded_by=recorded_by,
    )
    record_fact(
        digester.group,
        "start_up_step_taken",
        happened_at=now,
        subject_uuid=digester.uuid,
        payload={"step": str(step), "on": on.isoformat(), **figures},
        actor_uuid=recorded_by.uuid if recorded_by else None,
    )
    return change
