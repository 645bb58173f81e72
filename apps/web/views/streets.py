"""The streets by which ways are measured: what is in use, what does not fit, a new extract."""

from __future__ import annotations

from datetime import UTC, datetime
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.places.core.streets.streets import SNAP_LIMIT
from apps.places.models import ExtractState, StreetExtract
from apps.places.operations.import_streets import import_streets
from apps.places.operations.remove_streets import remove_streets
from apps.places.queries.places_off_streets import places_off_streets
from apps.places.queries.street_maps import ATTRIBUTION, BLOBS, extracts
from apps.web.forms.refusals import put_refusal
from apps.web.forms.streets import StreetsForm
from apps.web.page import PageRequest, page

ADMIN = roles(Role.GROUP_ADMIN)


@page(GET=ADMIN, POST=ADMIN)
def streets(request: PageRequest, group: str) -> HttpResponse:
    """POST keeps a file; it is read by the next tick."""
    here = request.admission
    sent = request.method == "POST"
    form = StreetsForm(request.POST if sent else None, request.FILES if sent else None)
    if sent and form.is_valid():
        file = form.cleaned_data["file"]
        try:
            import_streets(
                here.group, file.read(), file_name=file.name, now=datetime.now(UTC), by=here.member
            )
        except Refused as error:
            put_refusal(form, error, under="file")
        else:
            messages.success(
                request, _("The file is here. It is read within a minute; load this page again.")
            )
            return redirect("streets", group=group)
    by_state = {row.state: row for row in reversed(extracts(here.group))}
    in_use, refused = by_state.get(ExtractState.IN_USE), by_state.get(ExtractState.REFUSED)
    context = {
        "form": form,
        "in_use": in_use,
        "walk_km": round(in_use.walk_m / 1000, 1) if in_use else None,
        "waiting": by_state.get(ExtractState.WAITING),
        "refused": refused,
        "refusal": _(refused.refusal) % refused.refusal_figures if refused else "",
        "off": places_off_streets(here.group),
        "limit_m": f"{SNAP_LIMIT.value:g}",
        "detour": here.group.detour_ppm / 1_000_000,
        "attribution": ATTRIBUTION,
    }
    return render(request, "web/streets.html", context, status=422 if form.errors else 200)


@page(POST=ADMIN)
def remove(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """Back to straight lines."""
    here = request.admission
    extract = get_object_or_404(StreetExtract.objects.of(here.group).defer(*BLOBS), uuid=uuid)
    remove_streets(extract, by=here.member, now=datetime.now(UTC))
    messages.success(request, _("Removed. The next plan goes by it."))
    return redirect("streets", group=group)
