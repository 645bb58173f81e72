"""The plain map, and opening one exact address in an emergency."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _

from apps.digesters.models import Digester, StageName
from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.places.models import Place
from apps.places.operations.open_address import open_address
from apps.places.queries.street_maps import ATTRIBUTION, street_map
from apps.places.queries.visible_address import visible_address
from apps.planning.models import Assignment, PlanStatus
from apps.planning.queries.address_viewer import address_viewer
from apps.supply.models import Destination, Source
from apps.web.charts.plain_map import Link, Spot, draw_map
from apps.web.forms.addresses import OpenAddressForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest, page

COORDINATOR = roles(Role.COORDINATOR)
MOST_SPOTS = 400
"""More shapes than this cannot be told apart on one picture; the list goes on."""


@page(GET=roles(Role.COORDINATOR, Role.ASSIGNER, Role.GROUP_ADMIN))
def neighbourhood(request: PageRequest, group: str) -> HttpResponse:
    """Sources, homes and destinations as shapes; private ones stand in the middle of their area
    for whoever may not see the address."""
    here = request.admission
    now = datetime.now(UTC)
    viewer = address_viewer(here.group, here.member, here.roles, now=now)
    kinds: list[tuple[str, Any]] = [
        ("source", Source.objects.of(here.group).filter(is_active=True)),
        ("home", Digester.objects.of(here.group).exclude(stage=StageName.CLOSED)),
        ("destination", Destination.objects.of(here.group).filter(is_active=True)),
    ]
    spots, listed, index = [], [], {}
    for shape, rows in kinds:
        for row in rows.select_related("place").order_by("name", "code"):
            address = visible_address(row.place, viewer)
            number = len(spots) + 1
            index[shape, row.pk] = len(spots)
            spots.append(Spot(float(address.latitude), float(address.longitude), shape, number))
            listed.append({"number": number, "shape": shape, "row": row, "address": address})
    links = [
        Link(index["source", source], index["home", home])
        for source, home in Assignment.objects.of(here.group)
        .filter(plan__status=PlanStatus.ANNOUNCED)
        .order_by("source_id", "digester_id")
        .values_list("source_id", "digester_id")
        .distinct()
        if ("source", source) in index and ("home", home) in index
    ]
    says = _("Map of %(sources)s sources, %(homes)s homes and %(places)s destinations.") % {
        "sources": sum(each["shape"] == "source" for each in listed),
        "homes": sum(each["shape"] == "home" for each in listed),
        "places": sum(each["shape"] == "destination" for each in listed),
    }
    found = street_map(here.group)
    streets, credit = (found.network(), ATTRIBUTION) if found else (None, "")
    picture = None
    if len(spots) <= MOST_SPOTS:
        picture = draw_map(spots, links, says=says, streets=streets, credit=credit)
    return render(
        request,
        "web/map.html",
        {
            "picture": picture,
            "listed": listed,
            "credit": credit,
            "detour": here.group.detour_ppm / 1_000_000,
            "keeps_streets": Role.GROUP_ADMIN in here.roles,
            "hidden": sum(not each["address"].is_exact for each in listed),
        },
    )


@page(GET=COORDINATOR, POST=COORDINATOR)
def open_one(request: PageRequest, group: str, code: str) -> HttpResponse:
    """GET asks for the reason; POST writes it down and shows the address once."""
    here = request.admission
    place = get_object_or_404(Place.objects.of(here.group).select_related("group"), code=code)
    form = OpenAddressForm(request.POST if request.method == "POST" else None)
    address = None
    if request.method == "POST" and form.is_valid():
        try:
            address = open_address(
                place, by=here.member, reason=form.cleaned_data["reason"], now=datetime.now(UTC)
            )
        except Refused as error:
            put_refusal(form, error)
    status = 422 if form.errors else 200
    return render(
        request,
        "web/open_address.html",
        {"place": place, "form": form, "address": address},
        status=status,
    )
