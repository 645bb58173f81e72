"""Shares of the last 28 days, for those who ask whether it is fair."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render

from apps.people.access import roles
from apps.people.models import Role
from apps.planning.queries.fair_shares import fair_shares
from apps.web.page import PageRequest, page
from apps.web.today import today_of

KEEPERS = frozenset({Role.COORDINATOR, Role.ASSIGNER, Role.GROUP_ADMIN})
READERS = roles(
    Role.COORDINATOR, Role.ASSIGNER, Role.GROUP_ADMIN, Role.HOUSEHOLDER, Role.SOURCE_CONTACT
)


@page(GET=READERS)
def shares(request: PageRequest, group: str) -> HttpResponse:
    """One's own with the days behind it; for who plans, everybody's."""
    here = request.admission
    found = fair_shares(here.group, today_of(here.group))
    sees_all = bool(KEEPERS & here.roles)
    mine = here.member.pk
    return render(
        request,
        "web/shares.html",
        {
            "shares": found,
            "sees_all": sees_all,
            "homes": [h for h in found.homes if sees_all or h.digester.household_id == mine],
            "sources": [s for s in found.sources if sees_all or s.source.contact_id == mine],
            "own": [h for h in found.homes if h.digester.household_id == mine],
            "homes_evenness": round(100 * found.homes_index),
            "sources_evenness": round(100 * found.sources_index),
        },
    )
