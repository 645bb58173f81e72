"""What is late right now, with one-tap repairs; and the group's own times for reminders."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from apps.groups.models import Group
from apps.people.access import roles
from apps.people.models import Member, Role
from apps.pickups.core.life import FAIL, HAND_OVER, Party, State
from apps.pickups.models import Ladder, Pickup, Standby
from apps.pickups.operations.answer_pickup import end_pickup
from apps.pickups.operations.change_hands import hand_over_pickup
from apps.pickups.operations.set_ladder import set_ladder
from apps.pickups.operations.take_step import Act, Actor
from apps.pickups.queries.exceptions import Kind, todays_exceptions
from apps.pickups.queries.next_homes import propose_next_homes
from apps.web.forms.ladder import LadderForm
from apps.web.page import PageRequest, page
from apps.web.today import today_of
from apps.web.views.day.change import neighbours
from apps.web.views.day.visit import client_key

COORDINATOR = roles(Role.COORDINATOR)
ASKED_AT_ONCE = 3
"""Late ones whose next homes are looked up with the page; each look takes a second or more."""


@page(GET=COORDINATOR)
def late_now(request: PageRequest, group: str) -> HttpResponse:
    """The latest first; what has no home yet stands on today's page."""
    here, now = request.admission, datetime.now(UTC)
    late = [
        each.pickup
        for each in todays_exceptions(here.group, now=now)
        if each.kind == Kind.LATE and each.pickup is not None
    ]
    late.sort(key=lambda each: (each.on, each.expected_till_min))
    rows = [
        {
            "pickup": pickup,
            "planned_g": sum(line.planned_g for line in pickup.lines.all()),
            "is_open": pickup.state != State.COLLECTED,
            "homes": propose_next_homes(pickup, now=now, most=2)
            if at < ASKED_AT_ONCE and pickup.on == today_of(here.group)
            else None,
        }
        for at, pickup in enumerate(late)
    ]
    context = {"rows": rows, "people": neighbours(here.group)}
    return render(request, "web/today/late.html", context)


@page(POST=COORDINATOR)
def repair(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """Another person goes, or the source composts it."""
    here = request.admission
    pickup = get_object_or_404(
        Pickup.objects.of(here.group).select_related("source", "digester__household"), uuid=uuid
    )
    what = request.POST.get("do", "")
    if what == "hand_over":
        to = _person(here.group, request.POST.get("to", ""))
        hand_over_pickup(here.group, uuid, _act(request, pickup, HAND_OVER), to=to)
        told = _("%(name)s is asked and gets a link.") % {"name": to.name}
    elif what == "compost":
        end_pickup(here.group, uuid, _act(request, pickup, FAIL, reason="composted"))
        told = _("%(source)s is told to compost it. Nobody needs to come.") % {
            "source": pickup.source.name
        }
    else:
        raise Http404
    messages.success(request, told)
    return redirect("late-now", group=group)


@page(GET=COORDINATOR, POST=COORDINATOR)
def ladder(request: PageRequest, group: str) -> HttpResponse:
    """Times in minutes before the end of a pickup's hours, and who stands by."""
    here = request.admission
    row = Ladder.objects.of(here.group).first() or Ladder()
    form = LadderForm(
        request.POST if request.method == "POST" else None,
        ladder=row,
        people=list(Member.objects.of(here.group).filter(left_at=None).order_by("name", "code")),
        standing_by=set(Standby.objects.of(here.group).values_list("member__code", flat=True)),
    )
    if request.method == "POST" and form.is_valid():
        set_ladder(
            here.group,
            form.times(),
            standby=form.standby(),
            now=datetime.now(UTC),
            set_by=here.member,
        )
        messages.success(request, _("Saved. It counts for the next pickups that are announced."))
        return redirect("ladder", group=group)
    status = 422 if form.errors else 200
    return render(request, "web/today/ladder.html", {"form": form}, status=status)


def _person(group: Group, code: str) -> Member:
    found = next((each for each in neighbours(group) if each.code == code), None)
    if found is None:
        raise Http404
    return found


def _act(request: PageRequest, pickup: Pickup, step: Any, *, reason: str = "") -> Act:
    return Act(
        step=step,
        actor=Actor(request.admission.member, Party.COORDINATOR, pickup.digester.household),
        client_key=client_key(request),
        now=datetime.now(UTC),
        reason=reason,
    )
