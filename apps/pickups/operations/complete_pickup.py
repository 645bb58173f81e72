"""A pickup was carried out: write down what was collected and what arrived.

One downward call to the ledger in the same transaction, under the lock of the pickup's row and
a key made from the pickup, so that a repeat changes nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.kernel.days import local_date
from apps.kernel.errors import NeedsConfirmation, Refused
from apps.kernel.quantities import MAX_FACT, in_thousands
from apps.ledger.models import AccountKind
from apps.ledger.operations.record_collection import record_collection
from apps.pickups.core.weights import are_contested, is_unusual
from apps.pickups.models import Pickup, PickupLine
from apps.pickups.operations.take_off_cart import take_off_cart
from apps.pickups.operations.take_step import Act, begin_step, tell
from apps.pickups.queries.hand_over import LineToWeigh, hand_over


class WeightUnreadable(Refused):
    """A weight that no pickup can have."""

    code = "weight_unreadable"


class WeightUnusual(NeedsConfirmation):
    """At least three times what was planned."""

    code = "weight_unusual"


class NotYet(Refused):
    """The day of the pickup has not come."""

    code = "not_yet"


@dataclass(frozen=True, slots=True)
class Weight:
    """Net grams of one line: collected = delivered + set aside."""

    collected_g: int
    delivered_g: int


def complete_pickup(
    group: Group,
    pickup_uuid: UUID,
    act: Act,
    *,
    weights: Mapping[UUID, Weight] | None = None,
    is_confirmed: bool = False,
) -> tuple[Pickup, bool]:
    """Return the pickup and whether this was new.

    `weights` by line; a line left out weighed what a carrier fetched of it, else what was planned.
    What is on a cart comes off it in the book. Three times the planned amount or more raises
    `WeightUnusual` unless `is_confirmed`. Facts: `pickup_delivered`; `weight_contested` where the
    giver's weight is too far from it; `pickup_done_by_another` where another than the fetcher did.
    """
    with transaction.atomic():
        pickup, is_new = begin_step(group, pickup_uuid, act)
        if not is_new:
            return pickup, False
        if pickup.on > local_date(act.now, group.time_zone):
            raise NotYet(
                _("This pickup is for %(day)s. Confirm it when it has been carried out."),
                figures={"day": pickup.on.isoformat()},
            )
        handed = hand_over(pickup)
        weighed = _weigh(handed.lines, weights or {}, is_confirmed=is_confirmed)
        delivered_g, rejected_g = defaultdict(int), defaultdict(int)
        for line in handed.lines:
            weight = weighed[line.uuid]
            delivered_g[line.material] += weight.delivered_g
            rejected_g[line.material] += weight.collected_g - weight.delivered_g
            PickupLine.unscoped.filter(pk=line.pk).update(
                collected_g=weight.collected_g, delivered_g=weight.delivered_g
            )
        tell(pickup, act, {"delivered_g": sum(delivered_g.values())})
        collected_g = sum(weight.collected_g for weight in weighed.values())
        if are_contested(pickup.giver_weight_g, collected_g):
            tell(pickup, act, kind="weight_contested")
        if pickup.fetcher_id not in (None, act.actor.member and act.actor.member.pk):
            tell(pickup, act, kind="pickup_done_by_another")
        by_uuid = act.actor.member.uuid if act.actor.member else None
        if any(line.fetched_g is not None for line in handed.lines):
            take_off_cart(group, pickup, now=act.now, by_uuid=by_uuid)
        # The book last: its balances are what other confirmations wait for.
        if collected_g:
            record_collection(
                group,
                source_account=handed.source_account,
                bin_account=handed.bin_account,
                delivered_g=dict(delivered_g),
                rejected_g=dict(rejected_g),
                rejected_to=AccountKind.DISCARDED,
                happened_at=act.now,
                now=act.now,
                client_key=f"pickup-{pickup.uuid}",
                recorded_by_uuid=by_uuid,
                is_first=True,
            )
    return pickup, True


def _weigh(
    lines: Sequence[LineToWeigh], weights: Mapping[UUID, Weight], *, is_confirmed: bool
) -> dict[UUID, Weight]:
    """One believable weight for each line."""
    known = {line.uuid for line in lines}
    if weights.keys() - known:
        raise WeightUnreadable(_("A weight was given for something that is not in this pickup."))
    weighed = {}
    for line in lines:
        usual_g = line.planned_g if line.fetched_g is None else line.fetched_g
        weight = weights.get(line.uuid, Weight(usual_g, usual_g))
        if not 0 <= weight.delivered_g <= weight.collected_g <= MAX_FACT:
            raise WeightUnreadable(
                _("%(arrived)s kg cannot arrive of %(collected)s kg collected. Check both."),
                figures={
                    "arrived": in_thousands(weight.delivered_g),
                    "collected": in_thousands(weight.collected_g),
                },
            )
        if is_unusual(weight.collected_g, line.planned_g) and not is_confirmed:
            raise WeightUnusual(
                _("%(given)s kg is far more than the %(planned)s kg planned. Is it right?"),
                figures={
                    "given": in_thousands(weight.collected_g),
                    "planned": in_thousands(line.planned_g),
                },
            )
        weighed[line.uuid] = weight
    if not any(weight.collected_g for weight in weighed.values()):
        raise WeightUnreadable(
            _("A pickup of 0 kg did not happen. Say so, with the reason, instead.")
        )
    return weighed
