"""Readings by a few taps, entered indoors."""

from __future__ import annotations

from datetime import timedelta

from django.db import transaction
from django.http import HttpResponse
from django.utils.translation import gettext as _

from apps.digesters.models import ReadingKind
from apps.digesters.operations.record_reading import DrumAboveStop, Recorded, record_reading
from apps.kernel.errors import Refused
from apps.web.forms.day_readings import ReadingsForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest
from apps.web.templatetags.shown import reading_value, say
from apps.web.views.day.answer import back, show
from apps.web.views.day.visit import Visit, client_key

EARLIER = ("air_low",)
"""Written down a minute before its fellow, so that they stay two readings."""


def readings(request: PageRequest, visit: Visit) -> HttpResponse:
    """All of a form or nothing; empty ones are left out."""
    digester = visit.digester
    assert digester is not None
    form = ReadingsForm(
        request.POST if request.method == "POST" else None, digester=digester, on=visit.today
    )
    ask = ""
    if request.method == "POST" and form.is_valid():
        try:
            done = _record(request, visit, form)
        except DrumAboveStop as error:
            ask = say(error)
        except Refused as error:
            put_refusal(form, error, under=form.at_work or None)
        else:
            return back(request, visit, _told(done))
    status = 422 if form.errors else 409 if ask else 200
    return show(request, visit, "readings", {"form": form, "ask": ask}, status)


@transaction.atomic
def _record(request: PageRequest, visit: Visit, form: ReadingsForm) -> list[Recorded]:
    """One reading a field, under keys made from the form's."""
    assert visit.digester is not None
    key, done = client_key(request), []
    for name, kind, value in form.values():
        form.at_work = name
        done.append(
            record_reading(
                visit.digester,
                kind=kind,
                value=value,
                taken_at=visit.instant_on(form.cleaned_data["on"])
                - timedelta(minutes=name in EARLIER),
                now=visit.now,
                client_key=f"{key}-{name if name in EARLIER else kind}",
                recorded_by=visit.doer,
                is_confirmed="is_confirmed" in request.POST,
            )
        )
    return done


def _told(done: list[Recorded]) -> str:
    parts = [
        f"{ReadingKind(each.reading.kind).label.split(':')[0]} {reading_value(each.reading)}"
        for each in done
    ]
    told = _("Written down: %(readings)s.") % {"readings": ", ".join(parts)}
    if any(each.stops_feeding for each in done):
        told += " " + _("Feed nothing today. Take a second strip tomorrow.")
    return told
