"""Places: where they are and when they are open. Only the group administrator keeps them."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from apps.people.access import roles
from apps.people.models import Role
from apps.places.models import Place
from apps.places.operations.save_place import save_place
from apps.web.forms.places import PlaceForm
from apps.web.page import PageRequest, page
from apps.web.views.record_form import RecordPage, record_page

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
    form = PlaceForm(request.POST if request.method == "POST" else None)
    words = RecordPage(_("Add a place"), _("Save the place"), reverse("places", args=[group]))
    return record_page(
        request, form, words, lambda: save_place(request.admission.group, **form.arguments())
    )


@page(GET=ADMIN, POST=ADMIN)
def change_place(request: PageRequest, group: str, code: str) -> HttpResponse:
    """One that is there."""
    place = get_object_or_404(
        Place.objects.of(request.admission.group).prefetch_related("opening_hours"), code=code
    )
    form = PlaceForm(
        request.POST if request.method == "POST" else None, initial=PlaceForm.start(place)
    )
    form.fields["code"].disabled = True
    words = RecordPage(place.name, _("Save the place"), reverse("places", args=[group]))
    return record_page(
        request, form, words, lambda: save_place(request.admission.group, **form.arguments())
    )
