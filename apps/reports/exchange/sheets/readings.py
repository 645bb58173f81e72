"""Past readings: what somebody saw or measured at a digester. Facts: added, never changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, time
from decimal import Decimal
from zoneinfo import ZoneInfo

from apps.digesters.models import Digester, Reading, ReadingKind
from apps.digesters.operations.record_reading import BELIEVABLE
from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_instant
from apps.kernel.words import gettext_noop
from apps.reports.exchange.cells import Choice, Clock, Code, Day
from apps.reports.exchange.number_cells import Number
from apps.reports.exchange.past import client_key, not_after_today
from apps.reports.exchange.problem import BadCell
from apps.reports.exchange.sheet import Column, Key, Row, Sheet, Values, Writing

IN_THE_EVENING = time(19)
"""When it was read where the file does not tell."""

HUNDREDTHS = {
    "ph": ReadingKind.PH,
    "slurry_c": ReadingKind.SLURRY_TEMPERATURE,
    "air_c": ReadingKind.AIR_TEMPERATURE,
}
"""Kinds that people write with decimals and that are kept in hundredths."""

KINDS = {
    **{kind.value: kind for kind in ReadingKind if kind not in HUNDREDTHS.values()},
    **HUNDREDTHS,
}
_NAMES = {kind: name for name, kind in KINDS.items()}


def _scale(kind: str) -> int:
    return 100 if kind in HUNDREDTHS else 1


def _current(group: Group) -> Mapping[Key, Values]:
    zone = ZoneInfo(group.time_zone)
    found: dict[Key, Values] = {}
    for code, kind, value, on, taken_at in (
        Reading.objects.of(group)
        .filter(withdrawn_at=None)
        .values_list("digester__code", "kind", "value", "on", "taken_at")
    ):
        name = _NAMES[ReadingKind(kind)]
        at = taken_at.astimezone(zone).time().replace(second=0, microsecond=0)
        found[code, on.isoformat(), f"{at:%H:%M}", name] = {
            "digester": code,
            "on": on,
            "time": at,
            "kind": name,
            "value": Decimal(value) / _scale(name),
        }
    return found


def _check(row: Row, current: Values | None, today: date) -> None:
    not_after_today(row, today)
    values = row.values
    scaled = values["value"] * _scale(values["kind"])
    least, most = BELIEVABLE[KINDS[values["kind"]]]
    if scaled != int(scaled) or not least <= scaled <= most:
        raise BadCell(
            gettext_noop("%(given)s is outside what this can be: %(least)s to %(most)s."),
            field="value",
            figures={
                "given": values["value"],
                "least": Decimal(least) / _scale(values["kind"]),
                "most": Decimal(most) / _scale(values["kind"]),
            },
        )
    if current is not None and current["value"] != values["value"]:
        raise BadCell(
            gettext_noop(
                "%(recorded)s is recorded for %(on)s already, and a file cannot change that. "
                "Withdraw that reading on the digester's page first."
            ),
            field="value",
            figures={"recorded": current["value"], "on": values["on"]},
        )


def _write(writing: Writing, new: Sequence[Row], changed: Sequence[Row]) -> None:
    digesters = writing.rows(Digester)
    zone = writing.group.time_zone
    Reading.unscoped.bulk_create(
        (
            Reading(
                group=writing.group,
                digester=digesters[row.values["digester"]],
                kind=KINDS[row.values["kind"]],
                value=int(row.values["value"] * _scale(row.values["kind"])),
                taken_at=min(
                    local_instant(row.values["on"], row.values["time"], zone), writing.now
                ),
                on=row.values["on"],
                recorded_by=writing.by,
                client_key=client_key(),
            )
            for row in new
        ),
        batch_size=500,
    )
    for code in sorted({row.values["digester"] for row in new}):
        record_fact(
            writing.group,
            "readings_imported",
            happened_at=writing.now,
            subject_uuid=digesters[code].uuid,
            actor_uuid=writing.by.uuid if writing.by else None,
        )


READINGS = Sheet(
    name="readings",
    title=gettext_noop("Past readings"),
    about=gettext_noop("What was read at a digester: drum, burner minutes, strips, flame, smell."),
    key=("digester", "on", "time", "kind"),
    columns=(
        Column(
            "digester", Code(), gettext_noop("Code of the digester."), True, refers_to="digesters"
        ),
        Column("on", Day(), gettext_noop("Day, like 2026-05-31."), True),
        Column(
            "time",
            Clock(),
            gettext_noop("Time of day, like 18:30; 19:00 when empty."),
            default=IN_THE_EVENING,
        ),
        Column("kind", Choice(tuple(sorted(KINDS))), gettext_noop("What was read."), True),
        Column(
            "value",
            Number(Decimal(-60), Decimal(20_000), decimals=2),
            gettext_noop(
                "The figure in the unit that the kind names; flame 0 none, 1 weak, 2 steady blue; "
                "sour_smell 0 no, 1 yes; gas_checked 1 when neither leak, cold nor full drum was "
                "found."
            ),
            True,
        ),
    ),
    current=_current,
    write=_write,
    check=_check,
    most_rows=20_000,
)
