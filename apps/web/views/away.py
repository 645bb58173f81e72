"""A household goes away: the days, a keyholder or none, and what to do before."""

from __future__ import annotations

from datetime import UTC, datetime
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from apps.digesters.models import Digester
from apps.digesters.operations.go_away import go_away
from apps.kernel.errors import NotAllowed, Refused
from apps.people.access import roles
from apps.people.models import Member, Role
from apps.places.models import Absence
from apps.places.operations.set_absence import end_absence
from apps.web.forms.away import AwayForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest, page
from apps.web.today import today_of

OWNERS = roles(Role.HOUSEHOLDER, Role.COORDINATOR)


@page(GET=OWNERS, POST=OWNERS)
def away(request: PageRequest, group: str, code: str) -> HttpResponse:
    """Say the days; then read what to do before going."""
    here = request.admission
    digester = own_digester(request, code)
    today = today_of(here.group)
    others = Member.objects.of(here.group).filter(left_at=None).order_by("name")
    if digester.household_id is not None:
        others = others.exclude(pk=digester.household_id)
    form = AwayForm(
        request.POST if request.method == "POST" else None, keyholders=others, today=today
    )
    gone = None
    if request.method == "POST" and form.is_valid():
        try:
            gone = go_away(
                digester, now=datetime.now(UTC), recorded_by=here.member, **form.cleaned_data
            )
        except Refused as error:
            put_refusal(form, error)
    context = {
        "digester": digester,
        "form": form,
        "gone": gone,
        "absences": Absence.objects.of(here.group)
        .filter(place=digester.place_id, last_on__gte=today)
        .select_related("keyholder"),
    }
    status = 422 if form.errors else 200
    return render(request, "web/own/away.html", context, status=status)


@page(POST=OWNERS)
def back(request: PageRequest, group: str, code: str, uuid: UUID) -> HttpResponse:
    """Somebody is there after all; the feed comes back step by step."""
    here = request.admission
    digester = own_digester(request, code)
    absence = get_object_or_404(
        Absence.objects.of(here.group).select_related("group", "place"),
        place=digester.place_id,
        uuid=uuid,
    )
    end_absence(absence, now=datetime.now(UTC), actor_uuid=here.member.uuid)
    messages.success(
        request, _("Taken back. The feed comes back step by step from its stable level.")
    )
    return redirect("away", group=group, code=code)


def own_digester(request: PageRequest, code: str) -> Digester:
    """One's own, or any for a coordinator."""
    here = request.admission
    found: Digester = get_object_or_404(
        Digester.objects.of(here.group).select_related("place", "household", "group"), code=code
    )
    keepers = {Role.COORDINATOR, Role.GROUP_ADMIN}
    if found.household_id != here.member.pk and not keepers & here.roles:
        raise NotAllowed(_("This is somebody else's. Only they or a coordinator can act here."))
    return found
