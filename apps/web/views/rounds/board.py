"""The assigner's rounds: a day's rounds, one round with its timeline and map, and its changes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from apps.kernel.errors import NeedsConfirmation, Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.planning.queries.address_viewer import address_viewer
from apps.rounds.models import Carrier, Round
from apps.rounds.operations.announce_round import announce_round, drop_round
from apps.rounds.operations.build_round import build_rounds
from apps.rounds.operations.change_order import lock_stop, move_stop
from apps.rounds.operations.make_round_link import make_round_link
from apps.rounds.operations.replan_round import replan_round
from apps.rounds.queries.round_file import DOCUMENT, round_file, round_file_name
from apps.rounds.queries.round_problem import days_to_carry, open_pickups
from apps.rounds.queries.show_round import rounds_of_day, show_round
from apps.web.forms.refusals import put_refusal
from apps.web.forms.rounds import BuildForm
from apps.web.page import PageRequest, page
from apps.web.templatetags.shown import say
from apps.web.today import today_of
from apps.web.views.day.visit import whole_number
from apps.web.views.rounds.pictures import round_map, round_strip

ASSIGNERS = roles(Role.ASSIGNER, Role.COORDINATOR)


@page(GET=ASSIGNERS, POST=ASSIGNERS)
def rounds(request: PageRequest, group: str) -> HttpResponse:
    """GET: the rounds of `?on=`, unless said of the next day that has something to carry; POST:
    build those of one carrier or several."""
    here = request.admission
    today = today_of(here.group)
    days = days_to_carry(here.group, today)
    on = _day(request.GET.get("on", ""), next(iter(days), today))
    carriers = list(
        Carrier.objects.of(here.group)
        .filter(is_active=True, member__left_at=None)
        .select_related("member", "group", "start", "end", "account")
    )
    sent = request.POST if request.method == "POST" else None
    form = BuildForm(sent, carriers=carriers, initial={"on": on})
    if sent is not None and form.is_valid():
        try:
            made = build_rounds(
                here.group,
                form.chosen(),
                form.cleaned_data["on"],
                now=datetime.now(UTC),
                built_by=here.member,
                **form.hours(),
            )
        except Refused as error:
            put_refusal(form, error)
        else:
            _say_idle(request, form.chosen(), made)
            if len(made) == 1:
                return redirect("round", group=group, uuid=made[0].uuid)
            day = form.cleaned_data["on"].isoformat()
            return redirect(f"{reverse('rounds', args=[group])}?on={day}")
    context = {
        "form": form,
        "on": on,
        "rounds": rounds_of_day(here.group, on),
        "days": days,
        "open_count": days[on] if on in days else len(open_pickups(here.group, on)),
        "carriers": carriers,
    }
    return render(request, "web/rounds/rounds.html", context, status=422 if form.errors else 200)


@page(GET=ASSIGNERS, POST=ASSIGNERS)
def one(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """GET: timeline, map, stops, figures; POST: one change."""
    problem, status, ask = "", 200, False
    if request.method == "POST":
        try:
            told = _do(request, uuid)
        except NeedsConfirmation as error:
            problem, status, ask = say(error), error.status, True
        except Refused as error:
            problem, status = say(error), error.status
        else:
            messages.success(request, told)
            return redirect("round", group=group, uuid=uuid)
    here = request.admission
    now = datetime.now(UTC)
    found = _round(here.group, uuid)
    shown = show_round(found, address_viewer(here.group, here.member, here.roles, now=now))
    context = {
        "shown": shown,
        "strip": round_strip(shown),
        "map": round_map(shown),
        "problem": problem,
        "ask": ask,
        "figures": found.figures,
        "is_draft": found.state == "draft",
        "is_live": found.state in ("draft", "announced"),
    }
    return render(request, "web/rounds/round.html", context, status=status)


def _say_idle(request: PageRequest, asked: Sequence[Carrier], made: Sequence[Round]) -> None:
    out = {each.carrier_id for each in made}
    idle = [each.member.name for each in asked if each.pk not in out]
    if idle:
        told = _("Not needed: %(names)s. The others do it in less time.")
        messages.info(request, told % {"names": ", ".join(idle)})


@page(GET=ASSIGNERS)
def document(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """The round as the independent check reads it, to keep or to check elsewhere."""
    found = _round(request.admission.group, uuid)
    answer = HttpResponse(round_file(found), content_type=DOCUMENT)
    answer["Content-Disposition"] = f'attachment; filename="{round_file_name(found)}"'
    return answer


def _do(request: PageRequest, uuid: UUID) -> str:
    """One change; returns what was done."""
    here, now = request.admission, datetime.now(UTC)
    what = request.POST.get("do", "")
    found = _round(here.group, uuid)
    if what == "announce":
        announce_round(
            here.group,
            uuid,
            now=now,
            announced_by=here.member,
            is_confirmed=bool(request.POST.get("is_confirmed")),
        )
        return _("Announced. %(name)s gets a message.") % {"name": found.carrier.member.name}
    if what == "drop":
        drop_round(here.group, uuid, now=now, dropped_by=here.member)
        return _("Dropped. The homes fetch their own again.")
    if what == "again":
        replan_round(here.group, uuid, now=now, asked_by=here.member)
        return _("Ordered anew.")
    if what == "link":
        token = make_round_link(found, now=now)
        return request.build_absolute_uri(f"/round/{token}/")
    return _change_stop(request, found, what, now)


def _change_stop(request: PageRequest, found: Round, what: str, now: datetime) -> str:
    try:
        wanted = UUID(request.POST.get("stop", ""))
    except ValueError:
        raise Http404 from None
    stop = get_object_or_404(found.stops, uuid=wanted)
    if what in ("lock", "free"):
        lock_stop(found.group, stop.uuid, is_locked=what == "lock")
        return _("Promised for its time.") if what == "lock" else _("Free to move again.")
    number = whole_number(request.POST.get("to_number", ""))
    if what != "move" or number is None:
        raise Http404
    moved = move_stop(found.group, stop.uuid, number, now=now)
    return _("Moved to place %(number)s and promised for its time.") % {"number": moved.number}


def _round(group: Any, uuid: UUID) -> Round:
    found: Round = get_object_or_404(
        Round.objects.of(group).select_related("group", "carrier__member", "built_by"), uuid=uuid
    )
    return found


def _day(text: str, otherwise: date) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return otherwise
