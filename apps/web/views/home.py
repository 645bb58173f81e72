"""A group's first page: what each role needs first."""

from __future__ import annotations

from datetime import UTC, datetime

from django.http import HttpResponse
from django.shortcuts import render

from apps.people.access import MEMBER, roles
from apps.people.models import Role
from apps.places.queries.visible_address import visible_address
from apps.planning.models import Plan, PlanStatus
from apps.planning.queries.address_viewer import address_viewer
from apps.planning.queries.member_notes import MemberNotes, member_notes
from apps.planning.queries.member_week import member_week
from apps.web.page import PageRequest, page
from apps.web.plan_pages import day_measures, day_portions
from apps.web.today import today_of
from apps.web.week_pictures import draw_week

OWN_WEEK = roles(Role.HOUSEHOLDER, Role.SOURCE_CONTACT)


@page(GET=MEMBER)
def home(request: PageRequest, group: str) -> HttpResponse:
    """Links and the state of the plan, by role."""
    here = request.admission
    plans = Plan.objects.of(here.group).defer("document")
    return render(
        request,
        "web/home.html",
        {
            "role_names": {role.value for role in here.roles},
            "today": today_of(here.group),
            "announced": plans.filter(status=PlanStatus.ANNOUNCED).first(),
            "draft": plans.filter(status=PlanStatus.DRAFT).order_by("-version").first(),
        },
    )


@page(GET=OWN_WEEK)
def my_week(request: PageRequest, group: str) -> HttpResponse:
    """What comes to my digester, who comes to my stall."""
    here = request.admission
    on = today_of(here.group)
    week = member_week(here.group, here.member, on)
    viewer = address_viewer(here.group, here.member, here.roles, now=datetime.now(UTC))
    addresses = {}
    for _digester, home_days in week.homes:
        for day in home_days:
            for each in day.brings:
                addresses[each.source.place_id] = visible_address(each.source.place, viewer)
    for _source, source_days in week.sources:
        for day in source_days:
            for each in day.visits:
                addresses[each.digester.place_id] = visible_address(each.digester.place, viewer)
    codes = [digester.code for digester, _days in week.homes]
    notes = member_notes(week.plan, here.member, codes) if week.plan else MemberNotes()
    return render(
        request,
        "web/my_week.html",
        {
            "week": week,
            "portions": day_portions(week.plan) if week.plan else {},
            "measures": day_measures(week.plan) if week.plan else {},
            "addresses": addresses,
            "today": on,
            "homes": [
                {
                    "digester": digester,
                    "days": days,
                    "notes": notes.homes.get(digester.code, ()),
                    "strip": draw_week(
                        digester.name, [(day.on, day.brought_g) for day in days], on
                    ),
                }
                for digester, days in week.homes
            ],
            "sources": [
                {
                    "source": source,
                    "days": days,
                    "notes": notes.sources.get(source.code, ()),
                    "strip": draw_week(source.name, [(day.on, day.taken_g) for day in days], on),
                }
                for source, days in week.sources
            ],
        },
    )
