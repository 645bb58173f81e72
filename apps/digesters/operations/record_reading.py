"""Write down what somebody read or smelled at a digester."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from apps.digesters.models import Digester, Reading, ReadingKind
from apps.digesters.queries.records import group_rules
from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.kernel.errors import Conflict, NeedsConfirmation, Refused
from apps.people.models import Member

CLOCK_SLACK = timedelta(minutes=5)
"""How far a phone's clock may run ahead of ours."""

BELIEVABLE = {
    ReadingKind.DRUM_HEIGHT: (0, 10_000),
    ReadingKind.BURNER: (0, 1440),
    ReadingKind.PH: (0, 1400),
    ReadingKind.SLURRY_TEMPERATURE: (-1000, 7500),
    ReadingKind.AIR_TEMPERATURE: (-6000, 6000),
    ReadingKind.PRESSURE: (0, 20_000),
    ReadingKind.FULLNESS: (0, 4),
    ReadingKind.FLAME: (0, 2),
    ReadingKind.SOUR_SMELL: (0, 1),
    ReadingKind.GAS_CHECKED: (0, 1),
    ReadingKind.FLARED: (0, 1440),
    ReadingKind.VENTED: (0, 20_000),
}
"""Least and most of each kind, in the unit that its name carries."""


class UnbelievableReading(Refused):
    """A value that cannot have been read."""

    code = "unbelievable_reading"


class DrumAboveStop(NeedsConfirmation, UnbelievableReading):
    """The drum cannot rise above its stop; confirmed, it is written down as at its stop."""

    code = "drum_above_stop"


class ReadingKeyUsed(Conflict):
    """The client key already stands for another reading."""

    code = "key_used_before"


@dataclass(frozen=True)
class Recorded:
    """The reading, whether it was a repeat, and whether it stops feeding."""

    reading: Reading
    is_repeat: bool
    stops_feeding: bool


def record_reading(
    digester: Digester,
    *,
    kind: ReadingKind,
    value: int,
    taken_at: datetime,
    now: datetime,
    client_key: str,
    recorded_by: Member | None = None,
    is_confirmed: bool = False,
) -> Recorded:
    """Add one reading, once per `client_key`. A sour one stops feeding from that moment: the
    limits read it, and a fact asks for a new plan. A drum above its stop is asked again
    (`DrumAboveStop`); `is_confirmed`, it stands at its stop."""
    if kind == ReadingKind.DRUM_HEIGHT and digester.drum_stop_mm and is_confirmed:
        value = min(value, digester.drum_stop_mm)
    _check(digester, kind, value, taken_at, now)
    earlier = _earlier(digester, kind, value, client_key)
    if earlier is not None:
        return earlier
    try:
        with transaction.atomic():
            reading = Reading.unscoped.create(
                group=digester.group,
                digester=digester,
                kind=kind,
                value=value,
                taken_at=taken_at,
                on=local_date(taken_at, digester.group.time_zone),
                recorded_by=recorded_by,
                client_key=client_key,
            )
            stops = stops_feeding(reading)
            record_fact(
                digester.group,
                "digester_soured" if stops else "reading_recorded",
                happened_at=now,
                subject_uuid=digester.uuid,
                payload={"kind": reading.kind, "value": value, "reading": str(reading.uuid)},
                actor_uuid=recorded_by.uuid if recorded_by else None,
            )
    except IntegrityError:
        # Somebody else wrote the same key while we waited; anything else is a real fault.
        earlier = _earlier(digester, kind, value, client_key)
        if earlier is None:
            raise
        return earlier
    return Recorded(reading, False, stops)


def stops_feeding(reading: Reading) -> bool:
    """A strip below the stop, or a sour smell."""
    if reading.kind == ReadingKind.PH:
        return reading.value < group_rules(reading.group).value("ph_stop") * 100
    return reading.kind == ReadingKind.SOUR_SMELL and reading.value == 1


def _earlier(digester: Digester, kind: ReadingKind, value: int, client_key: str) -> Recorded | None:
    reading = Reading.objects.of(digester.group).filter(client_key=client_key).first()
    if reading is None:
        return None
    if (reading.digester_id, reading.kind, reading.value) != (digester.pk, kind, value):
        raise ReadingKeyUsed(
            _(
                "This was already recorded on %(on)s with the value %(value)s. Withdraw that "
                "reading and record a new one."
            )
            % {"on": reading.on, "value": reading.value},
            figures={"reading": str(reading.uuid)},
        )
    return Recorded(reading, True, stops_feeding(reading))


def _check(
    digester: Digester, kind: ReadingKind, value: int, taken_at: datetime, now: datetime
) -> None:
    least, most = BELIEVABLE[kind]
    stop_mm = digester.drum_stop_mm
    if kind == ReadingKind.DRUM_HEIGHT and stop_mm and stop_mm < value <= most:
        raise DrumAboveStop(
            _(
                "%(value)s mm is above the stop at %(stop)s mm: gas escapes there, keep flames "
                "away. Measure again from the empty mark; or write it down as at its stop."
            )
            % {"value": value, "stop": stop_mm},
            field="value",
            figures={"given": value, "stop": stop_mm},
        )
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        raise UnbelievableReading(
            _("%(value)s cannot be a %(kind)s here: %(least)s to %(most)s. Look again.")
            % {"value": value, "kind": kind.label, "least": least, "most": most},
            field="value",
            figures={"given": value, "least": least, "most": most},
        )
    if taken_at > now + CLOCK_SLACK:
        raise UnbelievableReading(
            _("%(when)s has not come yet. Give the time at which it was read.")
            % {"when": taken_at.strftime("%Y-%m-%d %H:%M %Z")},
            field="taken_at",
        )
