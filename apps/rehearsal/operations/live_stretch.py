"""Live the next days of one policy's rehearsed year, and put them away.

A worker that is killed leaves the row as it was: whoever takes the work up again starts from
there. Of two that live the same days, the first to write wins, and both lived the same.
"""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime

from django.db import transaction

from apps.groups.models import Work
from apps.groups.operations.record_fact import record_fact
from apps.rehearsal.core.bound import bound_year, judge_world
from apps.rehearsal.core.figures import compare, sum_weeks, sum_year
from apps.rehearsal.core.run import Journey, OldJourney, PolicyName, go_on, set_out
from apps.rehearsal.core.world import World
from apps.rehearsal.models import Rehearsal, RehearsalState, RehearsedStretch
from apps.rehearsal.models.packing import StrangeState, opened, seal
from apps.rehearsal.operations.begin_anew import begin_anew, stop_rehearsal
from apps.rehearsal.operations.start_rehearsal import ask_for_stretch
from apps.rehearsal.queries.rehearsed_world import rehearsed_world

HOME_DAYS = 126
"""Days times homes lived at once: well within a work row's lease."""


def live_stretch(work: Work, now: datetime | None = None) -> None:
    """Consumer of the work `rehearse`."""
    now = now or datetime.now(UTC)
    rehearsal = (
        Rehearsal.objects.of(work.group)
        .select_related("group")
        .filter(uuid=work.payload["rehearsal"])
        .first()
    )
    if rehearsal is not None:
        go_further(rehearsal, work.payload["policy"], now=now)


def go_further(rehearsal: Rehearsal, policy: str, *, now: datetime) -> bool:
    """Live a stretch; False when this policy's year is over, or nothing can go on.

    What an update of the service has overtaken begins again from the first day; where not even
    what it starts from can be read, the rehearsal is stopped."""
    try:
        world = rehearsed_world(rehearsal)
    except StrangeState:
        stop_rehearsal(rehearsal, now=now)
        return False
    try:
        return _go_further(rehearsal, world, policy, now)
    except (OldJourney, StrangeState):
        begin_anew(rehearsal, now=now)
        return True


def _go_further(rehearsal: Rehearsal, world: World, policy: str, now: datetime) -> bool:
    stretch = RehearsedStretch.objects.of(rehearsal.group).get(rehearsal=rehearsal, policy=policy)
    before = stretch.until_day
    if before < rehearsal.days:
        journey = _journey(stretch, world)
        length = max(1, HOME_DAYS // max(1, len(world.hood.homes)))
        for _day in go_on(journey, before + length):
            pass
        with transaction.atomic():
            written = (
                RehearsedStretch.objects.of(rehearsal.group)
                .filter(pk=stretch.pk, until_day=before)
                .update(until_day=journey.day, packed=seal(journey.pack()))
            )
            if written and journey.day < rehearsal.days:
                ask_for_stretch(rehearsal, policy, journey.day, now)
        if journey.day < rehearsal.days:
            return True
    _conclude(rehearsal, world, now)
    return False


def _journey(stretch: RehearsedStretch, world: World) -> Journey:
    if stretch.until_day == 0:
        return set_out(world, PolicyName(stretch.policy))
    return Journey.unpack(opened(stretch.packed), world)


def _conclude(rehearsal: Rehearsal, world: World, now: datetime) -> None:
    """When every policy has lived its year: the figures, once."""
    stretches = list(RehearsedStretch.objects.of(rehearsal.group).filter(rehearsal=rehearsal))
    if any(each.until_day < rehearsal.days for each in stretches):
        return
    if rehearsal.state == RehearsalState.DONE:
        return
    judged = judge_world(world)
    bound = bound_year(world, judged)
    figures, weeks = {}, {}
    for stretch in stretches:
        journey = _journey(stretch, world)
        rows = journey.year.rows
        figures[stretch.policy] = sum_year(world, judged, rows, journey.above_stored)
        weeks[stretch.policy] = sum_weeks(world, judged, rows)
    ours, by_hand = figures[PolicyName.OURS.value], figures[PolicyName.BY_HAND.value]
    stored = {
        "policies": {policy: asdict(each) for policy, each in figures.items()},
        "bound": asdict(bound),
        "weeks": weeks,
        "targets": [asdict(each) for each in compare(ours, by_hand, bound)],
        "homes": len(world.hood.homes),
        "streams": len(world.hood.streams),
    }
    with transaction.atomic():
        done = (
            Rehearsal.objects.of(rehearsal.group)
            .filter(pk=rehearsal.pk, state=RehearsalState.GOING_ON)
            .update(state=RehearsalState.DONE, figures=stored, done_at=now)
        )
        if done:
            record_fact(
                rehearsal.group,
                "rehearsal_done",
                happened_at=now,
                subject_uuid=rehearsal.uuid,
                payload={"name": rehearsal.name},
            )
