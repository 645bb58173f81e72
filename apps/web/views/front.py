"""The front page, and a group's own first page."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render

from apps.people.access import PUBLIC
from apps.people.models import Member
from apps.web.page import PageRequest, page


@page(GET=PUBLIC)
def front(request: PageRequest) -> HttpResponse:
    """What this is; for somebody signed in, their groups."""
    user = request.admission.user
    members = (
        Member.unscoped.filter(user=user, left_at=None)
        .select_related("group")
        .order_by("group__name")
        if user
        else ()
    )
    return render(request, "web/front.html", {"members": members})
