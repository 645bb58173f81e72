"""The group's calendar: holidays, market closing days and festivals, entered once."""

from __future__ import annotations

from datetime import UTC, datetime

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from apps.people.access import roles
from apps.people.models import Role
from apps.supply.models import CalendarDay
from apps.supply.operations.save_calendar_day import remove_calendar_day, save_calendar_day
from apps.web.forms.calendar_days import CalendarDayForm
from apps.web.page import PageRequest, page
from apps.web.views.record_form import RecordPage, record_page

KEEPERS = roles(Role.GROUP_ADMIN, Role.COORDINATOR)
READERS = roles(Role.GROUP_ADMIN, Role.COORDINATOR, Role.ASSIGNER)


@page(GET=READERS)
def calendar_days(request: PageRequest, group: str) -> HttpResponse:
    """Every entry by day."""
    here = request.admission
    rows = CalendarDay.objects.of(here.group).order_by("first_on", "code")
    return render(
        request,
        "web/calendar_days.html",
        {"rows": rows, "may_change": bool(KEEPERS & here.roles)},
    )


@page(GET=KEEPERS, POST=KEEPERS)
def add_calendar_day(request: PageRequest, group: str) -> HttpResponse:
    """A new entry."""
    return _form(request, _("Add days to the calendar"), {}, fixed=False)


@page(GET=KEEPERS, POST=KEEPERS)
def change_calendar_day(request: PageRequest, group: str, code: str) -> HttpResponse:
    """One that is there."""
    row = get_object_or_404(CalendarDay.objects.of(request.admission.group), code=code)
    start = {name: getattr(row, name) for name in CalendarDayForm.base_fields}
    return _form(request, row.name, start, fixed=True)


@page(POST=KEEPERS)
def drop_calendar_day(request: PageRequest, group: str, code: str) -> HttpResponse:
    """Its days are like others again."""
    here = request.admission
    row = get_object_or_404(CalendarDay.objects.of(here.group).select_related("group"), code=code)
    remove_calendar_day(row, now=datetime.now(UTC), actor_uuid=here.member.uuid)
    messages.success(request, _("Taken out of the calendar. Its days are like others again."))
    return redirect("calendar-days", group=group)


def _form(
    request: PageRequest, title: str, start: dict[str, object], *, fixed: bool
) -> HttpResponse:
    here = request.admission
    form = CalendarDayForm(request.POST if request.method == "POST" else None, initial=start)
    form.fields["code"].disabled = fixed
    words = RecordPage(
        title,
        _("Save the days"),
        reverse("calendar-days", args=[here.group.code]),
    )
    return record_page(
        request,
        form,
        words,
        lambda: save_calendar_day(
            here.group,
            **form.cleaned_data,
            now=datetime.now(UTC),
            actor_uuid=here.member.uuid,
        ),
    )
