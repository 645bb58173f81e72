"""A rehearsed year: start one, see how far it is, compare, take the figures along."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.rehearsal.models import Rehearsal
from apps.rehearsal.operations.start_rehearsal import start_rehearsal
from apps.rehearsal.queries.rehearsal_changes import tried_change
from apps.web.forms.refusals import put_refusal
from apps.web.forms.rehearsals import RehearsalForm
from apps.web.page import PageRequest, page
from apps.web.rehearsal_pictures import compared_rows, gain_picture, says_gain, weeks_picture
from apps.web.today import today_of

REHEARSERS = roles(Role.COORDINATOR, Role.ASSIGNER, Role.GROUP_ADMIN)
MOST_SHOWN = 30


@page(GET=REHEARSERS, POST=REHEARSERS)
def rehearsals(request: PageRequest, group: str) -> HttpResponse:
    """All of them, newest first, and the form to start another."""
    here = request.admission
    form = RehearsalForm(request.POST if request.method == "POST" else None, group=here.group)
    if request.method == "POST" and form.is_valid():
        try:
            started = start_rehearsal(
                here.group,
                name=form.cleaned_data["name"],
                days=form.cleaned_data["days"],
                first_on=today_of(here.group),
                change=tried_change(here.group, **form.change()),
                asked_by=here.member,
                now=datetime.now(UTC),
            )
        except Refused as error:
            put_refusal(form, error)
        else:
            return redirect("rehearsal", group=group, uuid=started.uuid)
    rows = Rehearsal.objects.of(here.group).prefetch_related("stretches").defer("start")
    context = {"form": form, "rows": [_progress(row) for row in rows[:MOST_SHOWN]]}
    return render(request, "web/rehearsals.html", context, status=422 if form.errors else 200)


@page(GET=REHEARSERS)
def rehearsal(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """How far it is; once done, what the service gains."""
    row = _found(request, uuid)
    context = {**_progress(row)}
    if row.figures:
        context |= {
            "says": says_gain(row.figures),
            "gain": gain_picture(row.figures),
            "weeks": weeks_picture(row.figures),
            "compared": compared_rows(row.figures),
        }
    return render(request, "web/rehearsal.html", context)


@page(GET=REHEARSERS)
def rehearsal_file(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """The figures and the weeks as CSV."""
    row = _found(request, uuid)
    if not row.figures:
        raise Http404
    out = io.StringIO()
    writer = csv.writer(out)
    names = list(row.figures["policies"])
    writer.writerow(["figure", *names, "bound"])
    for figure in row.figures["policies"][names[0]]:
        writer.writerow(
            [
                figure,
                *(row.figures["policies"][name][figure] for name in names),
                row.figures["bound"].get(figure, ""),
            ]
        )
    for number, weeks in enumerate(zip(*row.figures["weeks"].values(), strict=True), start=1):
        for figure in ("inside", "placed_g"):
            writer.writerow([f"week_{number}_{figure}", *(week[figure] for week in weeks), ""])
    answer = HttpResponse(out.getvalue(), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="rehearsal.csv"'
    return answer


def _found(request: PageRequest, uuid: UUID) -> Rehearsal:
    rows = Rehearsal.objects.of(request.admission.group).prefetch_related("stretches")
    found: Rehearsal = get_object_or_404(rows.defer("start"), uuid=uuid)
    return found


def _progress(row: Rehearsal) -> dict[str, object]:
    stretches = [each.until_day for each in row.stretches.all()]
    lived = min(stretches, default=0)
    total = max(1, row.days * len(stretches))
    return {
        "rehearsal": row,
        "lived": lived,
        "percent": 100 if row.figures else min(99, sum(stretches) * 100 // total),
    }
