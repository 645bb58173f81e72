"""The day of a whole group: exceptions first, each with its repair, then the answers as they
come in. A coordinator acts here for somebody without a phone, and it shows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.validators import slug_re
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.kernel.errors import Refused
from apps.kernel.sentences import Sentence
from apps.people.access import roles
from apps.people.models import Role
from apps.pickups.core.life import ACCEPT, DECLINE, FAIL, Party, State
from apps.pickups.models import Pickup, PickupState
from apps.pickups.operations.answer_pickup import REASONS, accept_pickup, end_pickup
from apps.pickups.operations.reassign_pickup import reassign_pickup
from apps.pickups.operations.settle_weight import settle_weight
from apps.pickups.operations.take_step import Act, Actor
from apps.pickups.queries.exceptions import Kind, Trouble, todays_exceptions
from apps.pickups.queries.next_homes import propose_next_homes
from apps.pickups.queries.two_weights import two_weights
from apps.web.page import PageRequest, page
from apps.web.templatetags.shown import say
from apps.web.today import today_of
from apps.web.views.day.reasons import REASON_WORDS, reasons_of
from apps.web.views.day.visit import client_key, whole_number

COORDINATOR = roles(Role.COORDINATOR)
ASSIGNERS = roles(Role.COORDINATOR, Role.ASSIGNER)
KIND_WORDS = {
    Kind.GAS_SMELL: gettext_lazy("Smell of gas"),
    Kind.CONCERN_OVERDUE: gettext_lazy("Answer overdue"),
    Kind.WITHOUT_HOME: gettext_lazy("Waste without a home"),
    Kind.OVERFED: gettext_lazy("Fed too much"),
    Kind.LATE: gettext_lazy("Late"),
    Kind.BIN_TOO_OLD: gettext_lazy("Too old in the bin"),
    Kind.NOT_ANSWERED: gettext_lazy("Not answered"),
    Kind.HUNGRY: gettext_lazy("Hungry"),
    Kind.WROTE_LATE: gettext_lazy("Written after the link had ended"),
    Kind.CONTESTED: gettext_lazy("Two weights"),
    Kind.CONCERN_OPEN: gettext_lazy("Answer promised"),
}
URGENT = frozenset({Kind.GAS_SMELL, Kind.CONCERN_OVERDUE, Kind.WITHOUT_HOME, Kind.OVERFED})
ASKED_AT_ONCE = 1
"""Pickups without a home whose next homes are looked up with the page; the rest on a tap, since
each look takes a second or more."""


@page(GET=ASSIGNERS)
def today(request: PageRequest, group: str) -> HttpResponse:
    """Reads only."""
    here = request.admission
    now = datetime.now(UTC)
    on = today_of(here.group)
    troubles = todays_exceptions(here.group, now=now)
    pickups = list(_pickups(here.group, on))
    homeless = [each.pickup for each in troubles if each.kind == Kind.WITHOUT_HOME and each.pickup]
    asked = homeless[:ASKED_AT_ONCE]
    return render(
        request,
        "web/today/today.html",
        {
            "on": on,
            "groups": _by_kind(here.group, troubles, asked, now),
            "count": sum(each.kind != Kind.NOT_ANSWERED for each in troubles),
            "rows": sorted((_row(pickup) for pickup in pickups), key=_first_things_first),
            "tomorrow": on + timedelta(days=1),
            "states": _states(pickups),
            "decline_reasons": reasons_of(DECLINE),
            "fail_reasons": reasons_of(FAIL),
            "may_act": Role.COORDINATOR in here.roles,
        },
    )


@page(POST=COORDINATOR)
def act_for(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """Answer a pickup in place of its household; written down as done for them."""
    here = request.admission
    pickup = _pickup(here.group, uuid)
    what, reason = request.POST.get("do", ""), request.POST.get("reason", "")
    step = {"accept": ACCEPT, "decline": DECLINE, "fail": FAIL}.get(what)
    if step is None or (reason and reason not in REASONS[step.name]):
        raise Http404
    act = Act(
        step=step,
        actor=Actor(here.member, Party.COORDINATOR, pickup.digester.household),
        client_key=client_key(request),
        now=datetime.now(UTC),
        reason=reason,
    )
    if step is ACCEPT:
        accept_pickup(here.group, pickup.uuid, act)
    else:
        end_pickup(here.group, pickup.uuid, act)
    messages.success(
        request,
        _("Written down for %(home)s, with your name.") % {"home": pickup.digester.name},
    )
    if step is ACCEPT:
        return redirect("today", group=group)
    return redirect("next-home", group=group, uuid=pickup.uuid)


@page(POST=COORDINATOR)
def settle(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """Two weights: whose stands, once both were asked."""
    here = request.admission
    whose = request.POST.get("whose", "")
    if whose not in ("giver", "fetcher"):
        raise Http404
    settle_weight(
        here.group,
        uuid,
        giver_is_right=whose == "giver",
        now=datetime.now(UTC),
        settled_by=here.member,
        client_key=client_key(request),
    )
    messages.success(request, _("Settled. Both see the same weight now."))
    return redirect("today", group=group)


@page(GET=ASSIGNERS, POST=ASSIGNERS)
def next_home(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """The next best homes with their consequences; one tap takes one and announces."""
    here = request.admission
    pickup = _pickup(here.group, uuid)
    problem, status = "", 200
    if request.method == "POST":
        code = request.POST.get("digester", "")
        if not slug_re.fullmatch(code):
            raise Http404
        home = get_object_or_404(Digester.objects.of(here.group), code=code)
        try:
            reassign_pickup(
                pickup,
                home,
                now=datetime.now(UTC),
                by=here.member,
                client_key=client_key(request),
                amount_g=whole_number(request.POST.get("amount_g", "")),
            )
        except Refused as error:
            problem, status = say(error), error.status
        else:
            told = _("%(home)s fetches at %(source)s now. Both are told.")
            messages.success(request, told % {"home": home.name, "source": pickup.source.name})
            return redirect("today", group=group)
    context = {
        "problem": problem,
        "pickup": pickup,
        "planned_g": sum(line.planned_g for line in pickup.lines.all()),
        "homes": propose_next_homes(pickup, now=datetime.now(UTC)),
    }
    return render(request, "web/today/next_home.html", context, status=status)


def _pickups(group: Group, on: Any) -> Any:
    return (
        Pickup.objects.of(group)
        .filter(on=on)
        .exclude(state=State.WITHDRAWN)
        .select_related("source__contact", "digester__household", "fetcher")
        .prefetch_related("lines__stream__material", "events__by", "events__acted_for")
        .order_by("from_min", "source__code", "digester__code")
    )


def _pickup(group: Group, uuid: UUID) -> Pickup:
    found: Pickup = get_object_or_404(
        Pickup.objects.of(group)
        .select_related("source", "digester__household", "group")
        .prefetch_related("lines__stream__material"),
        uuid=uuid,
    )
    return found


def _row(pickup: Pickup) -> dict[str, Any]:
    events = list(pickup.events.all())
    last = events[-1] if events else None
    return {
        "pickup": pickup,
        "planned_g": sum(line.planned_g for line in pickup.lines.all()),
        "weights": two_weights(pickup),
        "last": last,
        "reason": REASON_WORDS.get(last.reason, last.reason) if last else "",
        "is_open": pickup.state in (State.ANNOUNCED, State.ACCEPTED, State.COLLECTED),
        "needs_home": pickup.state in (State.DECLINED, State.FAILED),
        "tone": {
            State.DELIVERED: "good", State.ACCEPTED: "good", State.COLLECTED: "good",
            State.DECLINED: "stop", State.FAILED: "stop",
        }.get(State(pickup.state), "watch"),
    }  # fmt: skip


TONES = ("stop", "watch", "good")


def _first_things_first(row: dict[str, Any]) -> int:
    return TONES.index(row["tone"])


def _states(pickups: Iterable[Pickup]) -> list[tuple[str, int]]:
    count = Counter(pickup.state for pickup in pickups)
    return [(str(state.label), count[state.value]) for state in PickupState if count[state.value]]


def _by_kind(
    group: Group, troubles: Iterable[Trouble], asked: list[Pickup], now: datetime
) -> list[dict[str, Any]]:
    """Most urgent kind first; what nobody answered stays folded away when it is much."""
    found: dict[Kind, list[dict[str, Any]]] = {}
    for each in troubles:
        row = {
            "trouble": each,
            "sentence": _sentence(group, each),
            "homes": propose_next_homes(each.pickup, now=now) if each.pickup in asked else None,
            "weights": two_weights(each.pickup) if each.pickup else None,
            "repairs": set(each.repairs),
        }
        found.setdefault(each.kind, []).append(row)
    return [
        {
            "name": kind.name.lower(),
            "words": KIND_WORDS[kind],
            "rows": rows,
            "is_urgent": kind in URGENT,
            "is_folded": kind == Kind.NOT_ANSWERED and len(rows) > 3,
        }
        for kind, rows in found.items()
    ]


def _sentence(group: Group, trouble: Trouble) -> Sentence:
    """Instants as the group's clock shows them."""
    values = dict(trouble.sentence.values)
    at = values.get("at")
    if trouble.concern is not None and isinstance(at, str):
        local = datetime.fromisoformat(at).astimezone(ZoneInfo(group.time_zone))
        values["at"] = f"{local:%d.%m. %H:%M}"
    return Sentence(trouble.sentence.template, values)
