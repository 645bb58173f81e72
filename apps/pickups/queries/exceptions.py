"""Today's exceptions for the coordinator: first things first, each with what repairs it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import IntEnum
from uuid import UUID

from apps.digesters.models import Concern, ConcernKind, Digester
from apps.digesters.queries.day_limits import DigesterDays, limits_from
from apps.digesters.queries.records import read_records
from apps.feedstock.queries.known_materials import known_materials
from apps.groups.models import Fact, Group
from apps.kernel.days import local_date, local_instant
from apps.kernel.quantities import in_thousands
from apps.kernel.sentences import Sentence, gettext_noop
from apps.ledger.queries.balances import lots_in
from apps.pickups.core.life import State
from apps.pickups.models import LateMessage, Pickup
from apps.pickups.queries.late_messages import open_late_messages, say_late
from apps.pickups.queries.next_homes import without_home
from apps.pickups.queries.two_weights import two_weights
from apps.supply.core.holding import shelf_life_days
from apps.supply.queries.expected_supply import DAY_OVER_MEAN_K, UNKNOWN_AIR_C


class Kind(IntEnum):
    """What is wrong; the smaller the more urgent."""

    GAS_SMELL = 1
    CONCERN_OVERDUE = 2
    WITHOUT_HOME = 3
    OVERFED = 4
    LATE = 5
    BIN_TOO_OLD = 6
    NOT_ANSWERED = 7
    HUNGRY = 8
    WROTE_LATE = 9
    CONTESTED = 10
    CONCERN_OPEN = 11


REPAIRS: dict[Kind, tuple[str, ...]] = {
    Kind.GAS_SMELL: ("open_address", "close_concern"),
    Kind.CONCERN_OVERDUE: ("close_concern",),
    Kind.WITHOUT_HOME: ("reassign_pickup",),
    Kind.OVERFED: ("record_reading", "change_stage"),
    Kind.LATE: ("complete_pickup", "end_pickup", "reassign_pickup"),
    Kind.BIN_TOO_OLD: ("set_aside",),
    Kind.NOT_ANSWERED: ("accept_pickup", "end_pickup", "reassign_pickup"),
    Kind.HUNGRY: ("feed_digester", "make_plan"),
    Kind.WROTE_LATE: ("settle_late_message",),
    Kind.CONTESTED: ("reverse_posting",),
    Kind.CONCERN_OPEN: ("close_concern",),
}
"""The operations that repair each kind, the usual one first."""

_SAY = {
    Kind.GAS_SMELL: gettext_noop("A smell of gas at %(place)s since %(at)s."),
    Kind.CONCERN_OVERDUE: gettext_noop("%(place)s: an answer was promised by %(at)s."),
    Kind.WITHOUT_HOME: gettext_noop("%(kg)s kg from %(source)s on %(on)s have no home."),
    Kind.OVERFED: gettext_noop("%(home)s was fed over its most on %(on)s."),
    Kind.LATE: gettext_noop("%(home)s was to fetch at %(source)s by %(at)s."),
    Kind.BIN_TOO_OLD: gettext_noop(
        "%(kg)s kg in the bin of %(home)s came on %(on)s and are too old to feed."
    ),
    Kind.NOT_ANSWERED: gettext_noop("%(home)s has not answered for %(source)s on %(on)s."),
    Kind.HUNGRY: gettext_noop(
        "%(home)s was fed %(vs_g)s g of volatile solids in seven days; it needs %(min_g)s g."
    ),
    Kind.CONTESTED: gettext_noop("%(source)s says %(giver)s kg, %(home)s says %(fetcher)s kg."),
    Kind.CONCERN_OPEN: gettext_noop("%(place)s: answer by %(at)s."),
}

STOCK_LOOK_BACK_DAYS = 30
LATE_ON_THE_WAY = timedelta(hours=2)
"""What was collected should have arrived by then. Ours."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """One exception: `subject` is the pickup, concern, digester or late message, by its uuid."""

    kind: Kind
    subject: UUID
    sentence: Sentence
    on: date
    pickup: Pickup | None = None
    digester: Digester | None = None
    concern: Concern | None = None
    message: LateMessage | None = None

    @property
    def repairs(self) -> tuple[str, ...]:
        """Names of the operations that repair it."""
        return REPAIRS[self.kind]


def todays_exceptions(group: Group, *, now: datetime) -> list[Trouble]:
    """Most urgent first, then by day and code. A constant number of queries."""
    today = local_date(now, group.time_zone)
    pickups = list(
        Pickup.objects.of(group)
        .filter(on__range=(today - timedelta(days=1), today + timedelta(days=1)))
        .select_related("source", "digester__household", "fetcher", "group")
        .prefetch_related("lines__stream", "events")
    )
    records = read_records(group, today)
    found = [
        *_concerns(group, now),
        *_homeless(pickups, today),
        *_overfed(group, today),
        *_unfinished(group, pickups, today, now),
        *_old_stock(group, today),
        *_hungry(limits_from(records, today, 1), today),
        *_wrote_late(group),
        *_contested(pickups),
    ]
    return sorted(found, key=lambda each: (each.kind, each.on, str(each.sentence)))


def _concerns(group: Group, now: datetime) -> Iterator[Trouble]:
    for concern in Concern.objects.of(group).filter(closed_at=None).select_related("place"):
        if concern.kind == ConcernKind.GAS_SMELL:
            kind, at = Kind.GAS_SMELL, concern.raised_at
        else:
            kind = Kind.CONCERN_OVERDUE if concern.deadline_at < now else Kind.CONCERN_OPEN
            at = concern.deadline_at
        figures = {"place": concern.place.name, "at": at.isoformat(timespec="minutes")}
        yield Trouble(
            kind,
            concern.uuid,
            Sentence(_SAY[kind], figures),
            local_date(concern.raised_at, group.time_zone),
            concern=concern,
        )


def _pickup_trouble(kind: Kind, pickup: Pickup, **figures: str | int) -> Trouble:
    return Trouble(
        kind,
        pickup.uuid,
        Sentence(
            _SAY[kind],
            {
                "home": pickup.digester.name,
                "source": pickup.source.name,
                "on": pickup.on.isoformat(),
                **figures,
            },
        ),
        pickup.on,
        pickup=pickup,
        digester=pickup.digester,
    )


def _homeless(pickups: list[Pickup], today: date) -> Iterator[Trouble]:
    for pickup in without_home(pickups[0].group, pickups) if pickups else ():
        if pickup.on >= today:
            planned_g = sum(line.planned_g for line in pickup.lines.all())
            yield _pickup_trouble(Kind.WITHOUT_HOME, pickup, kg=in_thousands(planned_g))


def _overfed(group: Group, today: date) -> Iterator[Trouble]:
    since = (today - timedelta(days=1)).isoformat()
    homes = {digester.uuid: digester for digester in Digester.objects.of(group)}
    seen = set()
    week_ago = local_instant(today - timedelta(days=7), time.min, group.time_zone)
    for fact in Fact.objects.of(group).filter(kind="overfed", happened_at__gte=week_ago):
        key = (fact.subject_uuid, fact.payload["on"])
        if fact.payload["on"] < since or key in seen or fact.subject_uuid not in homes:
            continue
        seen.add(key)
        home = homes[fact.subject_uuid]
        on = date.fromisoformat(fact.payload["on"])
        figures = {"home": home.name, "on": on.isoformat()}
        yield Trouble(
            Kind.OVERFED, home.uuid, Sentence(_SAY[Kind.OVERFED], figures), on, digester=home
        )


def _unfinished(
    group: Group, pickups: list[Pickup], today: date, now: datetime
) -> Iterator[Trouble]:
    for pickup in pickups:
        till = _at(group, pickup.on, pickup.expected_till_min)
        is_open = pickup.state in (State.ANNOUNCED, State.ACCEPTED)
        if (is_open and till < now) or (
            pickup.state == State.COLLECTED and pickup.changed_at + LATE_ON_THE_WAY < now
        ):
            yield _pickup_trouble(Kind.LATE, pickup, at=pickup.till_clock)
        elif pickup.state == State.ANNOUNCED and pickup.on >= today:
            yield _pickup_trouble(Kind.NOT_ANSWERED, pickup)


def _at(group: Group, on: date, minute: int) -> datetime:
    days, rest = divmod(minute, 1440)
    return local_instant(on + timedelta(days=days), time(rest // 60, rest % 60), group.time_zone)


def _old_stock(group: Group, today: date) -> Iterator[Trouble]:
    homes = {home.bin_account_id: home for home in Digester.objects.of(group)}
    materials = known_materials(group)
    normals_c = group.air_normals_c
    for account, lots in lots_in(
        group, list(homes), today - timedelta(days=STOCK_LOOK_BACK_DAYS)
    ).items():
        for lot in lots:
            material = materials[lot.material_code]
            warmest_c = (
                normals_c[lot.arrived_on.month - 1] + DAY_OVER_MEAN_K
                if normals_c
                else UNKNOWN_AIR_C
            )
            kept = shelf_life_days(material.holding, warmest_c, material.groups)
            if lot.arrived_on + timedelta(days=kept) < today:
                home = homes[account]
                figures = {
                    "kg": in_thousands(lot.amount_g),
                    "home": home.name,
                    "on": lot.arrived_on.isoformat(),
                }
                yield Trouble(
                    Kind.BIN_TOO_OLD,
                    home.uuid,
                    Sentence(_SAY[Kind.BIN_TOO_OLD], figures),
                    lot.arrived_on,
                    digester=home,
                )


def _hungry(homes: dict[str, DigesterDays], today: date) -> Iterator[Trouble]:
    for each in homes.values():
        fed = each.records.fed.vs_g()
        week_g = sum(g for on, g in fed.items() if today - timedelta(days=7) <= on < today)
        needs_g = each.days[0].limits.min_vs_g * 7
        if week_g < needs_g:
            figures = {"home": each.digester.name, "vs_g": week_g, "min_g": needs_g}
            yield Trouble(
                Kind.HUNGRY,
                each.digester.uuid,
                Sentence(_SAY[Kind.HUNGRY], figures),
                today,
                digester=each.digester,
            )


def _wrote_late(group: Group) -> Iterator[Trouble]:
    for message in open_late_messages(group):
        yield Trouble(
            Kind.WROTE_LATE,
            message.uuid,
            say_late(message),
            message.link.on,
            pickup=message.pickup,
            message=message,
        )


def _contested(pickups: list[Pickup]) -> Iterator[Trouble]:
    for pickup in pickups:
        weights = two_weights(pickup)
        if pickup.state == State.DELIVERED and weights.is_contested:
            yield _pickup_trouble(
                Kind.CONTESTED,
                pickup,
                giver=in_thousands(weights.giver_g or 0),
                fetcher=in_thousands(weights.fetcher_g or 0),
            )
