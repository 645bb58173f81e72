"""Stored plans: how good each is, how it was made, what the verifier says, and its files."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import render

from apps.people.access import roles
from apps.people.models import Role
from apps.planning.core.hunger import hungry_homes
from apps.planning.core.read_document import trip_g_m_of
from apps.planning.core.wish_words import ENDED
from apps.planning.models import Plan
from apps.planning.queries.find_plan import find_plan
from apps.planning.queries.plan_files import PLAN_FILES, file_name
from apps.planning.verifier.verify import verify
from apps.web.page import PageRequest, page
from apps.web.plan_pages import verdicts

READERS = roles(Role.ASSIGNER, Role.COORDINATOR)
ROWS_A_PAGE = 30


@page(GET=READERS)
def plans(request: PageRequest, group: str) -> HttpResponse:
    """All of them, newest first."""
    found = (
        Plan.objects.of(request.admission.group)
        .defer("document")
        .select_related("made_by", "announced_by")
        .order_by("-version")
    )
    shown = Paginator(found, ROWS_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "web/plans.html", {"page": shown})


@page(GET=READERS)
def plan(request: PageRequest, group: str, version: int) -> HttpResponse:
    """Wishes with their bounds, provenance, and an independent check of the stored document."""
    found = find_plan(request.admission.group, version)
    provenance = found.document["provenance"]
    return render(
        request,
        "web/plan.html",
        {
            "plan": found,
            "wishes": verdicts(found),
            "hungry": [each.say() for each in hungry_homes(found.document)],
            "provenance": provenance,
            "ended_by": ENDED.get(provenance["stopped_by"], provenance["stopped_by"]),
            "trip_m": trip_g_m_of(found.document) // 1000,
            "violations": verify(found.document),
            "forms": list(PLAN_FILES),
        },
    )


@page(GET=READERS)
def plan_file(request: PageRequest, group: str, version: int, form: str) -> HttpResponse:
    """The whole plan as a file; it holds no street."""
    if form not in PLAN_FILES:
        raise Http404
    found = find_plan(request.admission.group, version)
    media_type, make = PLAN_FILES[form]
    response = HttpResponse(make(found), content_type=media_type)
    response["Content-Disposition"] = f'attachment; filename="{file_name(found, form)}"'
    return response
