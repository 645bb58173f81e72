"""A source contact's day: what there is, who comes and when, what became of it."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.utils.translation import gettext as _

from apps.kernel.errors import NeedsConfirmation, Refused
from apps.pickups.core.life import CONTEST, FAIL, State
from apps.pickups.operations.answer_pickup import end_pickup
from apps.pickups.operations.contest_weight import contest_weight
from apps.pickups.operations.offer_today import offer_amounts, offer_nothing, repeat_yesterday
from apps.pickups.operations.state_weight import state_weight
from apps.pickups.queries.source_day import SourceDay, source_day, source_month
from apps.pickups.queries.two_weights import two_weights
from apps.supply.models import Offer
from apps.web.forms.day_offer import OfferForm, WeightForm, amount_chips
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest
from apps.web.templatetags.shown import kg, say
from apps.web.views.day.answer import back, show
from apps.web.views.day.visit import Visit

NOT_OVER = (State.ANNOUNCED, State.ACCEPTED, State.COLLECTED)


def today(request: PageRequest, visit: Visit) -> HttpResponse:
    """GET shows; POST says what there is, or what was handed over."""
    assert visit.source is not None
    if request.method != "POST":
        return _page(request, visit)
    try:
        told = _do(request, visit)
    except Refused as error:
        return _page(request, visit, problem=say(error), status=error.status)
    if isinstance(told, WeightForm):
        return _page(request, visit, weight=told, status=422)
    return back(request, visit, told)


def other_amounts(request: PageRequest, visit: Visit) -> HttpResponse:
    """A field a stream; far more than usual is asked again."""
    source = visit.source
    assert source is not None
    seen = source_day(source, visit.on)
    streams = [each.stream for each in seen.expected]
    form = OfferForm(
        request.POST if request.method == "POST" else None,
        streams=streams,
        amounts_g={each.stream.pk: each.forecast.p50_g for each in seen.expected},
    )
    ask = ""
    if request.method == "POST" and form.is_valid():
        try:
            offers = offer_amounts(
                source,
                visit.on,
                form.amounts_g(),
                now=visit.now,
                said_by=visit.doer,
                is_confirmed="is_confirmed" in request.POST,
            )
        except NeedsConfirmation as error:
            ask = say(error)
        except Refused as error:
            put_refusal(form, error)
        else:
            return back(request, visit, _told(offers))
    status = 422 if form.errors else 409 if ask else 200
    return show(request, visit, "amounts", {"form": form, "ask": ask}, status)


def _do(request: PageRequest, visit: Visit) -> str | WeightForm:
    source = visit.source
    assert source is not None
    what = request.POST.get("do", "")
    if what == "repeat":
        offers = repeat_yesterday(source, visit.on, now=visit.now, said_by=visit.doer)
        return _told(offers)
    if what == "nothing":
        offer_nothing(source, visit.on, now=visit.now, said_by=visit.doer)
        return _("Written down: nothing today. Nobody needs to come for it.")
    if what == "amount":
        return _one_amount(request, visit)
    pickup = _pickup_uuid(request, visit)
    return _of_pickup(request, visit, what, pickup)


def _of_pickup(request: PageRequest, visit: Visit, what: str, pickup: UUID) -> str | WeightForm:
    if what == "contest":
        contest_weight(visit.group, pickup, visit.act(CONTEST, request))
        return _("Written down: the weight is wrong. Both see it; the coordinator asks both.")
    if what == "nobody":
        act = visit.act(FAIL, request, reason="nobody_came")
        end_pickup(visit.group, pickup, act)
        return _("Written down: nobody came. The coordinator looks for another home.")
    if what == "weight":
        return _own_weight(request, visit, pickup)
    raise Http404


def _own_weight(request: PageRequest, visit: Visit, pickup: UUID) -> str | WeightForm:
    form = WeightForm(request.POST, auto_id=f"w-{pickup}-%s")
    form.pickup_uuid = pickup
    if not form.is_valid():
        return form
    amount_g = form.cleaned_data["amount"]
    done = state_weight(visit.group, pickup, amount_g, now=visit.now, stated_by=visit.doer)
    told = _("Written down: you weighed %(amount)s.") % {"amount": kg(amount_g)}
    if two_weights(done).is_contested:
        told += " " + _("The two weights differ. Both see both; the coordinator is told.")
    return told


def _one_amount(request: PageRequest, visit: Visit) -> str:
    """A chip of one stream."""
    assert visit.source is not None
    seen = source_day(visit.source, visit.on)
    streams = {each.stream.code: each for each in seen.expected}
    code, _dot, grams = request.POST.get("chip", "").partition(":")
    chosen = streams.get(code)
    allowed = amount_chips(chosen.stream) if chosen else []
    if chosen is None or grams not in {str(each) for each in allowed}:
        raise Http404
    offers = offer_amounts(
        visit.source, visit.on, {chosen.stream: int(grams)}, now=visit.now, said_by=visit.doer
    )
    return _told(offers)


def _pickup_uuid(request: PageRequest, visit: Visit) -> UUID:
    """One that belongs to this source and day, or 404."""
    assert visit.source is not None
    for pickup in source_day(visit.source, visit.on).pickups:
        if str(pickup.uuid) == request.POST.get("pickup"):
            return pickup.uuid
    raise Http404


def _told(offers: list[Offer]) -> str:
    parts = [f"{kg(each.amount_g)} {say(each.stream.material.name)}" for each in offers]
    return _("Written down: %(amounts)s.") % {"amounts": ", ".join(parts)}


def _page(
    request: PageRequest,
    visit: Visit,
    *,
    problem: str = "",
    weight: WeightForm | None = None,
    status: int = 200,
) -> HttpResponse:
    source = visit.source
    assert source is not None
    seen = source_day(source, visit.on)
    said = {
        offer.stream_id: offer
        for offer in Offer.objects.of(visit.group).filter(
            stream__in=[each.stream.pk for each in seen.expected], on=visit.on
        )
    }
    context = {
        "problem": problem,
        "weight_form": weight,
        "seen": seen,
        "streams": [
            {
                "stream": each.stream,
                "amount_g": each.forecast.p50_g,
                "said": said.get(each.stream.pk),
                "chips": amount_chips(each.stream),
            }
            for each in seen.expected
        ],
        "visits": _visits(seen, weight),
        "month": source_month(source, visit.today),
    }
    return show(request, visit, "source", context, status)


def _visits(seen: SourceDay, weight: WeightForm | None) -> list[dict[str, Any]]:
    return [
        {
            "pickup": pickup,
            "lines": list(pickup.lines.all()),
            "planned_g": sum(line.planned_g for line in pickup.lines.all()),
            "weights": two_weights(pickup),
            "is_open": pickup.state in NOT_OVER,
            "form": weight
            if weight is not None and weight.pickup_uuid == pickup.uuid
            else WeightForm(auto_id=f"w-{pickup.uuid}-%s"),
        }
        for pickup in seen.pickups
    ]
