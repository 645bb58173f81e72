"""What the announced plan owes one person an explanation for: a home under its minimum, and a
steady pair that it leaves for once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from django.db.models import Q

from apps.kernel.sentences import Sentence
from apps.people.models import Member
from apps.planning.core.hunger import hungry_homes
from apps.planning.models import Assignment, Plan, SteadyPair
from apps.planning.queries.explain import PlanExplainer


@dataclass(frozen=True)
class MemberNotes:
    """Sentences by the code of an own digester or source."""

    homes: Mapping[str, Sequence[Sentence]] = field(default_factory=dict)
    sources: Mapping[str, Sequence[Sentence]] = field(default_factory=dict)


def member_notes(plan: Plan, member: Member, digesters: Sequence[str]) -> MemberNotes:
    """`digesters`: codes of the member's own. Two queries; the plan is explained only where it
    leaves a steady pair of theirs."""
    homes: dict[str, list[Sentence]] = defaultdict(list)
    sources: dict[str, list[Sentence]] = defaultdict(list)
    for hungry in hungry_homes(plan.document, frozenset(digesters)):
        homes[hungry.digester].append(hungry.say())
    steady = [
        (pair.source.code, pair.digester.code, pair.digester.household_id == member.pk)
        for pair in SteadyPair.objects.of(plan.group)
        .filter(Q(source__contact=member) | Q(digester__household=member))
        .select_related("source", "digester")
        .order_by("source__code", "digester__code")
    ]
    left = _assignments_elsewhere(plan, {source for source, _, _ in steady}) if steady else {}
    explainer = PlanExplainer(plan) if left else None
    for source, digester, is_home in steady:
        assignments = left.get(source, ())
        if explainer is None or any(each.digester.code == digester for each in assignments):
            continue
        told = explainer.why_steady_pair_left(assignments, digester)
        (homes[digester] if is_home else sources[source]).extend(told)
    return MemberNotes(homes, sources)


def _assignments_elsewhere(plan: Plan, sources: set[str]) -> dict[str, list[Assignment]]:
    """By source what the plan takes from it, the most first."""
    found: dict[str, list[Assignment]] = defaultdict(list)
    for each in (
        Assignment.objects.of(plan.group)
        .filter(plan=plan, source__code__in=sources)
        .select_related("source", "digester", "stream")
        .order_by("-amount_g", "on", "digester__code", "stream__code")
    ):
        found[each.source.code].append(each)
    return found
