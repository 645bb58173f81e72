"""Requests made up from the API's own description, sent to the demo neighbourhood.

Values that name something are led to real ones nine times of ten, so that requests get past
the door; every request is undone, so that each meets the same neighbourhood.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import schemathesis
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections, transaction
from schemathesis.checks import CHECKS, load_all_checks

from apps.digesters.models import ConcernKind, ReadingKind
from apps.digesters.operations.change_limit import tighten_limit
from apps.digesters.operations.raise_concern import raise_concern
from apps.digesters.operations.record_reading import record_reading
from apps.feedstock.models import Measure
from apps.ledger.models import Posting, PostingKind
from apps.people.models import Member, MemberRole, Role
from apps.pickups.models import Pickup, PickupLine
from apps.pickups.operations.note_pail import save_pail
from apps.places.operations.import_streets import import_streets
from apps.places.operations.set_absence import set_absence
from apps.planning.models import Assignment, LeftOver, Plan
from apps.planning.operations.ban_pair import ban_pair
from apps.planning.operations.make_plan import make_plan
from tests.access.actors import bearer
from tests.cast import Cast
from tests.places.extracts import harbour

LEFT_OUT = {
    # A body that fits its description may still be refused by a rule of the house: 409, 422.
    "positive_data_acceptance",
    # Values that name something are led to real ones, so "wrong" requests may turn out right.
    "negative_data_rejection",
    # The sender's own token replaces a made-up one; tests/access tries every kind of sender.
    "ignored_auth",
    # Everything is undone after each request.
    "ensure_resource_availability",
    "use_after_free",
}
"""Checks of the tool that do not fit, with the reason."""

LED_OF = 10
"""One of this many values is left as it was made up."""

load_all_checks()
FITTING_CHECKS = [CHECKS.get_one(name) for name in CHECKS.get_all_names() if name not in LEFT_OUT]


def load_schema() -> Any:
    """The description as the service serves it."""
    schema = schemathesis.openapi.from_wsgi("/api/v1/schema", get_wsgi_application())
    schema.config.generation.update(database="none")
    return schema


class Neighbourhood:
    """The cast with a plan, and a sender for each role."""

    def __init__(self, cast: Cast) -> None:
        self.group = cast.group.code
        plan: Plan = make_plan(cast.group, now=cast.now)
        assignment = Assignment.objects.of(cast.group).filter(plan=plan).first()
        left_over = LeftOver.objects.of(cast.group).filter(plan=plan).first()
        at = cast.now - timedelta(hours=3)
        feeding = Posting.objects.of(cast.group).filter(kind=PostingKind.FEEDING).last()
        reading = record_reading(
            cast.drum, kind=ReadingKind.PH, value=700, taken_at=at, now=cast.now, client_key="r"
        ).reading
        limit = tighten_limit(
            cast.drum, "feed_g", Decimal(4000), reason="Guest.", asked_by=cast.ana, now=at
        )
        ban = ban_pair(
            cast.group, source=cast.ines_garden, digester=cast.bag, on=None, now=cast.now
        )
        absence = set_absence(cast.bag.place, first_on=cast.today, last_on=cast.today, now=cast.now)
        tomorrow = cast.today + timedelta(days=1)
        pickup = _pickup(cast, plan)
        save_pail(cast.group, code="12", tare_g=900)
        concern = raise_concern(
            cast.quay_stall.place, ConcernKind.FLIES, now=at, client_key="c"
        ).concern
        extract = import_streets(cast.group, harbour(), file_name="h.osm.pbf", now=cast.now)
        for code, volume_ml in (("cup", 1_000), ("jug", 2_500)):
            Measure.unscoped.create(group=cast.group, code=code, name=code, volume_ml=volume_ml)
        self.names: dict[str, list[Any]] = {
            "group": [self.group],
            "version": [plan.version],
            "assignment": [str(assignment.uuid)] if assignment else [],
            "left_over": [str(left_over.uuid)] if left_over else [],
            "feeding": [str(feeding.uuid)],
            "reading": [str(reading.uuid)],
            "change": [str(limit.uuid)],
            "ban": [str(ban.uuid)],
            "absence": [str(absence.uuid)],
            "pickup": [str(pickup.uuid)],
            "line": [str(line.uuid) for line in pickup.lines.all()],
            "revision": [pickup.revision],
            "pail": ["12"],
            "exchanged_for": ["12"],
            "concern": [str(concern.uuid)],
            "measure": ["cup", "jug"],
            "place": ["quay", "duarte-home"],
            "member": ["duarte", "heitor"],
            "keyholder": ["elsa"],
            "contact": ["filipe"],
            "material": ["grass", "citrus_peel"],
            "source": ["quay-stall", "ines-garden"],
            "stream": ["quay-vegetables", "ines-grass"],
            "destination": ["allotment-compost"],
            "digester": ["duarte-drum", "elsa-dome", "heitor-bag"],
            "extract": [str(extract.uuid)],
            "text": ["38.5, -9.0", "8CCHG222+22"],
            "location_code": ["", "8CCHG222+22"],
            "sheet": ["places", "streams", "workbook", "feedings"],
            "on": [tomorrow.isoformat(), cast.today.isoformat()],
            "batch_on": [tomorrow.isoformat(), cast.today.isoformat()],
            "happened_at": [(cast.now - timedelta(hours=2)).isoformat()],
            "taken_at": [(cast.now - timedelta(hours=2)).isoformat()],
            "limit_id": ["feed_g", "olr_28"],
        }
        self.headers = {role.value: bearer(self._member(cast, role)) for role in Role}
        self.headers["everything"] = bearer(self._member(cast, *Role))

    def _member(self, cast: Cast, *roles: Role) -> Member:
        """Somebody of the cast for a role, so that there is something of their own to see."""
        of = {
            Role.GROUP_ADMIN: cast.ana,
            Role.ASSIGNER: cast.bruno,
            Role.COORDINATOR: cast.carla,
            Role.HOUSEHOLDER: cast.duarte,
            Role.SOURCE_CONTACT: cast.filipe,
            Role.CARRIER: cast.graca,
        }
        if len(roles) == 1:
            return of[roles[0]]
        MemberRole.unscoped.bulk_create(
            MemberRole(group=cast.group, member=cast.elsa, role=role)
            for role in roles
            if role != Role.HOUSEHOLDER
        )
        return cast.elsa

    def lead(self, case: Any) -> None:
        """Replace what names something, in the path and in the body. The turn hangs on the
        operation too: all of them are given the same first values."""
        self._operation = str(case.operation.label)
        if case.path_parameters:
            case.path_parameters = {
                name: self._led(name, value) for name, value in case.path_parameters.items()
            }
        case.body = self._lead_body(case.body)

    def _lead_body(self, value: Any) -> Any:
        if isinstance(value, dict):
            return {
                name: self._led(name, inner)
                if isinstance(inner, str | int)
                else self._lead_body(inner)
                for name, inner in value.items()
            }
        return [self._lead_body(each) for each in value] if isinstance(value, list) else value

    def _led(self, name: str, value: Any) -> Any:
        known = self.names.get(name)
        turn = zlib.crc32(f"{self._operation} {value!r}".encode("utf-8", "backslashreplace"))
        return known[turn % len(known)] if known and turn % LED_OF else value


def _pickup(cast: Cast, plan: Plan) -> Pickup:
    """Elsa's, today, as if announced: the plan itself stays a draft."""
    pickup: Pickup = Pickup.unscoped.create(
        group=cast.group,
        plan=plan,
        source=cast.quay_stall,
        digester=cast.dome,
        fetcher=cast.elsa,
        on=cast.today,
        from_min=540,
        till_min=720,
        changed_at=cast.now,
    )
    PickupLine.unscoped.create(
        group=cast.group,
        pickup=pickup,
        stream=cast.vegetables,
        batch_on=cast.today,
        planned_g=3_000,
    )
    return pickup


@contextmanager
def undone() -> Iterator[None]:
    """Nothing of what happens inside stays. As with Django's own test client, a request's
    beginning and end do not close the connection that the test holds open."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    try:
        with transaction.atomic():
            yield
            transaction.set_rollback(True)
    finally:
        for signal in (request_started, request_finished):
            signal.connect(close_old_connections)


def send(neighbourhood: Neighbourhood, case: Any, who: str) -> int:
    """Send one request and check its answer; return the status. A fault (5xx) or an answer that
    the description does not have raises."""
    neighbourhood.lead(case)
    with undone():
        response = case.call(headers=neighbourhood.headers[who])
        case.validate_response(response, checks=FITTING_CHECKS)
    return int(response.status_code)


def today_cast_instant() -> datetime:
    """Requests run on the real clock; the neighbourhood does too."""
    return datetime.now(UTC)
