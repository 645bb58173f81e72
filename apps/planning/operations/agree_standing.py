"""Ask for what comes every week, and agree to it as the other side."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.http import Http404
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.errors import Conflict, NotAllowed, Refused
from apps.people.models import Member, Role
from apps.planning.models import Standing
from apps.supply.models import Stream

MOST_OF_A_HOME = 28
"""Open ones of one digester; each costs the evening a look at the plan. Ours."""


class StandingRefused(Refused):
    """It cannot stand so."""

    code = "standing_refused"


class StandingOver(Conflict):
    """It has ended."""

    code = "standing_over"


@transaction.atomic
def ask_standing(
    group: Group,
    *,
    stream: Stream,
    digester: Digester,
    weekday: int,
    now: datetime,
    asked_by: Member,
    amount_g: int | None = None,
) -> Standing:
    """The source's contact and the home's household each count for their side, an assigner for
    both. The same again agrees to it. Fact: `standing_asked`."""
    if not 0 <= weekday <= 6:
        raise StandingRefused(_("There is no such day of the week."), field="weekday")
    if amount_g is not None and amount_g <= 0:
        raise StandingRefused(
            _("Give at least 1 g, or leave the amount to the plan."), field="amount_g"
        )
    Digester.objects.of(group).select_for_update().get(pk=digester.pk)
    open_ones = Standing.objects.of(group).filter(digester=digester, ended_at=None)
    same = open_ones.filter(stream=stream, weekday=weekday).first()
    if same is not None:
        if same.amount_g != amount_g:
            raise StandingRefused(
                _("There is one for these two on that day already. End it first to change it."),
                field="weekday",
            )
        return agree_standing(group, same.uuid, now=now, agreed_by=asked_by)
    if open_ones.count() >= MOST_OF_A_HOME:
        raise StandingRefused(
            _("%(most)s are open for this home already. End one first."),
            field="digester",
            figures={"most": MOST_OF_A_HOME},
        )
    standing = Standing(
        group=group,
        stream=stream,
        digester=digester,
        weekday=weekday,
        amount_g=amount_g,
        asked_by=asked_by,
        asked_at=now,
    )
    _say_yes(standing, asked_by, now)
    standing.save()
    _tell(standing, "standing_asked", now, asked_by)
    return standing


@transaction.atomic
def agree_standing(group: Group, uuid: UUID, *, now: datetime, agreed_by: Member) -> Standing:
    """Agreed once both sides have said so. Fact: `standing_agreed`."""
    standing = find_standing(group, uuid)
    if standing.ended_at is not None:
        raise StandingOver(_("This has ended meanwhile. Ask for it anew."))
    was_agreed = standing.agreed_at is not None
    _say_yes(standing, agreed_by, now)
    standing.save()
    if standing.agreed_at is not None and not was_agreed:
        _tell(standing, "standing_agreed", now, agreed_by)
    return standing


def find_standing(group: Group, uuid: UUID) -> Standing:
    """Locked, or 404."""
    found: Standing | None = (
        Standing.objects.of(group)
        .select_for_update(of=("self",))
        .select_related("stream__source", "digester", "group")
        .filter(uuid=uuid)
        .first()
    )
    if found is None:
        raise Http404
    return found


def sides_of(standing: Standing, who: Member) -> tuple[bool, bool]:
    """Whether the person speaks for the source, and for the home; raises `NotAllowed` for
    neither."""
    assigns = who.member_roles.filter(role=Role.ASSIGNER).exists()
    gives = assigns or standing.stream.source.contact_id == who.pk
    takes = assigns or standing.digester.household_id == who.pk
    if not gives and not takes:
        raise NotAllowed(_("Only the source, the home or an assigner can do this."))
    return gives, takes


def _say_yes(standing: Standing, who: Member, now: datetime) -> None:
    gives, takes = sides_of(standing, who)
    standing.by_giver |= gives
    standing.by_taker |= takes
    if standing.by_giver and standing.by_taker and standing.agreed_at is None:
        standing.agreed_at, standing.agreed_by = now, who


def _tell(standing: Standing, kind: str, now: datetime, by: Member) -> None:
    record_fact(
        standing.group,
        kind,
        happened_at=now,
        subject_uuid=standing.uuid,
        payload={
            "stream": standing.stream.code,
            "digester": standing.digester.code,
            "weekday": standing.weekday,
            "amount_g": standing.amount_g,
        },
        actor_uuid=by.uuid,
    )
