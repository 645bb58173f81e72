"""Answering what was reported; a smell of gas only with the name of who tested."""

from __future__ import annotations

from datetime import UTC, datetime
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from apps.digesters.models import Concern, ConcernKind
from apps.digesters.operations.close_concern import close_concern
from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.web.forms.concerns import AnswerForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest, page
from apps.web.today import today_of

COORDINATOR = roles(Role.COORDINATOR)


@page(GET=COORDINATOR, POST=COORDINATOR)
def close(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """The answer stands on the page that whoever reported it has kept."""
    here = request.admission
    concern = get_object_or_404(
        Concern.objects.of(here.group).select_related("place", "group"), uuid=uuid
    )
    form = AnswerForm(
        request.POST if request.method == "POST" else None,
        is_gas=concern.kind == ConcernKind.GAS_SMELL,
        today=today_of(here.group),
    )
    if request.method == "POST" and form.is_valid():
        try:
            close_concern(
                concern, closed_by=here.member, now=datetime.now(UTC), **form.cleaned_data
            )
        except Refused as error:
            put_refusal(form, error)
        else:
            messages.success(request, _("Answered. Whoever reported it can read it."))
            return redirect("today", group=group)
    context = {"concern": concern, "form": form, "is_gas": concern.kind == ConcernKind.GAS_SMELL}
    return render(request, "web/today/close.html", context, status=422 if form.errors else 200)
