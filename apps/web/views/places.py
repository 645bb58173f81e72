"""Places: where they are and when they are open. Only the group administrator keeps them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import formats
from django.utils.translation import gettext as _

from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.places.core.distance import Point
from apps.places.core.found_spot import FoundSpot
from apps.places.core.location_code import code_of_point
from apps.places.models import Place
from apps.places.operations.save_place import save_place
from apps.places.queries.find_spots import find_spots
from apps.places.queries.street_maps import ATTRIBUTION, street_map
from apps.web.charts.pin_map import draw_pin_map
from apps.web.forms.place import PinnedPlaceForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest, page

ADMIN = roles(Role.GROUP_ADMIN)
ROWS_A_PAGE = 50


@page(GET=ADMIN)
def places(request: PageRequest, group: str) -> HttpResponse:
    """All of them."""
    found = Place.objects.of(request.admission.group).order_by("name", "code")
    shown = Paginator(found, ROWS_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "web/places.html", {"page": shown})


@page(GET=ADMIN, POST=ADMIN)
def add_place(request: PageRequest, group: str) -> HttpResponse:
    """A new one."""
    return _place_page(request, None)


@page(GET=ADMIN, POST=ADMIN)
def change_place(request: PageRequest, group: str, code: str) -> HttpResponse:
    """One that is there."""
    rows = Place.objects.of(request.admission.group).prefetch_related("opening_hours")
    return _place_page(request, get_object_or_404(rows, code=code))


def _place_page(request: PageRequest, place: Place | None) -> HttpResponse:
    """POST looks an address up, takes one of what was found, or saves."""
    initial = PinnedPlaceForm.start(place) if place else {}
    found: Sequence[FoundSpot] = ()
    if request.method != "POST":
        form = _form(place, initial=initial)
    elif "find" in request.POST or "take" in request.POST:
        form, found = _look_up(request, place)
    else:
        form = _form(place, data=request.POST, initial=initial)
        if form.is_valid():
            try:
                save_place(request.admission.group, **form.arguments())
            except Refused as error:
                put_refusal(form, error, under="where")
            else:
                messages.success(request, _("Saved."))
                return redirect("places", group=request.admission.group.code)
    context = {
        "form": form,
        "hours": form.hours(),
        "title": place.name if place else _("Add a place"),
        "found": found,
        "mark": formats.get_format("DECIMAL_SEPARATOR"),
        **_map(request, form, place),
    }
    return render(request, "web/place.html", context, status=422 if form.errors else 200)


def _form(place: Place | None, **arguments: Any) -> PinnedPlaceForm:
    form = PinnedPlaceForm(arguments.get("data"), initial=arguments["initial"])
    form.fields["code"].disabled = place is not None
    return form


def _look_up(
    request: PageRequest, place: Place | None
) -> tuple[PinnedPlaceForm, Sequence[FoundSpot]]:
    """The form as it was typed, with the position of what was found."""
    typed = PinnedPlaceForm.typed(request.POST.dict())
    if place:
        typed["code"] = place.code
    taken = _taken(typed.pop("take", ""))
    found: list[FoundSpot] = []
    refused: Refused | None = None
    if taken:
        typed["latitude"], typed["longitude"] = taken
    else:
        try:
            found = find_spots(request.admission.group, typed["where"] or typed["street"])
            typed["latitude"], typed["longitude"] = found[0].latitude, found[0].longitude
        except Refused as error:
            refused = error
    if refused is None:
        return _form(place, initial=typed), found
    form = _form(place, data=request.POST, initial=typed)
    form.is_valid()
    form.errors.clear()
    put_refusal(form, refused, under="where")
    return form, found


def _taken(text: str) -> tuple[Decimal, Decimal] | None:
    latitude, _semicolon, longitude = text.partition(";")
    try:
        return Decimal(latitude), Decimal(longitude)
    except InvalidOperation:
        return None


def _map(request: PageRequest, form: PinnedPlaceForm, place: Place | None) -> dict[str, Any]:
    here = request.admission.group
    streets = street_map(here)
    pin = form.point()
    others = [
        Point(float(latitude), float(longitude))
        for pk, latitude, longitude in Place.objects.of(here).values_list(
            "pk", "latitude", "longitude"
        )
        if place is None or pk != place.pk
    ]
    credit = ATTRIBUTION if streets else ""
    return {
        "map": draw_pin_map(
            pin,
            others,
            streets.network() if streets else None,
            says=_("Map of the place and the streets around it."),
            credit=credit,
        ),
        "credit": credit,
        "code": code_of_point(pin) if pin else "",
    }
