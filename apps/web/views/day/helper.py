"""The page of somebody who fetches for a home that is not theirs: their pickups, nothing else."""

from __future__ import annotations

from django.http import Http404, HttpResponse

from apps.kernel.errors import Refused
from apps.pickups.core.life import State
from apps.pickups.models import Pickup, Standby
from apps.web.page import PageRequest
from apps.web.templatetags.shown import say
from apps.web.views.day.answer import back, show
from apps.web.views.day.change import LATE_CHIPS_MIN, PICTURES
from apps.web.views.day.home import act_on, day_pickups, pickup_cards
from apps.web.views.day.visit import Visit

MAY = frozenset({"accept", "complete", "late", "bad", "take_over"})


def today(request: PageRequest, visit: Visit) -> HttpResponse:
    """GET shows; POST does one thing and comes back."""
    pickups = _own(visit)
    problem, status = "", 200
    if request.method == "POST":
        allowed = {str(each.uuid) for each in pickups}
        if request.POST.get("do") not in MAY or request.POST.get("pickup") not in allowed:
            raise Http404
        try:
            return back(request, visit, act_on(request, visit))
        except Refused as error:
            problem, status = say(error), error.status
            pickups = _own(visit)
    context = {
        "problem": problem,
        "cards": pickup_cards(visit, pickups),
        "late_chips": LATE_CHIPS_MIN,
        "pictures": PICTURES,
    }
    return show(request, visit, "helper", context, status)


def _own(visit: Visit) -> list[Pickup]:
    """Those given to the person and, for somebody on standby, those that nobody has taken over."""
    stands_by = Standby.objects.of(visit.group).filter(member=visit.doer).exists()
    assert visit.digester is not None
    return [
        each
        for each in day_pickups(visit)
        if each.fetcher_id == visit.doer.pk
        or (
            stands_by
            and each.state in (State.ANNOUNCED, State.ACCEPTED)
            and each.fetcher_id in (None, visit.digester.household_id)
        )
    ]
