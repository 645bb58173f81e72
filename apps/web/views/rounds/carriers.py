"""Who carries: a list, and how one of them does it."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from apps.people.access import roles
from apps.people.models import Member, Role
from apps.rounds.models import Carrier
from apps.rounds.operations.save_carrier import save_carrier
from apps.web.forms.rounds import CarrierForm
from apps.web.page import PageRequest, page
from apps.web.views.record_form import RecordPage, record_page

ASSIGNERS = roles(Role.ASSIGNER, Role.COORDINATOR, Role.GROUP_ADMIN)


@page(GET=ASSIGNERS)
def carriers(request: PageRequest, group: str) -> HttpResponse:
    """Members with the role, with or without their hours and cart."""
    here = request.admission
    members = (
        Member.objects.of(here.group)
        .filter(member_roles__role=Role.CARRIER, left_at=None)
        .select_related("carrier__start", "carrier__end")
        .order_by("name", "code")
    )
    return render(request, "web/rounds/carriers.html", {"members": members})


@page(GET=ASSIGNERS, POST=ASSIGNERS)
def carrier(request: PageRequest, group: str, code: str) -> HttpResponse:
    """Type how somebody carries."""
    here = request.admission
    member = get_object_or_404(
        Member.objects.of(here.group)
        .filter(member_roles__role=Role.CARRIER, left_at=None)
        .select_related("group"),
        code=code,
    )
    found = (
        Carrier.objects.of(here.group).select_related("start", "end").filter(member=member).first()
    )
    start = CarrierForm.start_of(found) if found else {"from_min": "08:00", "till_min": "13:00"}
    sent = request.POST if request.method == "POST" else None
    form = CarrierForm(sent, group=here.group, initial=start)
    words = RecordPage(
        title=_("How %(name)s carries") % {"name": member.name},
        button=_("Save"),
        after=reverse("carriers", kwargs={"group": group}),
        cautions=("lifting",),
    )
    return record_page(
        request, form, words, lambda: save_carrier(here.group, member, **form.arguments())
    )
