"""What comes every week: asked for by one side, agreed by the other, ended by either."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from apps.digesters.models import Digester, StageName
from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.planning.models import Standing
from apps.planning.operations.agree_standing import agree_standing, ask_standing
from apps.planning.operations.end_standing import end_standing
from apps.planning.queries.standings import standings_for
from apps.supply.models import Stream
from apps.web.forms.refusals import put_refusal
from apps.web.forms.standing import StandingForm
from apps.web.page import PageRequest, page
from apps.web.today import today_of

BOTH_SIDES = roles(Role.HOUSEHOLDER, Role.SOURCE_CONTACT, Role.ASSIGNER)


@page(GET=BOTH_SIDES, POST=BOTH_SIDES)
def standings(request: PageRequest, group: str) -> HttpResponse:
    """The list, and the form that asks for one more."""
    here = request.admission
    assigns = Role.ASSIGNER in here.roles
    form = _form(request, assigns)
    if request.method == "POST" and form.is_valid():
        try:
            made = ask_standing(
                here.group, **form.asked(), now=datetime.now(UTC), asked_by=here.member
            )
        except Refused as error:
            put_refusal(form, error)
        else:
            told = (
                _("Agreed. It counts from the next plan on.")
                if made.agreed_at
                else _("Asked. It counts once the other side agrees here.")
            )
            messages.success(request, told)
            return redirect("standings", group=group)
    rows = standings_for(here.group, here.member, sees_all=assigns, today=today_of(here.group))
    context = {"form": form, "rows": [_row(each, request, assigns) for each in rows]}
    return render(request, "web/standings.html", context, status=422 if form.errors else 200)


@page(POST=BOTH_SIDES)
def decide(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """Agree, or end it."""
    here, now = request.admission, datetime.now(UTC)
    what = request.POST.get("do", "")
    if what == "agree":
        agree_standing(here.group, uuid, now=now, agreed_by=here.member)
        told = _("Agreed. It counts from the next plan on.")
    elif what == "end":
        end_standing(here.group, uuid, now=now, ended_by=here.member)
        told = _("Ended. Later days are the plan’s again.")
    else:
        raise Http404
    messages.success(request, told)
    return redirect("standings", group=group)


def _form(request: PageRequest, assigns: bool) -> StandingForm:
    """One's own end with every other end; everything for an assigner."""
    here = request.admission
    streams = (
        Stream.objects.of(here.group)
        .filter(is_active=True, source__is_active=True)
        .select_related("source", "material")
        .order_by("source__name", "code")
    )
    homes = Digester.objects.of(here.group).exclude(stage=StageName.CLOSED).order_by("name", "code")
    if not assigns:
        if not homes.filter(household=here.member).exists():
            streams = streams.filter(source__contact=here.member)
        elif not streams.filter(source__contact=here.member).exists():
            homes = homes.filter(household=here.member)
    return StandingForm(
        request.POST if request.method == "POST" else None,
        streams=list(streams),
        digesters=list(homes),
    )


def _row(standing: Standing, request: PageRequest, assigns: bool) -> dict[str, Any]:
    me = request.admission.member.pk
    gives = standing.stream.source.contact_id == me
    takes = standing.digester.household_id == me
    waits = assigns or (gives and not standing.by_giver) or (takes and not standing.by_taker)
    return {
        "standing": standing,
        "may_agree": standing.agreed_at is None and waits,
        "refused": [day for day in standing.coming if day.reason],  # type: ignore[attr-defined]
    }
