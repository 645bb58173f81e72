"""A pickup of a round ended elsewhere: order the round's rest anew without it."""

from __future__ import annotations

from datetime import UTC, datetime

from apps.groups.models import Fact, Work
from apps.kernel.errors import Refused
from apps.rounds.models import LIVE, Round, RoundStop, StopState
from apps.rounds.operations.replan_round import replan_round
from apps.rounds.queries.rest_problem import CARRIED


def mend_round(work: Work, now: datetime | None = None) -> None:
    """Consumer after a pickup was declined, withdrawn, failed, or done by another than its carrier:
    does nothing where no round still waits for it, which is so when the carrier noted it."""
    fact = Fact.objects.of(work.group).get(uuid=work.payload["fact"])
    stop = (
        RoundStop.objects.of(work.group)
        .filter(pickup__uuid=fact.subject_uuid, state=StopState.WAITING, round__state__in=LIVE)
        .exclude(pickup__state__in=CARRIED)
        .first()
    )
    if stop is None:
        return
    found = Round.objects.of(work.group).get(pk=stop.round_id)
    try:
        replan_round(work.group, found.uuid, now=now or datetime.now(UTC), asked_by=None)
    except Refused:
        # Over, or changed at this moment by somebody who sees it as it is now.
        return
