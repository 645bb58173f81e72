"""What a draft changes of the announced plan, for whom, and what came between."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from django.conf import settings

from apps.digesters.models import Digester
from apps.groups.models import Fact, Group
from apps.kernel.sentences import Sentence, gettext_noop
from apps.planning.models import Assignment, Plan, PlanStatus
from apps.supply.models import Source, Stream

LEAST_G = 500
"""Grams by which a visit's load must differ to be told."""

NOTE_SURPRISE = "plan_again"

SENTENCES = {
    "absence_set": gettext_noop("Somebody is away."),
    "absence_ended": gettext_noop("Somebody is back."),
    "calendar_changed": gettext_noop("The calendar changed."),
    "digester_soured": gettext_noop("A digester turned sour."),
    "digester_stage_changed": gettext_noop("A digester is in another stage."),
    "gas_smelled": gettext_noop("A smell of gas was reported."),
    "limit_tightened": gettext_noop("A limit was lowered."),
    "offer_set": gettext_noop("A source has more or less than was thought."),
    "overfed": gettext_noop("A digester was given too much."),
    "pickup_declined": gettext_noop("A home cannot come."),
    "pickup_failed": gettext_noop("Something could not be fetched."),
    "streets_changed": gettext_noop("The streets changed, and with them the ways."),
    "warning_raised": gettext_noop("A digester was warned of."),
}

NAMED = {
    "digester_soured": gettext_noop("Turned sour: %(who)s."),
    "digester_stage_changed": gettext_noop("In another stage: %(who)s."),
    "offer_set": gettext_noop("More or less than was thought: %(who)s."),
    "pickup_declined": gettext_noop("Cannot come: %(who)s."),
    "pickup_failed": gettext_noop("Could not be fetched: %(who)s."),
}
"""The same where it is known who: a home, a source, or both ends of a visit."""


@dataclass(frozen=True, slots=True)
class ChangedVisit:
    """One source to one digester on one day: grams announced, grams now."""

    source: Source
    digester: Digester
    on: date
    was_g: int
    is_g: int


@dataclass(frozen=True, slots=True)
class PlanChanges:
    """`visits` by day, source and digester; `kept`: announced visits that stay as they are;
    `because`: what happened since the plan was announced, each kind once."""

    visits: tuple[ChangedVisit, ...]
    kept: int
    because: tuple[Sentence, ...]


def plan_changes(draft: Plan) -> PlanChanges | None:
    """None when there is nothing announced to compare a draft with. Seven queries."""
    if draft.status != PlanStatus.DRAFT:
        return None
    announced = Plan.objects.of(draft.group).filter(status=PlanStatus.ANNOUNCED).first()
    if announced is None:
        return None
    last_on = min(
        draft.starts_on + timedelta(days=draft.days - 1),
        announced.starts_on + timedelta(days=announced.days - 1),
    )
    grams: dict[tuple[date, str, str], list[int]] = defaultdict(lambda: [0, 0])
    ends: dict[tuple[date, str, str], Assignment] = {}
    rows = (
        Assignment.objects.of(draft.group)
        .filter(plan__in=(announced, draft), on__range=(draft.starts_on, last_on))
        .select_related("source", "digester")
    )
    for row in rows:
        key = row.on, row.source.code, row.digester.code
        grams[key][row.plan_id == draft.pk] += row.amount_g
        ends[key] = row
    changed = [
        ChangedVisit(ends[key].source, ends[key].digester, key[0], was_g, is_g)
        for key, (was_g, is_g) in sorted(grams.items())
        if not was_g or not is_g or abs(was_g - is_g) >= LEAST_G
    ]
    return PlanChanges(tuple(changed), len(grams) - len(changed), _because(draft, announced))


def _because(draft: Plan, announced: Plan) -> tuple[Sentence, ...]:
    kinds = [kind for kind, follows in settings.WORK_AFTER_FACT.items() if NOTE_SURPRISE in follows]
    who: dict[str, set[str]] = defaultdict(set)
    facts = list(
        Fact.objects.of(draft.group)
        .filter(kind__in=kinds, happened_at__gte=announced.made_at, happened_at__lte=draft.made_at)
        .values_list("kind", "subject_uuid", "payload")
    )
    names = _names(draft.group) if facts else {}
    for kind, subject, payload in facts:
        ends = [names.get(payload.get(end)) for end in ("source", "digester")]
        who[kind].add(" → ".join(name for name in ends if name) or names.get(subject, ""))
    return tuple(
        Sentence(NAMED[kind], {"who": ", ".join(sorted(who[kind]))})
        if kind in NAMED and all(who[kind])
        else Sentence(SENTENCES[kind], {})
        for kind in SENTENCES
        if kind in who
    )


def _names(group: Group) -> dict[object, str]:
    """Names by code of source and digester, and by uuid of digester and stream. Three queries."""
    names: dict[object, str] = {}
    for model in (Source, Digester):
        for code, uuid, name in model.objects.of(group).values_list("code", "uuid", "name"):
            names[code] = names[uuid] = name
    names.update(Stream.objects.of(group).values_list("uuid", "source__name"))
    return names
