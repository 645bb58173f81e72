"""The week's plan: read it, make it, announce it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from apps.people.access import roles
from apps.people.models import Role
from apps.planning.models import LeftOver, Plan, PlanStatus
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import PlanImpossible, make_plan
from apps.planning.queries.explain import PlanExplainer
from apps.planning.queries.find_plan import announced_plan, find_plan, latest_draft
from apps.planning.queries.plan_changes import plan_changes
from apps.planning.queries.plan_week import plan_week
from apps.web.page import PageRequest, page
from apps.web.plan_pages import day_measures, day_portions
from apps.web.today import today_of

READERS = roles(Role.ASSIGNER, Role.COORDINATOR)
ASSIGNER = roles(Role.ASSIGNER)
VIEWS = ("source", "home", "day", "left")
SECTIONS_A_PAGE = {"source": 20, "home": 6, "day": 1, "left": 20}


@page(GET=READERS)
def week(request: PageRequest, group: str) -> HttpResponse:
    """The newest draft that is not overtaken, else the announced plan."""
    here = request.admission
    plan = latest_draft(here.group) or announced_plan(here.group)
    if plan is None:
        return render(request, "web/week_empty.html", {"may_make": _may_change(request)})
    return _show(request, plan)


@page(GET=READERS)
def plan_by_version(request: PageRequest, group: str, version: int) -> HttpResponse:
    """Any stored plan, laid out the same way."""
    return _show(request, find_plan(request.admission.group, version))


@page(POST=ASSIGNER)
def make(request: PageRequest, group: str) -> HttpResponse:
    """The best plan around pins and bans, from tomorrow or from today on."""
    here = request.admission
    today = today_of(here.group)
    first = today if request.POST.get("from") == "today" else today + timedelta(days=1)
    try:
        plan = make_plan(here.group, now=datetime.now(UTC), starts_on=first, made_by=here.member)
    except PlanImpossible as refused:
        # The pins to take out are on the week's page.
        messages.error(request, str(refused))
        return redirect("week", group=group)
    messages.success(
        request,
        _("Draft %(version)s is made. Read it, then announce it.") % {"version": plan.version},
    )
    return redirect("week", group=group)


@page(POST=ASSIGNER)
def announce(request: PageRequest, group: str, version: int) -> HttpResponse:
    """Whole or not at all."""
    here = request.admission
    plan = announce_plan(
        find_plan(here.group, version), now=datetime.now(UTC), announced_by=here.member
    )
    messages.success(
        request,
        _("Plan %(version)s is announced. Everybody in it is told.") % {"version": plan.version},
    )
    return redirect("week", group=group)


def _may_change(request: PageRequest) -> bool:
    return Role.ASSIGNER in request.admission.roles


def _show(request: PageRequest, plan: Plan) -> HttpResponse:
    view = request.GET.get("by", "source")
    if view not in VIEWS:
        view = "source"
    whole = plan_week(plan)
    left = [each for day in whole.days for each in day.left_over]
    parts: dict[str, Sequence[Any]] = {
        "source": sorted(
            (each for each in whole.sources if each.next_on is not None or each.left_over),
            key=lambda each: (each.next_on is None, each.source.name, each.source.code),
        ),
        "home": whole.homes,
        "day": whole.days,
        "left": left,
    }
    shown = Paginator(parts[view], SECTIONS_A_PAGE[view]).get_page(request.GET.get("page"))
    return render(
        request,
        "web/week.html",
        {
            "plan": plan,
            "week": whole,
            "changes": plan_changes(plan),
            "view": view,
            "page": shown,
            "told": _told(plan, shown) if view == "left" else (),
            "portions": day_portions(plan) if view == "home" else {},
            "measures": day_measures(plan) if view == "home" else {},
            "left_count": len(left),
            "last_on": plan.starts_on + timedelta(days=plan.days - 1),
            "may_change": _may_change(request) and plan.status != PlanStatus.SUPERSEDED,
        },
    )


def _told(plan: Plan, left_overs: Iterable[LeftOver]) -> list[dict[str, Any]]:
    """Each with its reason and the smallest change, in sentences that can be translated."""
    explainer = PlanExplainer(plan)
    return [
        {
            "left": left,
            "why": explainer.why_left_over(left.stream.code, left.batch_on).sentences,
            "last_on": left.batch_on + timedelta(days=left.stream.kept_days),
        }
        for left in left_overs
    ]
