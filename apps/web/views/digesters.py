"""Every digester on one page, each digester's own page, and the form that keeps one."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from apps.digesters.core.facts import QUANTITIES
from apps.digesters.models import Digester, Reading
from apps.digesters.operations.add_digester import add_digester as save_new_digester
from apps.digesters.operations.change_digester import change_digester as save_changes
from apps.people.access import roles
from apps.people.models import Role
from apps.planning.queries.digester_board import BoardRow, digester_board
from apps.web.board_pictures import draw_row_bar, draw_row_strip
from apps.web.forms.places import DigesterForm
from apps.web.page import PageRequest, page
from apps.web.today import today_of
from apps.web.views.record_form import RecordPage, record_page

LOOKERS = roles(Role.COORDINATOR, Role.ASSIGNER, Role.GROUP_ADMIN)
ADMIN = roles(Role.GROUP_ADMIN)
ROWS_A_PAGE = 24
READINGS_SHOWN = 12


@page(GET=LOOKERS)
def digesters(request: PageRequest, group: str) -> HttpResponse:
    """Warnings first; then every digester with its range, loading, headroom and rule."""
    here = request.admission
    on = today_of(here.group)
    board = digester_board(here.group, on)
    shown = Paginator(board, ROWS_A_PAGE).get_page(request.GET.get("page"))
    return render(
        request,
        "web/digesters.html",
        {
            "page": shown,
            "cards": [_card(row) for row in shown],
            "warned": sum(bool(row.warnings) for row in board),
            "on": on,
            "may_add": Role.GROUP_ADMIN in here.roles,
        },
    )


@page(GET=LOOKERS)
def digester(request: PageRequest, group: str, code: str) -> HttpResponse:
    """One digester: every limit of today with rule and source, loading day by day, readings."""
    here = request.admission
    rows = digester_board(here.group, today_of(here.group), codes=[code])
    if not rows:
        raise Http404
    row = rows[0]
    readings = (
        Reading.objects.of(here.group)
        .filter(digester=row.digester, withdrawn_at=None)
        .order_by("-taken_at", "-id")[:READINGS_SHOWN]
    )
    limits = [{"quantity": quantity, "limits": _by_size(row, quantity)} for quantity in QUANTITIES]
    return render(
        request,
        "web/digester.html",
        {
            "card": _card(row),
            "row": row,
            "limits": limits,
            "readings": readings,
            "may_change": Role.GROUP_ADMIN in here.roles,
            "may_open": Role.COORDINATOR in here.roles,
        },
    )


@page(GET=ADMIN, POST=ADMIN)
def add_digester(request: PageRequest, group: str) -> HttpResponse:
    """A new one; it gets no waste until its plate is stated."""
    here = request.admission
    form = DigesterForm(
        request.POST if request.method == "POST" else None,
        group=here.group,
        initial={"stage_since_on": today_of(here.group), "bin_g": 20_000, "min_pickup_g": 500},
    )
    words = RecordPage(
        _("Add a digester"),
        _("Save the digester"),
        reverse("digesters", args=[group]),
        cautions=("first_gas", "pit_entry"),
    )
    return record_page(
        request,
        form,
        words,
        lambda: save_new_digester(
            here.group,
            Digester(group=here.group, **form.arguments()),
            now=datetime.now(UTC),
            recorded_by=here.member,
        ),
    )


@page(GET=ADMIN, POST=ADMIN)
def change_digester(request: PageRequest, group: str, code: str) -> HttpResponse:
    """One that is there."""
    here = request.admission
    found = get_object_or_404(
        Digester.objects.of(here.group).select_related("place", "household"), code=code
    )
    start: dict[str, Any] = {name: getattr(found, name) for name in DigesterForm.base_fields}
    start |= {
        "place": found.place.code,
        "household": found.household.code if found.household else "",
    }
    form = DigesterForm(
        request.POST if request.method == "POST" else None, group=here.group, initial=start
    )
    for name in ("code", "stage", "stage_since_on"):
        del form.fields[name]
    words = RecordPage(
        found.name,
        _("Save the digester"),
        reverse("digester", args=[group, code]),
        cautions=("gas_fire",),
    )
    return record_page(
        request,
        form,
        words,
        lambda: save_changes(
            found, form.arguments(), now=datetime.now(UTC), recorded_by=here.member
        ),
    )


def _card(row: BoardRow) -> dict[str, Any]:
    return {"row": row, "strip": draw_row_strip(row), "bar": draw_row_bar(row)}


def _by_size(row: BoardRow, quantity: str) -> list[Any]:
    """A quantity's limits of today, the binding one first."""
    return sorted(
        (limit for limit in row.today.limits if limit.quantity == quantity),
        key=lambda limit: limit.value,
    )
