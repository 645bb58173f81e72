"""Where the pails are, and what was noted of them; streams with foreign matter in them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from apps.kernel.errors import Refused
from apps.people.access import MEMBER, roles
from apps.people.models import Role
from apps.pickups.core.foreign import LOOK_BACK_DAYS, advise
from apps.pickups.models import ForeignMatter, Pail, StreamPause
from apps.pickups.operations.note_foreign_matter import pause_stream, record_trial
from apps.pickups.operations.note_pail import note_pail, save_pail
from apps.pickups.queries.pails import missing_pails
from apps.pickups.queries.pails import pails as pails_in_use
from apps.supply.models import Stream
from apps.web.forms.pails import PailForm, PailNoteForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest, page
from apps.web.today import today_of
from apps.web.views.record_form import RecordPage, record_page

COORDINATOR = roles(Role.COORDINATOR)


@page(GET=MEMBER)
def pails(request: PageRequest, group: str) -> HttpResponse:
    """Missing ones first."""
    here = request.admission
    missing = missing_pails(here.group, today_of(here.group))
    found = pails_in_use(here.group)
    gone = {each.pk for each in missing}
    context = {
        "missing": missing,
        "found": [each for each in found if each.pk not in gone],
        "may_change": Role.COORDINATOR in here.roles,
    }
    return render(request, "web/pails/pails.html", context)


@page(GET=COORDINATOR, POST=COORDINATOR)
def add_pail(request: PageRequest, group: str) -> HttpResponse:
    """A new number, its owner, tare and lid."""
    here = request.admission
    form = PailForm(request.POST if request.method == "POST" else None, group=here.group)
    words = RecordPage(
        title=_("A new pail"),
        button=_("Add the pail"),
        after=request.path.removesuffix("add/"),
        cautions=("lifting",),
    )
    return record_page(request, form, words, lambda: save_pail(here.group, **form.cleaned_data))


@page(GET=MEMBER, POST=MEMBER)
def pail(request: PageRequest, group: str, code: str) -> HttpResponse:
    """What was seen of one."""
    here = request.admission
    found = get_object_or_404(
        Pail.objects.of(here.group).select_related("owner", "at_source", "at_digester"), code=code
    )
    form = PailNoteForm(
        request.POST if request.method == "POST" else None, pail=found, group=here.group
    )
    if request.method == "POST" and form.is_valid():
        try:
            note_pail(found, now=datetime.now(UTC), noted_by=here.member, **form.note())
        except Refused as error:
            put_refusal(form, error)
        else:
            messages.success(request, _("Written down."))
            return redirect("pails", group=group)
    events = found.events.select_related("noted_by", "exchanged_for").order_by("-id")[:10]
    context = {"pail": found, "form": form, "events": events}
    status = 422 if form.errors else 200
    return render(request, "web/pails/pail.html", context, status=status)


@page(GET=COORDINATOR)
def sorting(request: PageRequest, group: str) -> HttpResponse:
    """Streams in which something was found lately, or that are paused."""
    here = request.admission
    today = today_of(here.group)
    since = today - timedelta(days=LOOK_BACK_DAYS)
    rows: dict[int, dict[str, Any]] = {}
    paused = (
        StreamPause.objects.of(here.group)
        .filter(ended_at=None)
        .select_related("stream__source", "stream__material")
    )
    for pause in paused:
        rows[pause.stream_id] = {"stream": pause.stream, "pause": pause, "finds": []}
    finds = (
        ForeignMatter.objects.of(here.group)
        .filter(on__gt=since)
        .select_related("stream__source", "stream__material")
    )
    for find in finds:
        row = rows.setdefault(find.stream_id, {"stream": find.stream, "pause": None, "finds": []})
        row["finds"].append(find)
    for row in rows.values():
        row["advice"] = advise([find.on for find in row["finds"]], today).value
    return render(request, "web/pails/sorting.html", {"rows": list(rows.values())})


@page(POST=COORDINATOR)
def sort_stream(request: PageRequest, group: str, code: str) -> HttpResponse:
    """Pause a stream, or say how its trial went."""
    here = request.admission
    stream = get_object_or_404(
        Stream.objects.of(here.group).select_related("source", "group"), code=code
    )
    now, what = datetime.now(UTC), request.POST.get("do", "")
    if what == "pause":
        pause_stream(stream, reason=_("foreign matter"), now=now, paused_by=here.member)
        messages.success(request, _("Paused. Nothing of it is planned until a clean trial."))
    elif what in ("clean", "dirty"):
        record_trial(stream, is_clean=what == "clean", now=now, tried_by=here.member)
        told = (
            _("Planned again from the next plan on.") if what == "clean" else _("It stays paused.")
        )
        messages.success(request, told)
    else:
        raise Http404
    return redirect("sorting", group=group)
