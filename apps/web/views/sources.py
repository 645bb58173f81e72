"""Sources with their streams, and destinations of what is left over."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from apps.people.access import roles
from apps.people.models import Role
from apps.supply.models import Destination, Source, Stream
from apps.supply.operations.save_destination import save_destination
from apps.supply.operations.save_source import save_source
from apps.supply.operations.save_stream import save_stream
from apps.web.forms.places import DestinationForm, SourceForm, StreamForm
from apps.web.page import PageRequest, page
from apps.web.views.record_form import RecordPage, record_page

ADMIN = roles(Role.GROUP_ADMIN)
ROWS_A_PAGE = 50


@page(GET=roles(Role.GROUP_ADMIN, Role.COORDINATOR, Role.ASSIGNER))
def sources(request: PageRequest, group: str) -> HttpResponse:
    """Who gives what, how much a week; and where left-overs go."""
    here = request.admission
    streams = Stream.unscoped.filter(is_active=True).select_related("material").order_by("code")
    found = (
        Source.objects.of(here.group)
        .select_related("place", "contact")
        .prefetch_related(Prefetch("streams", streams))
        .order_by("name", "code")
    )
    shown = Paginator(found, ROWS_A_PAGE).get_page(request.GET.get("page"))
    rows = [
        {
            "source": source,
            "streams": [
                {"stream": stream, "week_g": sum(stream.weekday_g)}
                for stream in source.streams.all()
            ],
        }
        for source in shown
    ]
    return render(
        request,
        "web/sources.html",
        {
            "page": shown,
            "rows": rows,
            "destinations": Destination.objects.of(here.group).select_related("place"),
            "may_change": Role.GROUP_ADMIN in here.roles,
        },
    )


@page(GET=ADMIN, POST=ADMIN)
def add_source(request: PageRequest, group: str) -> HttpResponse:
    """A new source."""
    here = request.admission.group
    form = SourceForm(request.POST if request.method == "POST" else None, group=here)
    words = RecordPage(_("Add a source"), _("Save the source"), reverse("sources", args=[group]))
    return record_page(request, form, words, lambda: save_source(here, **form.arguments()))


@page(GET=ADMIN, POST=ADMIN)
def change_source(request: PageRequest, group: str, code: str) -> HttpResponse:
    """One that is there, with links to its streams."""
    here = request.admission.group
    source = get_object_or_404(
        Source.objects.of(here).select_related("place", "contact"), code=code
    )
    start = {name: getattr(source, name) for name in SourceForm.base_fields}
    start |= {
        "place": source.place.code,
        "contact": source.contact.code if source.contact else "",
    }
    form = SourceForm(request.POST if request.method == "POST" else None, group=here, initial=start)
    form.fields["code"].disabled = True
    words = RecordPage(
        source.name,
        _("Save the source"),
        reverse("sources", args=[group]),
        more={
            "source": source,
            "streams": Stream.objects.of(here).filter(source=source).select_related("material"),
        },
    )
    return record_page(request, form, words, lambda: save_source(here, **form.arguments()))


@page(GET=ADMIN, POST=ADMIN)
def add_stream(request: PageRequest, group: str, code: str) -> HttpResponse:
    """Another material that a source regularly has."""
    here = request.admission.group
    source = get_object_or_404(Source.objects.of(here), code=code)
    form = StreamForm(request.POST if request.method == "POST" else None, group=here)
    words = RecordPage(
        _("What %(source)s has") % {"source": source.name},
        _("Save the stream"),
        reverse("change-source", args=[group, code]),
        cautions=("holding",),
    )
    return record_page(
        request, form, words, lambda: save_stream(here, source=source, **form.arguments())
    )


@page(GET=ADMIN, POST=ADMIN)
def change_stream(request: PageRequest, group: str, code: str, stream: str) -> HttpResponse:
    """One that is there."""
    here = request.admission.group
    found = get_object_or_404(
        Stream.objects.of(here).select_related("source", "material"), code=stream, source__code=code
    )
    form = StreamForm(
        request.POST if request.method == "POST" else None,
        group=here,
        initial=StreamForm.start(found),
    )
    form.fields["code"].disabled = True
    words = RecordPage(
        _("What %(source)s has") % {"source": found.source.name},
        _("Save the stream"),
        reverse("change-source", args=[group, code]),
        cautions=("holding",),
    )
    return record_page(
        request, form, words, lambda: save_stream(here, source=found.source, **form.arguments())
    )


@page(GET=ADMIN, POST=ADMIN)
def add_destination(request: PageRequest, group: str) -> HttpResponse:
    """A place that takes left-overs."""
    here = request.admission.group
    form = DestinationForm(request.POST if request.method == "POST" else None, group=here)
    words = RecordPage(
        _("Add a destination"), _("Save the destination"), reverse("sources", args=[group])
    )
    return record_page(request, form, words, lambda: save_destination(here, **form.arguments()))


@page(GET=ADMIN, POST=ADMIN)
def change_destination(request: PageRequest, group: str, code: str) -> HttpResponse:
    """One that is there."""
    here = request.admission.group
    found = get_object_or_404(Destination.objects.of(here).select_related("place"), code=code)
    start = {name: getattr(found, name) for name in DestinationForm.base_fields}
    form = DestinationForm(
        request.POST if request.method == "POST" else None,
        group=here,
        initial={**start, "place": found.place.code},
    )
    form.fields["code"].disabled = True
    words = RecordPage(found.name, _("Save the destination"), reverse("sources", args=[group]))
    return record_page(request, form, words, lambda: save_destination(here, **form.arguments()))
