"""The giver says what was handed over; where the two sides differ, both see it."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.http import Http404
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.quantities import MAX_FACT
from apps.people.models import Member
from apps.pickups.core.life import State, refusal
from apps.pickups.core.weights import are_contested
from apps.pickups.models import Pickup
from apps.pickups.operations.complete_pickup import WeightUnreadable
from apps.pickups.queries.two_weights import fetched_g

GONE = (State.DECLINED, State.WITHDRAWN)


@transaction.atomic
def state_weight(
    group: Group, pickup_uuid: UUID, amount_g: int, *, now: datetime, stated_by: Member | None
) -> Pickup:
    """Net grams of the whole pickup as the giver weighed them. Stating again replaces it; the
    ledger keeps the fetcher's weight. Fact: `weight_contested` when they are too far apart."""
    pickup: Pickup | None = (
        Pickup.objects.of(group).select_for_update(of=("self",)).filter(uuid=pickup_uuid).first()
    )
    if pickup is None:
        raise Http404
    if pickup.state in GONE:
        raise refusal(State(pickup.state))
    if not 1 <= amount_g <= MAX_FACT:
        raise WeightUnreadable(
            _("%(given)s g cannot have been handed over. Give 1 g to 2 t."),
            field="amount_g",
            figures={"given": amount_g},
        )
    if pickup.giver_weight_g == amount_g:
        return pickup
    pickup.giver_weight_g = amount_g
    pickup.save(update_fields=["giver_weight_g"])
    theirs_g = fetched_g(pickup)
    contested = are_contested(amount_g, theirs_g)
    record_fact(
        group,
        "weight_contested" if contested else "weight_stated",
        happened_at=now,
        subject_uuid=pickup.uuid,
        payload={"giver_g": amount_g, "fetcher_g": theirs_g},
        actor_uuid=stated_by.uuid if stated_by else None,
    )
    return pickup
