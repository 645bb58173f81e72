"""A household's day: what to fetch, what to feed, and how the digester stands."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.utils.translation import gettext as _

from apps.digesters.models import Digester
from apps.digesters.queries.evening_gas import Promise
from apps.digesters.queries.recovery_guide import recovery_guide
from apps.digesters.queries.tonight import gas_tonight
from apps.feedstock.core.measures import count_nearest
from apps.kernel.errors import Refused
from apps.people.models import Role
from apps.pickups.core.life import ACCEPT, COMPLETE, DECLINE, FAIL, State
from apps.pickups.models import Pickup
from apps.pickups.operations.answer_pickup import REASONS, accept_pickup, end_pickup
from apps.pickups.operations.complete_pickup import complete_pickup
from apps.pickups.queries.daily_recipe import DailyRecipe, daily_recipe
from apps.pickups.queries.digester_picture import DigesterPicture, digester_picture
from apps.pickups.queries.stands_by import stands_by
from apps.pickups.queries.two_weights import two_weights
from apps.places.queries.visible_address import visible_address
from apps.planning.queries.address_viewer import address_viewer
from apps.planning.queries.recipes import home_measures
from apps.web.page import PageRequest
from apps.web.templatetags.shown import kg, litres, say
from apps.web.views.day.answer import back, show
from apps.web.views.day.change import CHANGES, LATE_CHIPS_MIN, PICTURES, change, neighbours
from apps.web.views.day.chips import Chip, weight_chips, weights_at
from apps.web.views.day.drum import draw_gas
from apps.web.views.day.feeding import feed_by_recipe
from apps.web.views.day.reasons import reasons_of
from apps.web.views.day.visit import Visit

A_DAY = timedelta(days=1)
"""Exact addresses to whoever fetches, from a day before to a day after."""
WORTH_SAYING_G = 500
"""Less than this over what is planned is not worth a line. A ruling of ours."""

OPEN = (State.ANNOUNCED, State.ACCEPTED, State.COLLECTED)


def today(request: PageRequest, visit: Visit) -> HttpResponse:
    """GET shows; POST does one thing and comes back. A "no" is said on the page itself."""
    if request.method != "POST":
        return _page(request, visit)
    try:
        return back(request, visit, act_on(request, visit))
    except Refused as error:
        return _page(request, visit, problem=say(error), status=error.status)


def act_on(request: PageRequest, visit: Visit) -> str:
    """One tap; returns what was understood."""
    what = request.POST.get("do", "")
    if what == "feed":
        return feed_by_recipe(request, visit)
    pickup = find_pickup(visit, request.POST.get("pickup", ""))
    if what in CHANGES:
        return change(request, visit, pickup)
    reason = request.POST.get("reason", "")
    if what == "accept":
        accept_pickup(visit.group, pickup.uuid, visit.act(ACCEPT, request))
        return _("You go to %(source)s.") % {"source": pickup.source.name}
    if what in ("decline", "fail"):
        step = DECLINE if what == "decline" else FAIL
        if reason not in ("", *REASONS[step.name]):
            raise Http404
        end_pickup(visit.group, pickup.uuid, visit.act(step, request, reason=reason))
        if what == "fail":
            return _("Written down: it did not happen. The coordinator knows.")
        return _("You do not go. The coordinator knows and asks another home.")
    if what == "complete":
        weights = weights_at(pickup, request.POST.get("share", ""))
        act = visit.act(COMPLETE, request)
        done, _is_new = complete_pickup(visit.group, pickup.uuid, act, weights=weights)
        fetched_g = sum(line.delivered_g or 0 for line in done.lines.all())
        return _("Written down: %(amount)s from %(source)s.") % {
            "amount": kg(fetched_g),
            "source": pickup.source.name,
        }
    raise Http404


def find_pickup(visit: Visit, uuid: str | UUID) -> Pickup:
    """One of this digester on this day, or 404."""
    try:
        wanted = UUID(str(uuid))
    except ValueError:
        raise Http404 from None
    found = day_pickups(visit).filter(uuid=wanted).first()
    if found is None:
        raise Http404
    return found


def day_pickups(visit: Visit) -> Any:
    """Those of the page's digester and day."""
    return (
        Pickup.objects.of(visit.group)
        .filter(digester=visit.digester, on=visit.on)
        .select_related("source__place", "group", "fetcher")
        .prefetch_related("lines__stream__material")
    )


def pickup_cards(visit: Visit, pickups: Collection[Pickup]) -> list[dict[str, Any]]:
    """What one card of a pickup shows."""
    roles = frozenset(Role(each) for each in visit.doer.member_roles.values_list("role", flat=True))
    person = visit.acted_for or visit.doer
    viewer = address_viewer(visit.group, person, roles, now=visit.now)
    given = viewer
    pickups = list(pickups)
    if visit.is_helper and visit.digester is not None and abs(visit.on - visit.today) <= A_DAY:
        places = {each.source.place_id for each in pickups if each.fetcher_id == visit.doer.pk}
        if places:
            places.add(visit.digester.place_id)
        given = replace(viewer, matched_place_ids=viewer.matched_place_ids | places)
    return [
        {
            "pickup": pickup,
            "lines": list(pickup.lines.all()),
            "planned_g": sum(line.planned_g for line in pickup.lines.all()),
            "more_g": _more_g(pickup),
            "address": visible_address(pickup.source.place, given),
            "home": visible_address(visit.digester.place, given) if visit.digester else None,
            "weights": two_weights(pickup),
            "is_open": pickup.state in OPEN,
            "is_new": pickup.state == State.ANNOUNCED,
            "chips": _chips(pickup),
        }
        for pickup in pickups
    ]


def _more_g(pickup: Pickup) -> int:
    """What may be taken when there is more, where that is worth a line; else 0."""
    if pickup.state not in OPEN:
        return 0
    planned_g = sum(line.planned_g for line in pickup.lines.all())
    return pickup.most_g if pickup.most_g >= planned_g + WORTH_SAYING_G else 0


def _chips(pickup: Pickup) -> list[Chip]:
    return weight_chips(sum(line.planned_g for line in pickup.lines.all()))


def _tonight(visit: Visit, digester: Digester, seen: DigesterPicture) -> Promise | None:
    """Nothing is promised for another day, or while nothing may be lit."""
    if visit.on != visit.today or seen.not_to_light:
        return None
    return gas_tonight(digester, visit.now)


def _own_measures(visit: Visit, recipe: DailyRecipe) -> str:
    """The recipe as "1 pail, 5 jugs", waste at 1 kg/L; empty where the group has no measures."""
    measures = home_measures(visit.group)
    if measures.for_waste is None or measures.for_water is None:
        return ""
    waste_ml = sum(recipe.from_bin_g.values()) + sum(recipe.own_waste_g.values())
    counts = [
        count_nearest(waste_ml, measures.for_waste),
        count_nearest(recipe.water_ml, measures.for_water),
    ]
    said = [f"{each.count} × {say(each.measure.name)}" for each in counts if each.halves]
    return ", ".join(said)


def changes_context(visit: Visit) -> dict[str, Any]:
    """What the folded parts of an open pickup offer."""
    person = visit.acted_for or visit.doer
    return {
        "late_chips": LATE_CHIPS_MIN,
        "pictures": PICTURES,
        "neighbours": [each for each in neighbours(visit.group) if each != person],
    }


def _page(
    request: PageRequest, visit: Visit, *, problem: str = "", status: int = 200
) -> HttpResponse:
    digester = visit.digester
    assert digester is not None
    seen = digester_picture(digester, now=visit.now)
    fed = next((day for day in seen.fed if day.on == visit.on), None)
    recipe = daily_recipe(digester, visit.on)
    cards = pickup_cards(visit, day_pickups(visit))
    context = {
        "problem": problem,
        "cards": cards,
        "perhaps": stands_by(digester, visit.on),
        "to_fetch": any(card["is_open"] for card in cards),
        "recipe": recipe,
        "measures": _own_measures(visit, recipe),
        "fed_g": sum(fed.fed_g.values()) if fed else 0,
        "fed_water": litres(fed.water_ml) if fed else "",
        "seen": seen,
        "way_back": seen.board.is_stopped and recovery_guide(digester, visit.on).due is not None,
        "drum": draw_gas(digester, seen.gas),
        "tonight": _tonight(visit, digester, seen),
        "decline_reasons": reasons_of(DECLINE),
        "fail_reasons": reasons_of(FAIL),
        **(changes_context(visit) if cards else {}),
    }
    return show(request, visit, "home", context, status)
