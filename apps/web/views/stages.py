"""Taking a digester to another stage of its life."""

from __future__ import annotations

from datetime import UTC, datetime

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from apps.digesters.models import Digester
from apps.digesters.operations.change_stage import change_stage
from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.web.forms.refusals import put_refusal
from apps.web.forms.stages import StageForm
from apps.web.page import PageRequest, page
from apps.web.templatetags.shown import say
from apps.web.today import today_of

KEEPERS = roles(Role.COORDINATOR, Role.GROUP_ADMIN)
FIELD_OF = {"stage": "goal", "evidence": "seen", "on": "on"}
"""The operation's names of what is wrong, by the form's."""


@page(GET=KEEPERS, POST=KEEPERS)
def stage(request: PageRequest, group: str, code: str) -> HttpResponse:
    """Only steps that exist from here, each with its evidence and caution."""
    here = request.admission
    digester = get_object_or_404(Digester.objects.of(here.group), code=code)
    form = StageForm(
        request.POST if request.method == "POST" else None,
        stage=digester.stage,
        today=today_of(here.group),
    )
    if request.method == "POST" and form.is_valid():
        goal, seen, on = form.step()
        try:
            done = change_stage(
                digester, goal, evidence=seen, on=on, now=datetime.now(UTC), recorded_by=here.member
            )
        except Refused as error:
            put_refusal(form, error, under=FIELD_OF.get(error.field or ""))
        else:
            messages.success(request, _("Saved. %(caution)s") % {"caution": say(done.caution)})
            return redirect("digester", group=group, code=code)
    status = 422 if form.errors else 200
    return render(request, "web/stage.html", {"form": form, "digester": digester}, status=status)
