"""One pickup: other weights, a pail, foreign matter, or that it did not happen."""

from __future__ import annotations

from uuid import UUID

from django.db import transaction
from django.http import HttpResponse
from django.utils.translation import gettext as _

from apps.kernel.errors import NeedsConfirmation, Refused
from apps.pickups.core.life import COMPLETE, FAIL
from apps.pickups.models import Pickup
from apps.pickups.operations.answer_pickup import end_pickup
from apps.pickups.operations.complete_pickup import complete_pickup
from apps.pickups.operations.note_foreign_matter import note_foreign_matter
from apps.web.forms.day_weights import Weighed, WeightsForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest
from apps.web.templatetags.shown import kg, say
from apps.web.views.day.answer import back, show
from apps.web.views.day.home import find_pickup, pickup_cards
from apps.web.views.day.visit import Visit, client_key


def one(request: PageRequest, visit: Visit, uuid: UUID) -> HttpResponse:
    """GET shows the fields; POST writes the weights down."""
    pickup = find_pickup(visit, uuid)
    form = WeightsForm(request.POST if request.method == "POST" else None, pickup=pickup)
    ask = ""
    if request.method == "POST" and form.is_valid():
        try:
            if form.cleaned_data["refused"]:
                return back(request, visit, _refuse(request, visit, pickup, form))
            return back(request, visit, _complete(request, visit, pickup, form))
        except NeedsConfirmation as error:
            ask = say(error)
        except Refused as error:
            put_refusal(form, error)
    status = 422 if form.errors else 409 if ask else 200
    [card] = pickup_cards(visit, [pickup])
    return show(request, visit, "pickup", {"form": form, "ask": ask, "card": card}, status)


@transaction.atomic
def _complete(request: PageRequest, visit: Visit, pickup: Pickup, form: WeightsForm) -> str:
    weighed = form.weighed()
    act = visit.act(COMPLETE, request)
    complete_pickup(
        visit.group,
        pickup.uuid,
        act,
        weights={each.line.uuid: each.weight for each in weighed},
        is_confirmed="is_confirmed" in request.POST,
    )
    _note(request, visit, pickup, weighed)
    collected_g = sum(each.weight.collected_g for each in weighed)
    delivered_g = sum(each.weight.delivered_g for each in weighed)
    told = _("Written down: %(collected)s collected, %(delivered)s into the bin.") % {
        "collected": kg(collected_g),
        "delivered": kg(delivered_g),
    }
    if collected_g > delivered_g:
        told += " " + _("%(aside)s set aside.") % {"aside": kg(collected_g - delivered_g)}
    return told


@transaction.atomic
def _refuse(request: PageRequest, visit: Visit, pickup: Pickup, form: WeightsForm) -> str:
    """It stayed at the stall."""
    act = visit.act(FAIL, request, reason="foreign_matter")
    end_pickup(visit.group, pickup.uuid, act)
    for at, line in enumerate(pickup.lines.all()):
        note_foreign_matter(
            line.stream,
            form.found_kind(),
            now=visit.now,
            client_key=f"{client_key(request)}-{at}",
            noted_by=visit.doer,
            pickup=pickup,
            is_refused=True,
            on=visit.on,
        )
    return _("Written down: you left it there. The coordinator speaks with them.")


def _note(request: PageRequest, visit: Visit, pickup: Pickup, weighed: list[Weighed]) -> None:
    for at, each in enumerate(weighed):
        aside_g = each.weight.collected_g - each.weight.delivered_g
        if aside_g:
            note_foreign_matter(
                each.line.stream,
                each.kind,
                now=visit.now,
                client_key=f"{client_key(request)}-{at}",
                noted_by=visit.doer,
                pickup=pickup,
                amount_g=aside_g,
                on=visit.on,
            )
