"""The two doors to the page of a day: a link from a message, and signing in.

By the link nobody signs in. Whoever holds it may act; its secret stands in the address and
nowhere else, so that no other site can make a browser send it, and the check of forged requests
has nothing to add (it would refuse every form, since "no-referrer" hides where it comes from).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import UTC, date, datetime
from functools import wraps
from typing import Any
from uuid import UUID

from django.conf import settings
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from django.views.decorators.csrf import csrf_exempt

from apps.digesters.models import Digester, StageName
from apps.groups.models import Group
from apps.kernel.errors import NotAllowed, Refused
from apps.people.access import PUBLIC, roles
from apps.people.models import Role
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.pickups.queries.open_day_link import DayLinkOver, open_day_link
from apps.supply.models import Source
from apps.web.page import PageRequest, page, refusal
from apps.web.today import today_of
from apps.web.views.day import (
    feeding,
    fertiliser,
    helper,
    home,
    late,
    living,
    pickup,
    picture,
    readings,
    source,
)
from apps.web.views.day.visit import Visit

OWNERS = roles(Role.HOUSEHOLDER, Role.SOURCE_CONTACT, Role.COORDINATOR)

NOT_TO_BE = (State.DECLINED, State.FAILED, State.WITHDRAWN)

Part = Callable[..., HttpResponse]
HOME_PARTS: dict[str, Part] = {
    "": home.today,
    "feeding": feeding.other_amounts,
    "readings": readings.readings,
    "picture": picture.picture,
    "fertiliser": fertiliser.fertiliser,
    "living": living.living,
}
SOURCE_PARTS: dict[str, Part] = {"": source.today, "amounts": source.other_amounts}


def secret(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Nobody keeps the answer, and no request made from it tells the address."""

    @wraps(view)
    def answer(*args: Any, **kwargs: Any) -> HttpResponse:
        response = view(*args, **kwargs)
        response["Cache-Control"] = "no-store, private"
        response["Referrer-Policy"] = "no-referrer"
        return response

    return answer


@csrf_exempt
@secret
@page(GET=PUBLIC, POST=PUBLIC)
def by_link(
    request: PageRequest, token: str, part: str = "", uuid: UUID | None = None
) -> HttpResponse:
    """The page of a link, in the language of its person. GET reads, POST acts."""
    now = datetime.now(UTC)
    is_sent = request.method == "POST" and "language" not in request.POST
    try:
        link = open_day_link(token, now=now)
    except DayLinkOver as over:
        kept = late.keep(request, over.link, part, uuid, now=now) if is_sent and over.link else None
        if kept is None:
            raise
        return kept
    visit = Visit(
        group=link.group,
        doer=link.member,
        on=link.on,
        now=now,
        address=reverse("day", kwargs={"token": token}),
        digester=link.digester,
        source=link.source,
        is_link=True,
    )
    if request.method == "POST" and "language" in request.POST:
        return choose_language(request)
    with late.in_words_of(request, link):
        answer = _show(request, visit, part, uuid)
        if is_sent and answer.status_code >= 400:
            return late.keep_for_withdrawn(request, link, part, uuid, now=now) or answer
        return answer


@page(GET=OWNERS)
def my_day(request: PageRequest, group: str) -> HttpResponse:
    """Straight to the only digester or source, else a choice of them."""
    here = request.admission
    homes = Digester.objects.of(here.group).exclude(stage=StageName.CLOSED)
    sources = Source.objects.of(here.group).filter(is_active=True)
    on = today_of(here.group)
    found = [
        *(("homes", each) for each in homes.filter(household=here.member).order_by("code")),
        *(("sources", each) for each in sources.filter(contact=here.member).order_by("code")),
    ]
    if len(found) == 1:
        kind, only = found[0]
        return redirect("my-day-of", group=group, kind=kind, code=only.code, on=on)
    context = {"found": found, "on": on, "visits": _visits(here.group, on)}
    return render(request, "web/day/choose.html", context)


def _visits(group: Group, on: date) -> Counter[int]:
    """How many pickups of the day stand, by the place of either end."""
    standing = Pickup.objects.of(group).filter(on=on).exclude(state__in=NOT_TO_BE)
    ends = standing.values_list("source__place_id", "digester__place_id")
    return Counter(place for both in ends for place in both)


@page(GET=OWNERS, POST=OWNERS)
def signed_in(
    request: PageRequest,
    group: str,
    kind: str,
    code: str,
    on: date,
    part: str = "",
    uuid: UUID | None = None,
) -> HttpResponse:
    """The same page for whoever signed in; a coordinator acts for somebody else, and it shows."""
    here = request.admission
    model: Any = {"homes": Digester, "sources": Source}.get(kind)
    if model is None:
        raise Http404
    related = ("place", "household") if kind == "homes" else ("place", "contact")
    subject = get_object_or_404(
        model.objects.of(here.group).select_related("group", *related), code=code
    )
    owner = subject.household if kind == "homes" else subject.contact
    is_own = owner is not None and owner.pk == here.member.pk
    if not is_own and Role.COORDINATOR not in here.roles:
        raise NotAllowed(_("This is somebody else's. Only they or a coordinator can act here."))
    visit = Visit(
        group=here.group,
        doer=here.member,
        on=on,
        now=datetime.now(UTC),
        address=reverse("my-day-of", kwargs={"group": group, "kind": kind, "code": code, "on": on}),
        digester=subject if kind == "homes" else None,
        source=subject if kind == "sources" else None,
        acted_for=None if is_own else owner,
        by_coordinator=not is_own,
    )
    return _show(request, visit, part, uuid)


def _show(request: PageRequest, visit: Visit, part: str, uuid: UUID | None) -> HttpResponse:
    try:
        if visit.is_helper:
            if part or uuid is not None:
                raise Http404
            return helper.today(request, visit)
        return do_part(request, visit, part, uuid)
    except Refused as error:
        return refusal(request, error)


def do_part(request: PageRequest, visit: Visit, part: str, uuid: UUID | None) -> HttpResponse:
    """The page's part, or that of one pickup."""
    if uuid is not None:
        if visit.digester is None:
            raise Http404
        return pickup.one(request, visit, uuid)
    parts = HOME_PARTS if visit.digester is not None else SOURCE_PARTS
    if part not in parts:
        raise Http404
    return parts[part](request, visit)


def choose_language(request: PageRequest) -> HttpResponse:
    response = HttpResponseRedirect(request.path)
    language = request.POST["language"]
    if language in dict(settings.LANGUAGES):
        response.set_cookie(
            settings.LANGUAGE_COOKIE_NAME,
            language,
            max_age=365 * 24 * 3600,
            secure=settings.HTTPS,
            httponly=True,
            samesite="Lax",
        )
    return response
