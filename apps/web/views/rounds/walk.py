"""A carrier walks a round: the next stop large, the others as a list, one tap for "done".

The script of the page keeps what is tapped without a network and sends it later under the same
keys. Such a copy holds no address: the page leaves them out when it is asked with `?copy=1`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.utils import translation
from django.utils.dateparse import parse_datetime
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from apps.groups.models import Group
from apps.kernel.days import local_instant
from apps.kernel.errors import Refused
from apps.kernel.quantities import parse_thousandths
from apps.people.models import Member, Role
from apps.pickups.core.life import FAIL
from apps.places.queries.visible_address import SEEN_AFTER, Viewer
from apps.planning.queries.address_viewer import address_viewer
from apps.rounds.models import Round, RoundState, RoundStop
from apps.rounds.operations.note_stop import WENT_TO, StopAct, note_stop_done, note_stop_problem
from apps.rounds.operations.replan_round import replan_round
from apps.rounds.queries.show_round import carrier_viewer, show_round
from apps.web.page import PageRequest
from apps.web.templatetags.shown import say
from apps.web.today import today_of
from apps.web.views.day.reasons import reasons_of
from apps.web.views.day.visit import client_key
from apps.web.views.rounds.pictures import round_map

NOT_AT_A_STOP = frozenset({"nobody_came"})
OLDEST_NOTE = timedelta(days=4)
"""A phone may tell as late as its link lives."""

WENT_WORDS: dict[str, Promise] = {
    "composted": gettext_lazy("to compost"),
    "returned": gettext_lazy("back to where it came from"),
    "discarded": gettext_lazy("thrown away"),
}


@dataclass(frozen=True, slots=True)
class Walk:
    """Who looks at which round, by which door. The names are those of a day's `Visit`, since
    both share their page frame."""

    group: Group
    doer: Member
    round: Round
    now: datetime
    address: str
    is_link: bool = False
    acted_for: Member | None = None
    roles: frozenset[Role] = frozenset()
    is_own: bool = True
    may_act: bool = True

    def viewer(self) -> Viewer:
        """The carrier sees the places of the round; anybody else what they may see anyway."""
        if self.is_own:
            return carrier_viewer(self.round, self.now)
        return address_viewer(self.group, self.doer, self.roles, now=self.now)

    @property
    def by_coordinator(self) -> bool:
        """Somebody acts in the carrier's place."""
        return self.acted_for is not None

    @property
    def on(self) -> date:
        """The round's day."""
        return self.round.on

    def act(self, values: Mapping[str, str], key: str) -> StopAct:
        """As a form, or a phone that was without a network, sent it."""
        return StopAct(
            by=self.doer,
            client_key=key,
            now=self.now,
            happened_at=_happened_at(values.get("happened_at", ""), self.now),
            by_coordinator=self.by_coordinator,
            for_whom=self.acted_for,
        )


def _happened_at(text: str, now: datetime) -> datetime:
    """What the phone's clock said, if that can be; else now."""
    try:
        told = parse_datetime(text) if text else None
    except ValueError:
        told = None
    if told is None or told.tzinfo is None or not now - OLDEST_NOTE <= told <= now:
        return now
    return told


def walk_round(request: PageRequest, walk: Walk) -> HttpResponse:
    if request.method != "POST":
        return _page(request, walk)
    try:
        told = note(walk, request.POST, client_key(request))
    except Refused as error:
        return _page(request, walk, problem=say(error), status=error.status)
    messages.success(request, told)
    return HttpResponseRedirect(walk.address)


def answer_script(request: PageRequest, walk: Walk) -> HttpResponse:
    """The same tap, sent by the page's script, now or later."""
    try:
        told = note(walk, request.POST, client_key(request))
    except Refused as error:
        return told_script(error)
    return JsonResponse({"told": told})


def told_script(error: Refused) -> HttpResponse:
    """A "no" for the script."""
    return JsonResponse({"refused": say(error), "code": error.code}, status=error.status)


def note(walk: Walk, values: Mapping[str, str], key: str) -> str:
    """One tap; returns what was understood."""
    stop = _stop(walk, values.get("stop", ""))
    act, what = walk.act(values, key), values.get("do", "")
    if what == "done":
        done, _is_new = note_stop_done(
            walk.group,
            stop.uuid,
            act,
            amount_g=_amount_g(values.get("amount", "")),
            is_confirmed=bool(values.get("is_confirmed")),
        )
        words = _("Fetched: %(number)s.") if done.side == "fetch" else _("Brought: %(number)s.")
        return words % {"number": done.short_code}
    if what == "problem":
        _noted, is_new = note_stop_problem(
            walk.group,
            stop.uuid,
            act,
            reason=values.get("reason", ""),
            went_to=values.get("went_to", ""),
        )
        if is_new:
            order_anew(walk)
        return _("Written down. The rest of the round is in its best order again.")
    raise Http404


def order_anew(walk: Walk) -> None:
    """What cannot be ordered anew stays as it was: the fact is written down already."""
    try:
        replan_round(walk.group, walk.round.uuid, now=walk.now, asked_by=walk.doer)
    except Refused:
        return


def _stop(walk: Walk, uuid: str) -> RoundStop:
    """A stop of this round; any other is not there."""
    try:
        wanted = UUID(uuid)
    except ValueError:
        raise Http404 from None
    found: RoundStop = get_object_or_404(walk.round.stops, uuid=wanted)
    return found


def _amount_g(text: str) -> int | None:
    mark = translation.get_language() or "en"
    decimal_mark = "," if mark.startswith("es") and "," in text else "."
    return parse_thousandths(text, unit="kg", decimal_mark=decimal_mark) if text.strip() else None


def _page(
    request: PageRequest, walk: Walk, *, problem: str = "", status: int = 200
) -> HttpResponse:
    is_copy = "copy" in request.GET
    viewer = Viewer() if is_copy else walk.viewer()
    shown = show_round(walk.round, viewer)
    ends_at = _ends_at(walk.round)
    context = {
        "visit": walk,
        "layout": "web/day/link_base.html" if walk.is_link else "web/base.html",
        "shown": shown,
        "problem": problem,
        "keeps_key": bool(problem),
        "has_come": walk.on <= today_of(walk.group),
        "is_open": walk.round.state == RoundState.ANNOUNCED,
        "may_act": walk.may_act,
        "map": None if is_copy else round_map(shown),
        "is_copy": is_copy,
        "wiped_at": ends_at,
        "languages": settings.LANGUAGES,
        "language": translation.get_language(),
        "reasons": reasons_of(FAIL, leave_out=NOT_AT_A_STOP),
        "went_to": [(name, WENT_WORDS[name]) for name in WENT_TO],
    }
    return render(request, "web/rounds/walk.html", context, status=status)


def _ends_at(found: Round) -> datetime:
    """When a copy on a phone is wiped: with the address that it does not even hold."""
    return local_instant(found.on + timedelta(days=1), time(0), found.group.time_zone) + SEEN_AFTER
