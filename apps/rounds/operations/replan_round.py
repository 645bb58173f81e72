"""Order the rest of a round anew: what is done stays, what is on the cart is brought."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.people.models import Member
from apps.rounds.core.engine import Effort
from apps.rounds.core.solve import solve
from apps.rounds.models import LIVE, Round, RoundState
from apps.rounds.operations.announce_round import locked
from apps.rounds.operations.errors import RoundRefused
from apps.rounds.operations.write_tour import end_when_through, write_tour
from apps.rounds.queries.rest_problem import rest_problem


def replan_round(
    group: Group,
    round_uuid: UUID,
    *,
    now: datetime,
    asked_by: Member | None,
    effort: Effort | None = None,
) -> Round:
    """The search runs outside of the transaction; whoever changed the round meanwhile wins.
    Fact, for an announced round: `round_changed`."""
    with transaction.atomic():
        found = locked(group, round_uuid)
        seen = _seen(found)
    if found.state not in LIVE:
        raise RoundRefused(_("This round is over. Nothing in it can be changed."))
    rest = rest_problem(found, now)
    answer = solve(rest.rounds, effort)
    with transaction.atomic():
        found = locked(group, round_uuid)
        if found.state not in LIVE or _seen(found) != seen:
            raise RoundRefused(_("The round changed meanwhile. Look at it again."))
        found.version += 1
        write_tour(found, rest.problem, answer)
        end_when_through(found)
        if found.state != RoundState.DRAFT:
            record_fact(
                group,
                "round_changed",
                happened_at=now,
                subject_uuid=found.uuid,
                payload={"on": found.on.isoformat(), "version": found.version},
                actor_uuid=asked_by.uuid if asked_by else None,
            )
    return found


def _seen(found: Round) -> tuple[int, tuple[tuple[int, str, int | None], ...]]:
    stops = found.stops.order_by("id").values_list("id", "state", "locked_s")
    return found.version, tuple(stops)
