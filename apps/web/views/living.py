"""The living digester: this evening's gas, tomorrow's feeding, warnings, what is inside; and the
way back after souring, one step a screen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from apps.digesters.core.process.warnings import urgency
from apps.digesters.core.recovery import RecoveryStep
from apps.digesters.core.stages import Evidence, Stage
from apps.digesters.models import Digester, RaisedWarning
from apps.digesters.operations.change_stage import change_stage
from apps.digesters.queries.gas_now import gas_now
from apps.digesters.queries.model_view import Came, ModelView, model_view
from apps.digesters.queries.recovery_guide import recovery_guide
from apps.digesters.queries.try_feed import try_feed
from apps.kernel.errors import NotAllowed, Refused
from apps.kernel.sentences import Sentence
from apps.people.access import roles
from apps.people.models import Role
from apps.web.charts.foreseen_strip import Foreseen, draw_foreseen_strip
from apps.web.forms.refusals import put_refusal
from apps.web.forms.what_if import WhatIfForm
from apps.web.page import PageRequest, page
from apps.web.today import today_of
from apps.web.views.away import own_digester
from apps.web.views.day.drum import draw_gas

LOOKERS = roles(Role.HOUSEHOLDER, Role.COORDINATOR, Role.ASSIGNER, Role.GROUP_ADMIN)
KEEPERS = roles(Role.HOUSEHOLDER, Role.COORDINATOR, Role.GROUP_ADMIN)
PLANNERS = roles(Role.COORDINATOR, Role.ASSIGNER, Role.GROUP_ADMIN)
LOOKS_SHOWN = 20


@page(GET=LOOKERS)
def living(request: PageRequest, group: str, code: str) -> HttpResponse:
    """One digester; a what-if is asked with ?feed=…&days=…, and changes nothing."""
    here = request.admission
    digester = _seen_digester(request, code)
    now = datetime.now(UTC)
    view = model_view(digester, now)
    form, tried = WhatIfForm(), None
    if "feed" in request.GET:
        form = WhatIfForm(request.GET)
        if form.is_valid():
            try:
                tried = try_feed(
                    digester,
                    now,
                    vs_kg_per_day=form.cleaned_data["feed"] / 1000 * view.vs_share,
                    days=form.cleaned_data["days"],
                )
            except Refused as error:
                put_refusal(form, error, under="feed")
    context = {
        "digester": digester,
        "view": view,
        "form": form,
        "tried": tried,
        "is_own": digester.household_id == here.member.pk,
        "may_keep": bool(KEEPERS & here.roles),
        "may_try": bool({Role.COORDINATOR, Role.ASSIGNER, Role.GROUP_ADMIN} & here.roles),
        **pictures(digester, view, now),
    }
    return render(request, "web/living/page.html", context, status=422 if form.errors else 200)


def pictures(digester: Digester, view: ModelView, now: datetime) -> dict[str, Any]:
    """What the page and a day's link share."""
    return {
        "today": view.on,
        "drum": draw_gas(digester, gas_now(digester, now)),
        "warnings": _ranked(view.warnings),
        "history": view.history[-LOOKS_SHOWN:],
        "chart": _chart(view.history[-LOOKS_SHOWN:]),
        "souring_of_100": round(view.inside.souring_probability * 100) if view.inside else None,
        "recovery": recovery_guide(digester, view.on).due,
    }


def _chart(history: Sequence[Came]) -> SafeString:
    within = sum(each.within for each in history)
    says = _(
        "Gas foreseen and gas that came, look by look: %(within)s of %(all)s inside the band. The "
        "table below has the figures."
    ) % {"within": within, "all": len(history)}
    return draw_foreseen_strip(
        [
            Foreseen(
                each.foreseen_l.low,
                each.foreseen_l.middle,
                each.foreseen_l.high,
                each.came_l,
                each.within,
            )
            for each in history
        ],
        says=says,
    )


@page(GET=KEEPERS, POST=KEEPERS)
def recovery(request: PageRequest, group: str, code: str) -> HttpResponse:
    """The step that comes next; POST says that feeding was stopped."""
    here = request.admission
    digester = own_digester(request, code)
    today = today_of(here.group)
    guide = recovery_guide(digester, today)
    if request.method == "POST":
        if guide.due is RecoveryStep.STOP:
            change_stage(
                digester,
                Stage.RECOVERING,
                evidence=[Evidence.SOURED],
                on=today,
                now=datetime.now(UTC),
                recorded_by=here.member,
            )
            messages.success(request, _("Written down: feeding has stopped. Dip a strip each day."))
        return redirect("recovery", group=group, code=code)
    context = {
        "digester": digester,
        "guide": guide,
        "current": guide.steps[guide.due] if guide.due else None,
        "today": today,
        "may_stage": bool({Role.COORDINATOR, Role.GROUP_ADMIN} & here.roles),
    }
    return render(request, "web/living/recovery.html", context)


@page(GET=PLANNERS)
def warnings(request: PageRequest, group: str) -> HttpResponse:
    """Every warning that stands, the soonest and surest first."""
    rows = (
        RaisedWarning.objects.of(request.admission.group)
        .filter(cleared_on=None)
        .select_related("digester")
    )
    return render(request, "web/living/warnings.html", {"warnings": _ranked(rows)})


def _ranked(rows: Iterable[RaisedWarning]) -> list[dict[str, Any]]:
    most_urgent_first = sorted(
        rows, key=lambda row: (urgency(row.kind, row.within_days, row.certainty), row.pk)
    )
    return [_shown(row) for row in most_urgent_first]


def _shown(row: RaisedWarning) -> dict[str, Any]:
    return {
        "row": row,
        "evidence": Sentence(row.evidence["template"], row.evidence["values"]),
        "of_100": round(row.certainty * 100),
    }


def _seen_digester(request: PageRequest, code: str) -> Digester:
    """One's own, or any for whoever plans."""
    here = request.admission
    found = Digester.objects.of(here.group).select_related("place", "household", "group")
    digester = get_object_or_404(found, code=code)
    if not {Role.COORDINATOR, Role.ASSIGNER, Role.GROUP_ADMIN} & here.roles and (
        digester.household_id != here.member.pk
    ):
        raise NotAllowed(_("This is somebody else's. Only they or a coordinator can look here."))
    return digester
