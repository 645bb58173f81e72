"""Make a draft plan for the next days."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from django.db import transaction
from django.db.models import Max
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.kernel.errors import Refused
from apps.people.models import Member
from apps.planning.core.check_problem import ProblemError
from apps.planning.core.most_to_take import most_to_take
from apps.planning.core.problem import Placement
from apps.planning.core.result import Result
from apps.planning.core.solve import Limits, solve
from apps.planning.models import Assignment, DailyFeed, LeftOver, Plan, PlanStatus, SecondHome
from apps.planning.queries.build_problem import Built, build_problem
from apps.planning.queries.compose_plan import Composed, compose_plan, on_day
from apps.planning.queries.second_homes import Chosen, choose_second_homes, unsure_sources
from apps.planning.queries.started import missed_visits, started_pickups

MOST_DAYS = 14

MOST_FAULTS_SAID = 3
"""Faults in the sentence; all of them are in its figures."""


class PlanImpossible(Refused):
    """The group's own wishes contradict each other or a limit; the sentence names which."""

    code = "plan_impossible"


def make_plan(
    group: Group,
    *,
    now: datetime,
    starts_on: date | None = None,
    days: int = 7,
    made_by: Member | None = None,
    seed: int = 0,
    limits: Limits | None = None,
    change_budget: int | None = None,
    started: Sequence[Placement] | None = None,
) -> Plan:
    """Solve from what is known at `now` and store a draft; nobody is told anything yet.

    `starts_on` defaults to tomorrow. The same rows, seed and limits give the same plan.
    """
    today = local_date(now, group.time_zone)
    first = starts_on or date.fromordinal(today.toordinal() + 1)
    _check(first, days, today)
    if started is None:
        started = started_pickups(group, first, days)
    built = build_problem(
        group, first, days, as_of=today, change_budget=change_budget, started=started, at=now
    )
    try:
        result = solve(built.problem, limits=limits, seed=seed)
    except ProblemError as error:
        raise PlanImpossible(
            _why_impossible(built, error),
            figures={
                "faults": [str(fault) for fault in error.faults],
                "pins_to_lift": [
                    {"batch": pin.batch, "digester": pin.digester, "day": pin.day}
                    for pin in error.pins_to_lift
                ],
            },
        ) from error
    return store_plan(built, result, now=now, made_by=made_by)


def _why_impossible(built: Built, error: ProblemError) -> str:
    if not error.pins_to_lift:
        faults = " ".join(str(fault) for fault in error.faults[:MOST_FAULTS_SAID])
        return _("No plan can be made: %(faults)s") % {"faults": faults}
    pins = [
        _("%(material)s, %(source)s → %(home)s, %(on)s")
        % {
            "material": _(built.batches[pin.batch].stream.material.name),
            "source": built.batches[pin.batch].stream.source.name,
            "home": built.digesters[pin.digester].digester.name,
            "on": date_format(on_day(built, pin.day), "D j F"),
        }
        for pin in error.pins_to_lift
    ]
    return _(
        "The pins cannot all be kept. It is enough to take out: %(pins)s. Take it out below, under "
        "what you asked for, and make the plan again."
    ) % {"pins": "; ".join(pins)}


def store_plan(built: Built, result: Result, *, now: datetime, made_by: Member | None) -> Plan:
    """Write the draft with its assignments, daily feeds, left-overs and second homes, whole or
    not at all."""
    group = built.group
    composed = compose_plan(built, result)
    unsure = unsure_sources(missed_visits(group, local_date(now, group.time_zone)))
    second = choose_second_homes(built.problem, result, unsure) if unsure else []
    with transaction.atomic():
        # One writer of versions at a time in a group.
        Group.objects.select_for_update(no_key=True).get(pk=group.pk)
        latest = Plan.objects.of(group).aggregate(latest=Max("version"))["latest"] or 0
        version = latest + 1
        composed.document["plan"] = str(version)
        plan = Plan.unscoped.create(
            group=group,
            version=version,
            status=PlanStatus.DRAFT,
            starts_on=built.problem.starts_on,
            days=built.problem.days,
            made_at=now,
            made_by=made_by,
            input_hash=result.provenance.input_hash,
            document=composed.document,
        )
        Assignment.unscoped.bulk_create(_assignments(plan, built, result))
        DailyFeed.unscoped.bulk_create(_daily_feeds(plan, built, composed))
        LeftOver.unscoped.bulk_create(_left_overs(plan, built, composed))
        SecondHome.unscoped.bulk_create(_second_homes(plan, built, second))
        record_fact(
            group,
            "plan_made",
            happened_at=now,
            subject_uuid=plan.uuid,
            payload={"version": version, "starts_on": plan.starts_on.isoformat()},
            actor_uuid=made_by.uuid if made_by else None,
        )
    return plan


def _check(first: date, days: int, today: date) -> None:
    if not 1 <= days <= MOST_DAYS:
        raise Refused(
            _("A plan is for 1 to %(most)s days, not %(days)s.")
            % {"most": MOST_DAYS, "days": days},
            field="days",
            figures={"days": days, "most": MOST_DAYS},
        )
    if first < today:
        raise Refused(
            _("A plan cannot start on %(first)s: today is %(today)s. Start today or later.")
            % {"first": first, "today": today},
            field="starts_on",
        )


def _assignments(plan: Plan, built: Built, result: Result) -> list[Assignment]:
    rows = []
    most = most_to_take(built.problem, result.placements)
    for placement, most_g in zip(result.placements, most, strict=True):
        batch = built.batches[placement.batch]
        source = built.sources[batch.stream.source.code]
        window = built.meeting(source.code, placement.digester, placement.day)
        rows.append(
            Assignment(
                group=plan.group,
                plan=plan,
                stream=batch.stream,
                source=source,
                digester=built.digesters[placement.digester].digester,
                batch_on=batch.on,
                on=on_day(built, placement.day),
                amount_g=placement.amount_g,
                most_g=most_g,
                distance_m=built.distances_m.get((source.code, placement.digester), 0),
                from_min=window.opens_min if window else 0,
                till_min=window.closes_min if window else 1440,
            )
        )
    return rows


def _daily_feeds(plan: Plan, built: Built, composed: Composed) -> list[DailyFeed]:
    rows = []
    for (code, index), feed in composed.feeds.items():
        each = built.digesters[code]
        limits = each.days[index].limits
        rows.append(
            DailyFeed(
                group=plan.group,
                plan=plan,
                digester=each.digester,
                on=on_day(built, index),
                feed_g=feed.load.feed_g,
                feed_vs_g=feed.load.vs_g,
                slurry_ml=feed.slurry_ml,
                water_ml=feed.water_ml,
                max_feed_g=limits.max_feed_g,
                max_vs_g=limits.max_vs_g,
                max_slurry_ml=limits.max_slurry_ml,
                target_vs_g=limits.target_vs_g,
            )
        )
    return rows


def _left_overs(plan: Plan, built: Built, composed: Composed) -> list[LeftOver]:
    return [
        LeftOver(
            group=plan.group,
            plan=plan,
            stream=built.batches[row["lot"]].stream,
            batch_on=built.batches[row["lot"]].on,
            amount_g=row["amount_g"],
            destination=composed.destinations.get(row["lot"]),
            reason={
                "code": row["reason_code"],
                "sentence": row["reason"],
                "smallest_change": row["smallest_change"],
            },
        )
        for row in composed.document["left_over"]
        if row["lot"] in built.batches
    ]


def _second_homes(plan: Plan, built: Built, chosen: Sequence[Chosen]) -> list[SecondHome]:
    return [
        SecondHome(
            group=plan.group,
            plan=plan,
            source=built.sources[each.source],
            instead_of=built.digesters[each.instead_of].digester,
            digester=built.digesters[each.digester].digester,
            on=on_day(built, each.day),
            amount_g=each.amount_g,
            distance_m=each.distance_m,
        )
        for each in chosen
    ]
