"""The two doors to a carrier's round: a link from a message, and signing in. As with the page of a
day, whoever holds the link may act (see `views.day.doors`)."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.contrib.staticfiles import finders
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt

from apps.kernel.errors import NotAllowed, Refused
from apps.people.access import PUBLIC, roles
from apps.people.models import Role
from apps.rounds.models import Round, RoundState
from apps.rounds.queries.open_round_link import open_round_link
from apps.web.page import PageRequest, page, refusal
from apps.web.today import today_of
from apps.web.views.day.doors import choose_language, secret
from apps.web.views.rounds.sheet import sheet, typed
from apps.web.views.rounds.walk import Walk, answer_script, told_script, walk_round

WALKERS = roles(Role.CARRIER, Role.COORDINATOR)
READERS = roles(Role.CARRIER, Role.COORDINATOR, Role.ASSIGNER)
PARTS = {"": walk_round, "sheet": sheet, "typed": typed}


@csrf_exempt
@secret
@page(GET=PUBLIC, POST=PUBLIC)
def by_link(request: PageRequest, token: str, part: str = "") -> HttpResponse:
    """The round of a link, in the language of its carrier. GET reads, POST acts."""
    now = datetime.now(UTC)
    try:
        link = open_round_link(token, now=now)
    except Refused as error:
        return told_script(error) if _wants_json(request) else refusal(request, error)
    if request.method == "POST" and "language" in request.POST:
        return choose_language(request)
    chosen = request.COOKIES.get(settings.LANGUAGE_COOKIE_NAME)
    language = chosen if chosen in dict(settings.LANGUAGES) else link.member.language
    address = reverse("round-link", kwargs={"token": token})
    walk = Walk(link.group, link.member, link.round, now, address, is_link=True)
    with translation.override(language):
        return _show(request, walk, part)


@page(GET=WALKERS)
def my_round(request: PageRequest, group: str) -> HttpResponse:
    """Straight to the next announced round of whoever asks."""
    here = request.admission
    found = (
        Round.objects.of(here.group)
        .filter(carrier__member=here.member, on__gte=today_of(here.group))
        .filter(state__in=(RoundState.ANNOUNCED, RoundState.OVER))
        .order_by("on", "-state")
        .first()
    )
    if found is None:
        return render(request, "web/rounds/none.html", {})
    return redirect("walk-round", group=group, uuid=found.uuid)


@page(GET=READERS, POST=WALKERS)
def signed_in(request: PageRequest, group: str, uuid: UUID, part: str = "") -> HttpResponse:
    """The same page for whoever signed in; a coordinator acts for the carrier, and it shows. An
    assigner looks, and prints the sheet."""
    here = request.admission
    found = get_object_or_404(
        Round.objects.of(here.group).select_related("group", "carrier__member"), uuid=uuid
    )
    owner = found.carrier.member
    is_own = owner.pk == here.member.pk
    may_act = is_own or Role.COORDINATOR in here.roles
    if not may_act and (Role.ASSIGNER not in here.roles or request.method == "POST"):
        raise NotAllowed(_("This is somebody else's. Only they or a coordinator can act here."))
    address = reverse("walk-round", kwargs={"group": group, "uuid": uuid})
    walk = Walk(
        here.group,
        here.member,
        found,
        datetime.now(UTC),
        address,
        acted_for=None if is_own or not may_act else owner,
        roles=here.roles,
        is_own=is_own,
        may_act=may_act,
    )
    return _show(request, walk, part)


@page(GET=PUBLIC)
def worker(request: PageRequest) -> HttpResponse:
    """The script that keeps a copy of a round's page. It stands at the root, so that a page under
    any address may use it for itself."""
    script = Path(finders.find("web/round-worker.js") or "").read_text()
    return HttpResponse(script, content_type="text/javascript; charset=utf-8")


def _show(request: PageRequest, walk: Walk, part: str) -> HttpResponse:
    if part not in PARTS:
        raise Http404
    if request.method == "POST" and _wants_json(request):
        return answer_script(request, walk)
    try:
        return PARTS[part](request, walk)
    except Refused as error:
        return refusal(request, error)


def _wants_json(request: PageRequest) -> bool:
    return request.headers.get("Accept") == "application/json"
