"""Build the rounds of one day from the pickups that are open: one carrier's, or several at once."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import date, datetime

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.kernel.days import local_date
from apps.people.models import Member
from apps.pickups.models import Pickup
from apps.rounds.core.answer import Answer
from apps.rounds.core.apart import apart
from apps.rounds.core.engine import Effort
from apps.rounds.core.other_hours import solve_with_hours
from apps.rounds.models import LIVE, Carrier, Round, RoundState
from apps.rounds.operations.errors import NothingToCarry, RoundRefused
from apps.rounds.operations.write_tour import write_tour
from apps.rounds.queries.joint_problem import JointProblem, Shift, joint_problem
from apps.rounds.queries.round_problem import OPEN, open_pickups, pickups_by_id


def build_round(
    group: Group,
    carrier: Carrier,
    on: date,
    *,
    now: datetime,
    built_by: Member | None,
    pickups: Collection[Pickup] | None = None,
    from_min: int | None = None,
    till_min: int | None = None,
    effort: Effort | None = None,
) -> Round:
    """One carrier's, as `build_rounds`."""
    [made] = build_rounds(
        group,
        [carrier],
        on,
        now=now,
        built_by=built_by,
        pickups=pickups,
        from_min=from_min,
        till_min=till_min,
        effort=effort,
    )
    return made


def build_rounds(
    group: Group,
    carriers: Sequence[Carrier],
    on: date,
    *,
    now: datetime,
    built_by: Member | None,
    pickups: Collection[Pickup] | None = None,
    from_min: int | None = None,
    till_min: int | None = None,
    effort: Effort | None = None,
) -> list[Round]:
    """Return the drafts; the pickups are shared out so that least time is spent in all. Earlier
    drafts of the same carriers and day are made anew; of several, who is not needed gets none.
    `pickups` None: all that are open and in no other round. Hours None: each carrier's own. The
    search runs outside of the transaction; what changed meanwhile is refused, not half written."""
    if on < local_date(now, group.time_zone):
        raise NothingToCarry(_("That day is over. Choose today or a later day."), field="on")
    shifts = [_shift(each, from_min, till_min) for each in carriers]
    drafts = [_live(each, on) for each in carriers]
    chosen = _chosen(group, on, [each for each in drafts if each is not None], pickups)
    if not chosen:
        raise NothingToCarry(_("No pickup is open that day that is not in a round already."))
    problem = joint_problem(shifts, on, chosen)
    answers = apart(solve_with_hours(problem.rounds, problem.others, effort))
    try:
        with transaction.atomic():
            return _write(group, shifts, on, problem, answers, now, built_by)
    except IntegrityError as error:
        raise RoundRefused(
            _("A pickup went into another round meanwhile. Build this one again.")
        ) from error


def _shift(carrier: Carrier, from_min: int | None, till_min: int | None) -> Shift:
    begin = carrier.from_min if from_min is None else from_min
    end = carrier.till_min if till_min is None else till_min
    if begin >= end:
        raise NothingToCarry(
            _("The round ends before it begins. Give the earlier time first."), field="till_min"
        )
    return Shift(carrier, begin, end)


def _live(carrier: Carrier, on: date) -> Round | None:
    """The draft; an announced one is not made anew."""
    found: Round | None = (
        Round.objects.of(carrier.group)
        .select_related("carrier__member", "carrier__group", "group")
        .filter(carrier=carrier, on=on, state__in=LIVE)
        .first()
    )
    if found is not None and found.state == RoundState.ANNOUNCED:
        raise RoundRefused(
            _("%(name)s already has an announced round that day. Change that one, or drop it."),
            figures={"name": carrier.member.name},
        )
    return found


def _chosen(
    group: Group, on: date, drafts: Sequence[Round], pickups: Collection[Pickup] | None
) -> list[Pickup]:
    if pickups is not None:
        rows = pickups_by_id(group, {each.pk for each in pickups})
        return [each for each in rows if each.on == on and each.state in OPEN]
    own = {pk for each in drafts for pk in each.stops.values_list("pickup_id", flat=True)}
    mine = [each for each in pickups_by_id(group, own) if each.state in OPEN]
    free = [each for each in open_pickups(group, on) if each.pk not in own]
    return sorted([*mine, *free], key=lambda each: str(each.uuid))


def _write(
    group: Group,
    shifts: Sequence[Shift],
    on: date,
    problem: JointProblem,
    answers: dict[str, Answer],
    now: datetime,
    built_by: Member | None,
) -> list[Round]:
    ids = [each.carrier.pk for each in shifts]
    list(
        Carrier.objects.of(group).filter(pk__in=ids).order_by("pk").select_for_update(of=("self",))
    )
    # First all stops go, so that a pickup can change hands.
    live = {each.carrier.pk: _live(each.carrier, on) for each in shifts}
    for draft in live.values():
        if draft is not None:
            draft.stops.all().delete()
    made = []
    for shift in shifts:
        code = shift.carrier.member.code
        draft, answer = live[shift.carrier.pk], answers[code]
        if not answer.tours and len(shifts) > 1:
            if draft is not None:
                draft.delete()
            continue
        found = draft or Round(group=group, carrier=shift.carrier, on=on)
        found.from_min, found.till_min = shift.from_min, shift.till_min
        found.built_by, found.built_at = built_by, now
        if found.pk:
            found.version += 1
        found.save()
        write_tour(found, replace(problem.alone[code], rounds=answer.rounds), answer)
        made.append(found)
    if not made:
        raise NothingToCarry(_("None of them can carry any of it that day. Choose other hours."))
    return made
