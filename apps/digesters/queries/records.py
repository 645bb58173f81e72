"""Everything written down about a group's digesters, read with a constant number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, time, timedelta
from functools import lru_cache
from typing import TypeVar
from uuid import UUID

from django.db.models import Max, Q

from apps.digesters.core.rules import LimitRules, read_rules
from apps.digesters.core.slurry_temperature import AirDay, air_days
from apps.digesters.models import (
    Concern,
    ConcernKind,
    Digester,
    LimitChange,
    ModelState,
    OwnWaste,
    Reading,
    ReadingKind,
    RefusedMaterial,
    StageChange,
)
from apps.digesters.queries.fed_history import FedHistory, fed_history
from apps.feedstock.core.materials import Material
from apps.feedstock.core.risk_groups import NEEDS_GROUP_SWITCH
from apps.feedstock.queries.known_materials import known_materials
from apps.groups.models import Fact, Group
from apps.kernel.days import local_date, local_instant
from apps.places.models import Absence

Row = TypeVar("Row", OwnWaste, Reading, StageChange, LimitChange)

ABSENCE_DAYS = 21
"""How far back an absence may have ended and still matter to what is fed."""

MODEL_DAYS = 7
"""An older state of the process model lowers nothing: it looked seven days ahead."""

HISTORY_DAYS = 60
"""How far back feedings and readings are looked at: the stable median is of the last 60 days."""


@dataclass(frozen=True)
class DigesterRecords:
    """One digester's rows; `readings` oldest first and without withdrawn ones, `changes` and
    `limit_changes` in the order they were made; `absences` from `ABSENCE_DAYS` back on;
    `gas_smells` those that nobody has cleared."""

    digester: Digester
    own_waste: tuple[OwnWaste, ...]
    refused: frozenset[str]
    readings: tuple[Reading, ...]
    changes: tuple[StageChange, ...]
    limit_changes: tuple[LimitChange, ...]
    absences: tuple[Absence, ...]
    gas_smells: tuple[Concern, ...]
    fed: FedHistory
    own_changed_on: date | None = None
    """When the household last said that it has another amount; days before tell no more of it."""
    safe_vs_g: int | None = None
    """What the process model held safe a day when it last looked; None: it lowers nothing."""

    def absence_on(self, on: date) -> Absence | None:
        """The absence that covers a day; one without a keyholder counts before one with."""
        covering = [each for each in self.absences if each.first_on <= on <= each.last_on]
        return min(covering, key=lambda each: each.keyholder_id is not None, default=None)


@dataclass(frozen=True)
class GroupRecords:
    """A group's digesters by code, its materials by code and its rules. `air`: days whose air
    somebody of the group read; neighbours share their weather."""

    group: Group
    as_of: date
    materials: Mapping[str, Material]
    rules: LimitRules
    digesters: Mapping[str, DigesterRecords]
    air: tuple[AirDay, ...] = ()


@lru_cache(maxsize=1)
def published_rules() -> LimitRules:
    """The table of limits, read once a process."""
    return read_rules()


def group_rules(group: Group) -> LimitRules:
    """The rules every digester of the group starts from. One local rule switches cooked and
    animal waste on together."""
    local = group.animal_waste_rule.strip()
    switched = dict.fromkeys(NEEDS_GROUP_SWITCH, local) if local else {}
    return LimitRules(published_rules().rules, switched)


def read_records(group: Group, as_of: date, only: Collection[int] | None = None) -> GroupRecords:
    """What was known on the evening before `as_of`, and on that day so far; of all digesters or
    of those with the ids in `only`, at the cost of what is asked for."""
    digesters = list(
        Digester.objects.of(group)
        .filter(**({} if only is None else {"pk__in": only}))
        .select_related("place", "household")
        .order_by("code")
    )
    these: dict[str, object] = {} if only is None else {"digester__in": only}
    first = as_of - timedelta(days=HISTORY_DAYS)
    materials = known_materials(group)
    fed = fed_history(group, digesters, materials, first, as_of - timedelta(days=1))
    own_changed_on = _own_waste_changed_on(group, first)
    own_waste = _by_digester(
        OwnWaste.objects.of(group)
        .filter(**these)
        .select_related("material")
        .order_by("material__code")
    )
    refused: dict[int, set[str]] = defaultdict(set)
    for digester_id, code in (
        RefusedMaterial.objects.of(group)
        .filter(**these)
        .values_list("digester_id", "material__code")
    ):
        refused[digester_id].add(code)
    read = list(
        Reading.objects.of(group)
        .filter(
            Q() if only is None else Q(**these) | Q(kind=ReadingKind.AIR_TEMPERATURE),
            withdrawn_at=None,
            on__gte=first,
            on__lte=as_of,
        )
        .order_by("taken_at", "id")
    )
    readings = _by_digester(read)
    changes = _by_digester(StageChange.objects.of(group).filter(**these).order_by("since_on", "id"))
    limit_changes = _by_digester(
        LimitChange.objects.of(group)
        .filter(**these)
        .select_related("asked_by", "confirmed_by")
        .order_by("asked_at", "id")
    )
    homes = [digester.place_id for digester in digesters]
    absences: dict[int, list[Absence]] = defaultdict(list)
    for absence in (
        Absence.objects.of(group)
        .filter(
            **({"place__digesters__isnull": False} if only is None else {"place__in": homes}),
            last_on__gte=as_of - timedelta(days=ABSENCE_DAYS),
        )
        .distinct()
        .order_by("first_on", "id")
    ):
        absences[absence.place_id].append(absence)
    gas_smells: dict[int, list[Concern]] = defaultdict(list)
    for concern in Concern.objects.of(group).filter(kind=ConcernKind.GAS_SMELL, closed_at=None):
        gas_smells[concern.place_id].append(concern)
    # A state of today comes before one of yesterday, whatever either says.
    safe_vs_g = dict(
        ModelState.objects.of(group)
        .filter(on__gt=as_of - timedelta(days=MODEL_DAYS), on__lte=as_of, **these)
        .order_by("on")
        .values_list("digester_id", "safe_vs_g")
    )
    return GroupRecords(
        group=group,
        as_of=as_of,
        materials=materials,
        rules=group_rules(group),
        digesters={
            digester.code: DigesterRecords(
                digester=digester,
                own_waste=tuple(own_waste[digester.pk]),
                refused=frozenset(refused[digester.pk]),
                readings=tuple(readings[digester.pk]),
                changes=tuple(changes[digester.pk]),
                limit_changes=tuple(limit_changes[digester.pk]),
                absences=tuple(absences[digester.place_id]),
                gas_smells=tuple(gas_smells[digester.place_id]),
                fed=fed[digester.code],
                own_changed_on=own_changed_on.get(digester.uuid),
                safe_vs_g=safe_vs_g.get(digester.pk),
            )
            for digester in digesters
        },
        air=group_air(group, read),
    )


def group_air(group: Group, readings: Iterable[Reading]) -> tuple[AirDay, ...]:
    """Days whose air is known from `readings` of any of the group's homes, oldest first."""
    read = [
        (each.on, each.value / 100) for each in readings if each.kind == ReadingKind.AIR_TEMPERATURE
    ]
    return air_days(group.air_normals_c, read) if read and group.air_normals_c else ()


def _own_waste_changed_on(group: Group, first: date) -> dict[UUID | None, date]:
    """By digester, the day since `first` on which another amount of own waste was said last."""
    said = (
        Fact.objects.of(group)
        .filter(
            kind="own_waste_changed",
            happened_at__gte=local_instant(first, time(0), group.time_zone),
        )
        .values_list("subject_uuid")
        .annotate(Max("happened_at"))
        .order_by()
    )
    return {uuid: local_date(last, group.time_zone) for uuid, last in said}


def _by_digester(rows: Iterable[Row]) -> dict[int, list[Row]]:
    grouped: dict[int, list[Row]] = defaultdict(list)
    for row in rows:
        grouped[row.digester_id].append(row)
    return grouped
