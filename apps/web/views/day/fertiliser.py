"""Liquid fertiliser: how to dilute it, and what left the digester."""

from __future__ import annotations

from django.http import HttpResponse
from django.utils.translation import gettext as _

from apps.digestate.core.dilution import CAUTIONS, USE_NAMES, WATER_PARTS, fill_can
from apps.digestate.operations.let_out import LetOut, let_out
from apps.kernel.errors import Refused
from apps.web.forms.day_fertiliser import OutflowForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest
from apps.web.templatetags.shown import litres, say
from apps.web.views.day.answer import back, show
from apps.web.views.day.visit import Visit, client_key

CAN_ML = 10_000
"""The watering can of the table. Ours."""


def fertiliser(request: PageRequest, visit: Visit) -> HttpResponse:
    """The table and its cautions; POST records what left."""
    digester = visit.digester
    assert digester is not None
    form = OutflowForm(request.POST if request.method == "POST" else None, on=visit.today)
    if request.method == "POST" and form.is_valid():
        chosen = form.cleaned_data
        try:
            done = let_out(
                digester,
                amount_ml=chosen["amount"],
                use=form.chosen_use(),
                happened_at=visit.instant_on(chosen["on"]),
                now=visit.now,
                client_key=client_key(request),
                recorded_by=visit.doer,
            )
        except Refused as error:
            put_refusal(form, error, under={"happened_at": "on"}.get(error.field or "", "amount"))
        else:
            return back(request, visit, _told(done))
    rows = [
        {"name": USE_NAMES[use], "parts": parts, "can": fill_can(CAN_ML, use)}
        for use, parts in WATER_PARTS.items()
    ]
    context = {"form": form, "rows": rows, "cautions": CAUTIONS, "can_ml": CAN_ML}
    return show(request, visit, "fertiliser", context, 422 if form.errors else 200)


def _told(done: LetOut) -> str:
    dilution = done.dilution
    told = _("Written down: %(amount)s for %(use)s.") % {
        "amount": litres(dilution.outflow_ml),
        "use": say(USE_NAMES[dilution.use]),
    }
    if dilution.water_ml:
        told += " " + _("Mix it with %(water)s of water. Never neat.") % {
            "water": litres(dilution.water_ml)
        }
    return told
