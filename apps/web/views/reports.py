"""Anybody reports a smell of gas, a bad smell, flies or a leak; no account, no name."""

from __future__ import annotations

from datetime import UTC, datetime
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from apps.digesters.core.concerns import say_gas_smell
from apps.digesters.models import Concern, ConcernKind
from apps.kernel.errors import Refused
from apps.people.access import PUBLIC, roles
from apps.people.models import Role
from apps.pickups.operations.report_concern import report_concern
from apps.places.models import Place
from apps.web.forms.refusals import put_refusal
from apps.web.forms.reports import NoteForm, PlaceForm
from apps.web.page import PageRequest, page
from apps.web.reports_rate import check_reports
from apps.web.views.day.visit import client_key

KEEPERS = roles(Role.COORDINATOR, Role.GROUP_ADMIN)
EMERGENCY_NUMBER = "112"
"""Shown while the place, and with it the local number, is not known. Works in the European Union
and on mobile phones of the GSM standard (3GPP TS 22.101, from memory)."""


@page(GET=PUBLIC, POST=PUBLIC)
def report(request: PageRequest) -> HttpResponse:
    """What to do about gas, first; then the place, by the code on its label or from the list of
    public ones. A private place shows neither its name nor its street."""
    form = PlaceForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        place = form.place()
        return redirect("report-place", group=place.group.code, place=place.code)
    return render(
        request,
        "web/report/start.html",
        {"form": form, "steps": say_gas_smell(EMERGENCY_NUMBER)[:-1]},
        status=422 if form.errors else 200,
    )


@page(GET=PUBLIC)
def report_place(request: PageRequest, group: str, place: str) -> HttpResponse:
    """The address on a place's label: what is it?"""
    kinds = [ConcernKind.GAS_SMELL, *(k for k in ConcernKind if k != ConcernKind.GAS_SMELL)]
    found = _place(group, place)
    return render(request, "web/report/place.html", {"place": found, "kinds": kinds})


@page(GET=PUBLIC, POST=PUBLIC)
def report_kind(request: PageRequest, group: str, place: str, kind: str) -> HttpResponse:
    """GET says what to do now; POST tells the coordinator, once for each rendered form."""
    if kind not in ConcernKind.values:
        raise Http404
    found, what = _place(group, place), ConcernKind(kind)
    form = NoteForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            if request.admission.user is None and what != ConcernKind.GAS_SMELL:
                check_reports(request.META.get("REMOTE_ADDR", ""))
            raised = report_concern(
                found,
                what,
                now=datetime.now(UTC),
                client_key=client_key(request),
                note=form.cleaned_data["note"],
                raised_by=_member(request, found),
            )
        except Refused as error:
            put_refusal(form, error)
        else:
            return redirect("concern", uuid=raised.concern.uuid)
    is_gas = what == ConcernKind.GAS_SMELL
    context = {
        "place": found,
        "kind": what,
        "is_gas": is_gas,
        "form": form,
        "steps": say_gas_smell(found.group.emergency_number)[:-1] if is_gas else (),
    }
    status = 422 if form.errors else 200
    return render(request, "web/report/kind.html", context, status=status)


@page(GET=PUBLIC)
def concern(request: PageRequest, uuid: UUID) -> HttpResponse:
    """For whoever reported: by when somebody answers, and then the answer."""
    found: Concern = get_object_or_404(Concern.unscoped.select_related("group", "place"), uuid=uuid)
    is_gas = found.kind == ConcernKind.GAS_SMELL
    steps = say_gas_smell(found.group.emergency_number)[:-1]
    context = {
        "concern": found,
        "place": found.place,
        "zone": found.group.time_zone,
        "is_gas": is_gas,
        "steps": steps if is_gas and found.closed_at is None else (),
    }
    return render(request, "web/report/concern.html", context)


@page(GET=KEEPERS)
def labels(request: PageRequest, group: str) -> HttpResponse:
    """A label for each place, to be printed and put up where people pass."""
    places = Place.objects.of(request.admission.group).order_by("code")
    site = request.build_absolute_uri("/")[:-1]
    return render(request, "web/report/labels.html", {"places": places, "site": site})


def _place(group: str, place: str) -> Place:
    found: Place = get_object_or_404(
        Place.unscoped.select_related("group"), group__code=group, code=place
    )
    return found


def _member(request: PageRequest, place: Place):  # type: ignore[no-untyped-def]
    """Whoever is signed in and of this group; others stay unknown."""
    user = request.admission.user
    if user is None:
        return None
    return user.members.filter(group=place.group_id, left_at=None).first()
