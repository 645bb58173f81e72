"""A person's pickups as a calendar (RFC 5545).

Calendars keep what they once read, long after anybody may see an address. So a private place is
named by its area only, whenever it is asked; a public one by its street.
"""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from urllib.parse import urlsplit

from django.conf import settings
from django.db.models import Q
from django.utils import translation
from django.utils.translation import gettext as _
from icalendar import Calendar, Event

from apps.kernel.days import local_date, local_instant
from apps.kernel.errors import Refused
from apps.notices.models import CalendarFeed
from apps.people.models import Member, hash_token
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.places.models import Place

PAST, AHEAD = timedelta(days=14), timedelta(days=14)
STATUS = {
    State.ANNOUNCED: "TENTATIVE",
    State.ACCEPTED: "CONFIRMED",
    State.COLLECTED: "CONFIRMED",
    State.DELIVERED: "CONFIRMED",
    State.DECLINED: "CANCELLED",
    State.FAILED: "CANCELLED",
    State.WITHDRAWN: "CANCELLED",
}
READ_AGAIN = timedelta(hours=2)


class CalendarOver(Refused):
    """The address is unknown or was replaced."""

    code = "calendar_over"
    status = 410

    def __init__(self) -> None:
        super().__init__(_("This calendar is over. Ask for its new address on your page."))


def open_calendar(token: str) -> Member:
    """Whose calendar it is; reading changes nothing."""
    feed = (
        CalendarFeed.unscoped.select_related("member__group")
        .filter(token_hash=hash_token(token), ended_at=None, member__left_at=None)
        .first()
    )
    if feed is None:
        raise CalendarOver
    member: Member = feed.member
    return member


def calendar_of(member: Member, *, now: datetime) -> bytes:
    """`text/calendar` of a fortnight back and ahead, in the member's language. Two queries."""
    group = member.group
    today = local_date(now, group.time_zone)
    pickups = (
        Pickup.objects.of(group)
        .filter(on__range=(today - PAST, today + AHEAD))
        .filter(Q(digester__household=member) | Q(fetcher=member) | Q(source__contact=member))
        .select_related("source__place", "digester__place", "digester__household", "group")
        .prefetch_related("lines__stream__material")
        .order_by("on", "from_min", "uuid")
    )
    calendar = Calendar()
    calendar.add("prodid", "-//Biogas feed coordinator//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("refresh-interval", READ_AGAIN, parameters={"VALUE": "DURATION"})
    with translation.override(member.language):
        calendar.add("name", group.name)
        for pickup in pickups:
            calendar.add_component(_event(pickup, member))
    return bytes(calendar.to_ical())


def _event(pickup: Pickup, member: Member) -> Event:
    gives = pickup.source.contact_id == member.pk
    event = Event()
    event.add("uid", f"{pickup.uuid}@{urlsplit(settings.SITE_ADDRESS).hostname}")
    event.add("dtstamp", pickup.changed_at.astimezone(UTC))
    event.add("sequence", pickup.revision)
    event.add("dtstart", _at(pickup, pickup.from_min))
    event.add("dtend", _at(pickup, pickup.till_min))
    event.add("status", STATUS[State(pickup.state)])
    other = pickup.digester.name if gives else pickup.source.name
    event.add(
        "summary",
        (_("%(name)s comes for waste") if gives else _("Fetch waste: %(name)s")) % {"name": other},
    )
    event.add("location", _where(pickup.source.place))
    lines = [f"{line.planned_kg} kg {line.stream.material.name}" for line in pickup.lines.all()]
    event.add(
        "description",
        "\n".join([*lines, _("Lift at most 15 kg. Gloves on; wash your hands afterwards.")]),
    )
    event.add("transp", "TRANSPARENT" if gives else "OPAQUE")
    return event


def _at(pickup: Pickup, minute: int) -> datetime:
    days, rest = divmod(minute, 1440)
    on = pickup.on + timedelta(days=days)
    return local_instant(on, time(rest // 60, rest % 60), pickup.group.time_zone)


def _where(place: Place) -> str:
    if place.is_public:
        return ", ".join(part for part in (place.street, place.area) if part)
    return str(place.area)
