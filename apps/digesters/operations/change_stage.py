"""Move a digester to another stage of its life, on evidence."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from apps.digesters.core.stages import Evidence, Stage, find_transition
from apps.digesters.models import Digester, Reading, ReadingKind, StageChange
from apps.digesters.queries.records import group_rules
from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.kernel.errors import Refused
from apps.kernel.figures import FigureError
from apps.people.models import Member

STEP_DAYS = 7
"""A digester is raised by one step a week at most."""


class StageRefused(Refused):
    """The step does not exist, lacks evidence, or contradicts what was read."""

    code = "stage_refused"


@dataclass(frozen=True)
class StageChanged:
    """The step taken, with the caution that belongs to it."""

    change: StageChange
    caution: str


@transaction.atomic
def change_stage(
    digester: Digester,
    goal: Stage,
    *,
    evidence: Iterable[Evidence],
    on: date,
    now: datetime,
    recorded_by: Member | None = None,
) -> StageChanged:
    """Take one allowed step on `on`; `evidence` is what `recorded_by` has seen."""
    seen = frozenset(evidence)
    digester = _locked(digester)
    origin = Stage(digester.stage)
    try:
        transition = find_transition(origin, goal, seen)
    except FigureError as error:
        raise StageRefused(str(error), field="stage") from error
    _check_day(digester, on, now)
    _check_readings(digester, seen)
    if origin is Stage.RESTING and goal is Stage.RAMPING:
        _check_rest(digester, on)
    found: dict[str, object] = {"seen": sorted(each.name for each in seen)}
    if goal is Stage.RECOVERING:
        found["recovering_from"] = "pause" if origin is Stage.PAUSED else "souring"
    digester.stage = goal.value
    digester.stage_since_on = on
    digester.save(update_fields=["stage", "stage_since_on"])
    return StageChanged(_record(digester, on, found, now, recorded_by), transition.caution)


@transaction.atomic
def confirm_step(
    digester: Digester,
    *,
    evidence: Iterable[Evidence],
    on: date,
    now: datetime,
    recorded_by: Member | None = None,
) -> StageChange:
    """Confirm that a ramping or recovering digester bears its feed, so that it may be raised."""
    seen = frozenset(evidence)
    digester = _locked(digester)
    if Stage(digester.stage) not in (Stage.RAMPING, Stage.RECOVERING):
        raise StageRefused(
            _("%(digester)s is %(stage)s; only a ramping or recovering one is raised by steps.")
            % {"digester": digester.code, "stage": digester.stage},
            field="stage",
        )
    lacking = sorted(
        each.value for each in frozenset({Evidence.GAS_BURNS, Evidence.PH_GOOD}) - seen
    )
    if lacking:
        raise StageRefused(
            _("Before it is raised this must be seen: %(lacking)s")
            % {"lacking": " ".join(lacking)},
            field="evidence",
        )
    _check_day(digester, on, now)
    _check_readings(digester, seen)
    steps = list(
        StageChange.objects.of(digester.group).filter(
            digester=digester, stage=digester.stage, since_on__gte=digester.stage_since_on
        )
    )
    last_on = max((each.since_on for each in steps), default=digester.stage_since_on)
    if (on - last_on).days < STEP_DAYS:
        raise StageRefused(
            _("The last step was on %(last)s, %(days)s day(s) before; wait until a week is over.")
            % {"last": last_on, "days": (on - last_on).days},
            field="on",
            figures={"days": (on - last_on).days, "least": STEP_DAYS},
        )
    number = 1 + sum("step" in each.evidence for each in steps)
    found = {"step": number, "seen": sorted(each.name for each in seen)}
    return _record(digester, on, found, now, recorded_by)


def _locked(digester: Digester) -> Digester:
    """The row as it is now, locked, so that two steps at once are taken one after the other."""
    row: Digester = (
        Digester.objects.of(digester.group)
        .select_for_update(of=("self",))
        .select_related("group")
        .get(pk=digester.pk)
    )
    return row


def _check_day(digester: Digester, on: date, now: datetime) -> None:
    today = local_date(now, digester.group.time_zone)
    if on > today:
        raise StageRefused(
            _("%(on)s has not come yet; say what has happened by %(today)s.")
            % {"on": on, "today": today},
            field="on",
        )
    if on < digester.stage_since_on:
        raise StageRefused(
            _("%(digester)s is %(stage)s since %(since)s; a later step cannot lie before that day.")
            % {
                "digester": digester.code,
                "stage": digester.stage,
                "since": digester.stage_since_on,
            },
            field="on",
        )


def _check_readings(digester: Digester, seen: frozenset[Evidence]) -> None:
    """What is vouched for must not contradict the last reading."""
    rules = group_rules(digester.group)
    readings = Reading.objects.of(digester.group).filter(digester=digester, withdrawn_at=None)
    strip = readings.filter(kind=ReadingKind.PH).last()
    if Evidence.PH_GOOD in seen and strip and strip.value < rules.value("ph_good") * 100:
        raise StageRefused(
            _("The last pH strip, on %(on)s, showed %(ph)s; take a new one that shows %(good)s.")
            % {"on": strip.on, "ph": strip.value / 100, "good": rules.value("ph_good")},
            field="evidence",
            figures={"ph": strip.value / 100},
        )
    smell = readings.filter(kind=ReadingKind.SOUR_SMELL).last()
    if Evidence.NO_SOUR_SMELL in seen and smell and smell.value:
        raise StageRefused(
            _("A sour smell was reported on %(on)s; smell again and record what you find.")
            % {"on": smell.on},
            field="evidence",
        )


def _check_rest(digester: Digester, on: date) -> None:
    least = group_rules(digester.group).value("seed_rest")
    rested = (on - digester.stage_since_on).days
    if rested < least:
        raise StageRefused(
            _("It has rested %(rested)s of %(least)s days without waste; wait %(more)s more.")
            % {"rested": rested, "least": f"{least:g}", "more": f"{least - rested:g}"},
            field="on",
            figures={"rested": rested, "least": least},
        )


def _record(
    digester: Digester,
    on: date,
    evidence: dict[str, object],
    now: datetime,
    recorded_by: Member | None,
) -> StageChange:
    change = StageChange.unscoped.create(
        group=digester.group,
        digester=digester,
        stage=digester.stage,
        since_on=on,
        evidence=evidence,
        recorded_at=now,
        recorded_by=recorded_by,
    )
    record_fact(
        digester.group,
        "digester_stage_changed",
        happened_at=now,
        subject_uuid=digester.uuid,
        payload={"stage": digester.stage, "since_on": on.isoformat(), **evidence},
        actor_uuid=recorded_by.uuid if recorded_by else None,
    )
    return change
