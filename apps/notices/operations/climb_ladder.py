"""A pickup has not been fetched: remind, ask those on standby, tell the coordinator."""

from __future__ import annotations

from datetime import UTC, datetime

from django.db import transaction

from apps.groups.models import Work
from apps.notices.operations.give_notice import give_notice
from apps.people.models import Member
from apps.pickups.core.ladder import Rung
from apps.pickups.core.life import State
from apps.pickups.models import Pickup, Standby
from apps.pickups.queries.who_to_ask import coordinators

KINDS = {
    Rung.REMINDER: "pickup_reminder",
    Rung.SECOND_REMINDER: "pickup_reminder",
    Rung.STANDBY: "pickup_standby",
    Rung.COORDINATOR: "pickup_unfetched",
}


@transaction.atomic
def climb_ladder(work: Work) -> None:
    """Consumer of `climb_ladder`. Nothing when it was fetched, ended or changed meanwhile, or
    when whoever goes said that they come later: a ladder for the new time stands then."""
    asked = work.payload
    pickup = (
        Pickup.objects.of(work.group)
        .select_for_update(of=("self",))
        .select_related("fetcher__group", "digester__household__group")
        .get(uuid=asked["pickup"])
    )
    if (
        pickup.state not in (State.ANNOUNCED, State.ACCEPTED)
        or pickup.revision != asked["revision"]
        or pickup.expected_till_min != asked["till_min"]
    ):
        return
    rung = Rung(asked["rung"])
    for member in _told(pickup, rung):
        give_notice(
            member,
            KINDS[rung],
            f"pickup-{pickup.uuid}-{rung}",
            now=datetime.now(UTC),
            version=pickup.revision,
            payload={"pickup": str(pickup.uuid), "rung": str(rung)},
        )


def _told(pickup: Pickup, rung: Rung) -> list[Member]:
    goes = pickup.fetcher or pickup.digester.household
    if rung is Rung.COORDINATOR:
        return coordinators(pickup.group)
    if rung is Rung.STANDBY:
        rows = Standby.objects.of(pickup.group).filter(member__left_at=None)
        members = [each.member for each in rows.select_related("member__group").order_by("id")]
        return [each for each in members if each != goes]
    # Who said yes is trusted until shortly before the end.
    if goes is None or (rung is Rung.REMINDER and pickup.state == State.ACCEPTED):
        return []
    return [goes]
