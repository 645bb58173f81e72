"""A form sent by a link that has ended: kept for a coordinator instead of lost."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from uuid import UUID

from django.conf import settings
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone, translation

from apps.pickups.core.life import State
from apps.pickups.models import DayLink, LateKind, Pickup
from apps.pickups.operations.hold_late_message import Late, hold_late_message
from apps.pickups.queries.late_messages import say_late
from apps.pickups.queries.who_to_ask import whom_to_ask
from apps.web.forms.day_offer import WeightForm
from apps.web.forms.day_weights import WeightsForm
from apps.web.page import PageRequest
from apps.web.views.day.chips import SHARES_PERCENT

NOT_WORDS = frozenset({"csrfmiddlewaretoken", "client_key"})
"""They differ each time a form is shown."""
KINDS = {
    "accept": LateKind.GOING,
    "take_over": LateKind.GOING,
    "decline": LateKind.NOT_GOING,
    "late": LateKind.LATER,
    "fail": LateKind.FAILED,
    "bad": LateKind.FAILED,
    "nobody": LateKind.FAILED,
    "contest": LateKind.WRONG_WEIGHT,
    "feed": LateKind.FED,
    "repeat": LateKind.AS_BEFORE,
    "nothing": LateKind.NOTHING,
}
"""By what a button sends, where no weight goes with it."""
HAPPENED = frozenset({LateKind.COLLECTED, LateKind.GIVEN, LateKind.FAILED, LateKind.OTHER})
"""Worth keeping for a pickup that was withdrawn while its link is alive."""


def keep(
    request: PageRequest, link: DayLink, part: str, uuid: UUID | None, *, now: datetime
) -> HttpResponse | None:
    """Hold what was sent and say so; None where nothing was."""
    with in_words_of(request, link):
        late = read_late(request, link, part, uuid)
        if not late.words:
            return None
        message = hold_late_message(link, late, now=now)
        context = {"said": say_late(message), "name": whom_to_ask(link.group)}
        return render(request, "web/day/kept.html", context, status=202)


@contextmanager
def in_words_of(request: HttpRequest, link: DayLink) -> Iterator[None]:
    """The language chosen on this phone, else the person's; the group's own clock."""
    chosen = request.COOKIES.get(settings.LANGUAGE_COOKIE_NAME)
    language = chosen if chosen in dict(settings.LANGUAGES) else link.member.language
    with translation.override(language), timezone.override(link.group.time_zone):
        yield


def keep_for_withdrawn(
    request: PageRequest, link: DayLink, part: str, uuid: UUID | None, *, now: datetime
) -> HttpResponse | None:
    """The same for a pickup that is no more, when what was sent tells what happened."""
    late = read_late(request, link, part, uuid)
    gone = late.pickup is not None and late.pickup.state == State.WITHDRAWN
    return keep(request, link, part, uuid, now=now) if gone and late.kind in HAPPENED else None


def read_late(request: PageRequest, link: DayLink, part: str, uuid: UUID | None) -> Late:
    """What the fields say, without doing it."""
    words = {
        name: [text.replace("\0", "") for text in request.POST.getlist(name)]
        for name in request.POST
        if name.replace("\0", "") == name and name not in NOT_WORDS
    }
    pickup = _pickup(link, uuid or request.POST.get("pickup", ""))
    kind, amount_g = _kind(request, link, pickup, is_form=uuid is not None)
    about = "pickup" if uuid is not None else part
    return Late(about[:20], kind, words, translation.get_language() or "en", pickup, amount_g)


def _kind(
    request: PageRequest, link: DayLink, pickup: Pickup | None, *, is_form: bool
) -> tuple[LateKind, int | None]:
    sent, what = request.POST, request.POST.get("do", "")
    if is_form and pickup is not None:
        return _weighed(WeightsForm(sent, pickup=pickup))
    if what == "complete" and pickup is not None:
        share = sent.get("share", "")
        percent = int(share) if share in {str(each) for each in SHARES_PERCENT} else 100
        return LateKind.COLLECTED, sum(
            line.planned_g * percent // 100 for line in pickup.lines.all()
        )
    if what == "weight" and pickup is not None:
        weight = WeightForm(sent)
        if weight.is_valid():
            return LateKind.GIVEN, weight.cleaned_data["amount"]
    if what == "amount":
        grams = sent.get("chip", "").partition(":")[2]
        if grams.isascii() and grams.isdigit() and len(grams) <= 7:
            return LateKind.OFFERED, int(grams)
    return KINDS.get(what, LateKind.OTHER), None


def _weighed(form: WeightsForm) -> tuple[LateKind, int | None]:
    if not form.is_valid():
        return LateKind.OTHER, None
    if form.cleaned_data["refused"]:
        return LateKind.FAILED, None
    return LateKind.COLLECTED, sum(each.weight.collected_g for each in form.weighed())


def _pickup(link: DayLink, uuid: str | UUID) -> Pickup | None:
    try:
        wanted = UUID(str(uuid))
    except ValueError:
        return None
    ends = Q(digester=link.digester_id) if link.digester_id else Q(source=link.source_id)
    return (
        Pickup.objects.of(link.group)
        .filter(ends, uuid=wanted, on=link.on)
        .select_related("source", "group")
        .prefetch_related("lines__stream__material")
        .first()
    )
