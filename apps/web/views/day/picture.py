"""The digester's picture: what went in, what it can take, its gas, and the week."""

from __future__ import annotations

from datetime import timedelta

from django.http import HttpResponse

from apps.feedstock.models import Material
from apps.pickups.queries.digester_picture import digester_picture
from apps.web.board_pictures import draw_row_bar, draw_row_strip
from apps.web.page import PageRequest
from apps.web.views.day.answer import show
from apps.web.views.day.drum import draw_gas
from apps.web.views.day.visit import Visit
from apps.web.week_pictures import draw_week


def picture(request: PageRequest, visit: Visit) -> HttpResponse:
    """Reads only."""
    digester = visit.digester
    assert digester is not None
    seen = digester_picture(digester, now=visit.now)
    names = dict(Material.objects.of(visit.group).values_list("code", "name"))
    coming = [
        (on, sum(line.planned_g for pickup in pickups for line in pickup.lines.all()))
        for on, pickups in seen.pickups.items()
    ]
    context = {
        "seen": seen,
        "card": {
            "row": seen.board,
            "strip": draw_row_strip(seen.board),
            "bar": draw_row_bar(seen.board),
        },
        "drum": draw_gas(digester, seen.gas),
        "week": draw_week(digester.name, coming, visit.today),
        "days": [
            {
                "on": day.on,
                "fed": [(names.get(code, code), g) for code, g in sorted(day.fed_g.items()) if g],
                "water_ml": day.water_ml,
            }
            for day in reversed(seen.fed)
        ],
        "in_bin": [(names.get(code, code), g) for code, g in sorted(seen.in_bin_g.items()) if g],
        "last_on": visit.today + timedelta(days=6),
    }
    return show(request, visit, "picture", context)
