"""A new digester's start, one step a screen."""

from __future__ import annotations

from datetime import UTC, datetime

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from apps.digesters.core.start_up import StartStep
from apps.digesters.operations.take_start_up_step import take_start_up_step
from apps.digesters.queries.lighting import why_not_light
from apps.digesters.queries.start_up_guide import start_up_guide
from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.web.forms.refusals import put_refusal
from apps.web.forms.start_up import StepForm
from apps.web.page import PageRequest, page
from apps.web.templatetags.shown import say
from apps.web.today import today_of
from apps.web.views.away import own_digester

STARTERS = roles(Role.HOUSEHOLDER, Role.COORDINATOR, Role.GROUP_ADMIN)


@page(GET=STARTERS, POST=STARTERS)
def guide(request: PageRequest, group: str, code: str) -> HttpResponse:
    """The step that comes next; those taken stand below with their days."""
    here = request.admission
    digester = own_digester(request, code)
    today = today_of(here.group)
    found = start_up_guide(digester, today)
    at = next((at for at, each in enumerate(found.steps) if each.step is found.due), None)
    current = found.steps[at] if at is not None else None
    form = None
    if current is not None:
        form = StepForm(
            request.POST if request.method == "POST" else None, step=current.step, today=today
        )
    if request.method == "POST" and form is not None and current is not None and form.is_valid():
        try:
            if request.POST.get("step") != current.step.value:
                return redirect("start-up", group=group, code=code)
            take_start_up_step(
                digester,
                StartStep(current.step),
                on=form.cleaned_data["on"],
                now=datetime.now(UTC),
                recorded_by=here.member,
                loss=form.loss(),
                filled_with=form.cleaned_data.get("filled_with", ""),
            )
        except Refused as error:
            put_refusal(form, error)
        else:
            messages.success(
                request, _("Written down: %(title)s") % {"title": say(current.text.title)}
            )
            return redirect("start-up", group=group, code=code)
    context = {
        "digester": digester,
        "guide": found,
        "current": current,
        "number": (at or 0) + 1,
        "form": form,
        "waits": bool(found.not_before_on and found.not_before_on > today),
        "not_to_light": why_not_light(digester),
        "today": today,
    }
    status = 422 if form is not None and form.errors else 200
    return render(request, "web/guide/step.html", context, status=status)
