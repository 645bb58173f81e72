"""Lists ask the database as often for a thousand rows as for ten."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, models
from django.test.utils import CaptureQueriesContext

from apps.digesters.models import Concern, Digester, Reading
from apps.feedstock.models import Measure
from apps.ledger.models import Account
from apps.notices.models import Notice
from apps.people.models import Member, MemberRole, Role
from apps.pickups.models import ForeignMatter, Pail, Pickup, PickupEvent, PickupLine
from apps.places.models import Absence, Place
from apps.planning.models import Assignment, LeftOver, Plan
from apps.planning.operations.make_plan import make_plan
from apps.supply.models import Offer, Source, Stream
from tests.api.caller import Caller
from tests.cast import Cast, make_cast

FEW, MANY = 10, 1_000


def copies(row: models.Model, count: int, **change: Callable[[int], Any]) -> None:
    """Rows like `row`, each with its own identifiers and what `change` makes of its number."""
    model: Any = type(row)
    made = []
    for number in range(count):
        twin = copy(row)
        twin.pk = None
        twin.uuid = uuid4()  # type: ignore[attr-defined]
        for name, value in change.items():
            setattr(twin, name, value(number))
        made.append(twin)
    model.unscoped.bulk_create(made, batch_size=200)


def grow(cast: Cast, count: int, tag: str) -> None:
    """`count` more of everything that is listed."""
    place: Place = cast.drum.place
    copies(place, count, code=lambda number: f"{tag}-place-{number}")
    places = list(Place.objects.of(cast.group).filter(code__startswith=f"{tag}-place-"))
    for kind in ("source", "tank", "bin"):
        copies(cast.drum.account, count, code=lambda number, kind=kind: f"{tag}-{kind}-{number}")  # type: ignore[misc]
    accounts = {each.code: each for each in Account.objects.of(cast.group)}
    copies(
        cast.quay_stall,
        count,
        code=lambda number: f"{tag}-source-{number}",
        account=lambda number: accounts[f"{tag}-source-{number}"],
        place=lambda number: places[number],
    )
    sources = list(Source.objects.of(cast.group).filter(code__startswith=f"{tag}-source-"))
    copies(
        cast.vegetables,
        count,
        code=lambda number: f"{tag}-stream-{number}",
        source=lambda number: sources[number],
    )
    copies(
        cast.drum,
        count,
        code=lambda number: f"{tag}-digester-{number}",
        place=lambda number: places[number],
        account=lambda number: accounts[f"{tag}-tank-{number}"],
        bin_account=lambda number: accounts[f"{tag}-bin-{number}"],
    )
    streams = list(Stream.objects.of(cast.group).filter(code__startswith=f"{tag}-stream-"))
    offer = Offer(group=cast.group, on=cast.today, amount_g=1, said_at=cast.now)
    copies(offer, count, stream=lambda number: streams[number])
    absence = Absence(group=cast.group, first_on=cast.today, last_on=cast.today)
    copies(absence, count, place=lambda number: places[number])
    reading = Reading(
        group=cast.group,
        digester=cast.drum,
        kind="burner_min",
        value=9,
        taken_at=cast.now,
        on=cast.today,
    )
    copies(reading, count, client_key=lambda number: f"{tag}-{number}")
    copies(cast.graca, count, code=lambda number: f"{tag}-member-{number}", user=lambda _: None)
    MemberRole.unscoped.bulk_create(
        MemberRole(group=cast.group, member=member, role=Role.CARRIER)
        for member in Member.objects.of(cast.group).filter(code__startswith=f"{tag}-member-")
    )
    assignment = Assignment.objects.of(cast.group).first()
    copies(assignment, count, stream=lambda number: streams[number])
    copies(LeftOver.objects.of(cast.group).first(), count)
    grow_day(cast, count, tag, streams)


def grow_day(cast: Cast, count: int, tag: str, streams: list[Stream]) -> None:
    """`count` more of what a day has: pickups with a line and a step each, and what is noted."""
    homes = list(Digester.objects.of(cast.group).filter(code__startswith=f"{tag}-digester-"))
    plan = Plan.objects.of(cast.group).first()
    pickup = Pickup(
        group=cast.group, plan=plan, on=cast.today, from_min=0, till_min=9, changed_at=cast.now
    )
    copies(
        pickup,
        count,
        source=lambda number: streams[number].source,
        digester=lambda number: homes[number],
        fetcher=lambda _: cast.elsa,
    )
    # And as many for one source, and for one digester.
    copies(pickup, count, source=lambda _: cast.quay_stall, digester=lambda number: homes[number])
    copies(
        pickup, count, source=lambda number: streams[number].source, digester=lambda _: cast.drum
    )
    pickups = list(Pickup.objects.of(cast.group).filter(lines=None).select_related("source"))
    line = PickupLine(group=cast.group, batch_on=cast.today, planned_g=1)
    step = PickupEvent(
        group=cast.group, revision=1, step="accept", happened_at=cast.now, by=cast.duarte
    )
    for each in range(0, len(pickups), count):
        some = pickups[each : each + count]
        copies(
            line,
            len(some),
            pickup=lambda number, some=some: some[number],  # type: ignore[misc]
            stream=lambda _: cast.vegetables,
        )
        copies(
            step,
            len(some),
            pickup=lambda number, some=some: some[number],  # type: ignore[misc]
            client_key=lambda number, each=each: f"{tag}-{each + number}",  # type: ignore[misc]
        )
    copies(
        Pail(group=cast.group, tare_g=900, is_missing=True),
        count,
        code=lambda number: f"{tag}-pail-{number}",
        owner=lambda _: cast.duarte,
    )
    concern = Concern(group=cast.group, kind="flies", raised_at=cast.now, deadline_at=cast.now)
    copies(
        concern,
        count,
        place=lambda number: streams[number].source.place,
        client_key=lambda number: f"{tag}-{number}",
    )
    find = ForeignMatter(group=cast.group, kind="glass", on=cast.today, noted_at=cast.now)
    copies(
        find,
        count,
        stream=lambda number: streams[number],
        pickup=lambda number: pickups[number],
        client_key=lambda number: f"{tag}-{number}",
    )
    notice = Notice(group=cast.group, member=cast.ana, kind="overfed", made_at=cast.now)
    copies(notice, count, subject=lambda number: f"{tag}-{number}")
    measure = Measure(group=cast.group, name="jug", volume_ml=1_000)
    copies(measure, count, code=lambda number: f"{tag}-jug-{number}")


LISTS = (
    "/members",
    "/places",
    "/absences",
    "/materials",
    "/sources",
    "/streams",
    "/offers",
    "/destinations",
    "/digesters",
    "/digesters/duarte-drum/readings",
    "/digesters/duarte-drum/feedings",
    "/digesters/duarte-drum/stages",
    "/digesters/duarte-drum/limits",
    "/plans",
    "/plans/1/assignments",
    "/plans/1/daily-feeds",
    "/plans/1/left-overs",
    "/pins",
    "/bans",
    "/tokens",
    "/pickups",
    "/pickups?digester=duarte-drum",
    "/concerns",
    "/pails",
    "/pails?is_missing=true",
    "/foreign-matter",
    "/notices",
    "/measures",
    "/exceptions",
    "/digesters/duarte-drum/picture",
    "/digesters/duarte-drum/recipe",
    "/digesters/duarte-drum/start-up",
    "/sources/quay-stall/day",
    "/sources/quay-stall/month",
)


@pytest.mark.one_database
@pytest.mark.django_db
def test_lists_ask_as_often_for_many_rows_as_for_few() -> None:
    cast = make_cast(datetime.now(UTC) - timedelta(seconds=1), history_days=3)
    make_plan(cast.group, now=cast.now)
    # Founder and coordinator: everything is hers to see.
    MemberRole.unscoped.create(group=cast.group, member=cast.ana, role=Role.COORDINATOR)
    ana = Caller(cast.ana)
    grow(cast, FEW, "few")
    few = {address: _queries(ana, address) for address in LISTS}
    grow(cast, MANY, "many")
    many = {address: _queries(ana, address) for address in LISTS}
    assert many == few
    assert Digester.objects.of(cast.group).count() > MANY
    assert max(many.values()) <= 30, many


def _queries(caller: Caller, address: str) -> int:
    with CaptureQueriesContext(connection) as seen:
        assert caller.get(address).status_code == 200
    return len(seen)
