"""A round on paper: the sheet with short codes, and the page to type them in."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils import translation
from django.utils.translation import gettext as _

from apps.kernel.errors import Refused
from apps.places.queries.visible_address import Viewer
from apps.rounds.core.sheet_lines import read_sheet
from apps.rounds.operations.note_sheet import note_sheet
from apps.rounds.queries.show_round import show_round
from apps.web.page import PageRequest
from apps.web.templatetags.shown import say
from apps.web.views.day.visit import client_key
from apps.web.views.rounds.pictures import round_map
from apps.web.views.rounds.walk import Walk, order_anew


def sheet(request: PageRequest, walk: Walk) -> HttpResponse:
    """To be printed: short codes and room to write; no exact address of a private place."""
    shown = show_round(walk.round, Viewer())
    return render(
        request,
        "web/rounds/sheet.html",
        {"visit": walk, "shown": shown, "map": round_map(shown)},
    )


def typed(request: PageRequest, walk: Walk) -> HttpResponse:
    """What was written on the sheet, typed in."""
    problem, status, lines = "", 200, request.POST.get("lines", "")
    if request.method == "POST":
        try:
            known = set(walk.round.stops.values_list("short_code", flat=True))
            count = note_sheet(
                walk.group,
                walk.round.uuid,
                read_sheet(lines, known),
                walk.act(request.POST, client_key(request)),
            )
        except Refused as error:
            problem, status = say(error), error.status
        else:
            order_anew(walk)
            messages.success(request, _("Written down: %(count)s stops.") % {"count": count})
            return HttpResponseRedirect(walk.address)
    context = {
        "visit": walk,
        "layout": "web/day/link_base.html" if walk.is_link else "web/base.html",
        "shown": show_round(walk.round, Viewer()),
        "problem": problem,
        "keeps_key": bool(problem),
        "lines": lines,
        "languages": settings.LANGUAGES,
        "language": translation.get_language(),
    }
    return render(request, "web/rounds/typed.html", context, status=status)
