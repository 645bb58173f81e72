"""What goes otherwise with a pickup: later, by somebody else, not in this state, another weight."""

from __future__ import annotations

from django.db.models import Q
from django.http import Http404
from django.utils.translation import gettext as _

from apps.groups.models import Group
from apps.people.models import Member
from apps.pickups.core.life import CONTEST, FAIL, HAND_OVER, LATE, TAKE_OVER
from apps.pickups.models import ForeignKind, Pickup
from apps.pickups.operations.change_hands import hand_over_pickup, take_over_pickup
from apps.pickups.operations.contest_weight import contest_weight
from apps.pickups.operations.refuse_batch import SHOWN_KINDS, refuse_batch
from apps.pickups.operations.run_late import run_late
from apps.web.page import PageRequest
from apps.web.views.day.visit import Visit, whole_number

CHANGES = frozenset({"late", "hand_over", "take_over", "bad", "contest"})
LATE_CHIPS_MIN = (15, 30, 60, 120)
PICTURES = tuple((kind.value, kind.label) for kind in SHOWN_KINDS)


def change(request: PageRequest, visit: Visit, pickup: Pickup) -> str:
    """One tap; returns what was understood."""
    what = request.POST.get("do", "")
    group, uuid = visit.group, pickup.uuid
    if what == "late":
        minutes = whole_number(request.POST.get("minutes", "")) or 0
        done, _is_new = run_late(group, uuid, visit.act(LATE, request), minutes=minutes)
        return _("Written down: you come by %(by)s. They are told.") % {"by": done.late_clock}
    if what == "hand_over":
        to = next((each for each in neighbours(group) if each.code == request.POST.get("to")), None)
        if to is None:
            raise Http404
        hand_over_pickup(group, uuid, visit.act(HAND_OVER, request), to=to)
        return _("%(name)s is asked and gets a link.") % {"name": to.name}
    if what == "take_over":
        take_over_pickup(group, uuid, visit.act(TAKE_OVER, request))
        return _("You go. Thank you; everybody else is told.")
    if what == "bad":
        kind = request.POST.get("kind", "")
        if kind not in ForeignKind.values:
            raise Http404
        act = visit.act(FAIL, request, reason="foreign_matter")
        refuse_batch(group, uuid, act, kind=ForeignKind(kind))
        return _("Written down: you left it there. The coordinator speaks with them.")
    contest_weight(group, uuid, visit.act(CONTEST, request))
    return _("Written down: the weight is wrong. Both see it; the coordinator asks both.")


def neighbours(group: Group) -> list[Member]:
    """Who can be asked: those with a digester, and those on standby. One query."""
    return list(
        Member.objects.of(group)
        .filter(Q(digesters__isnull=False) | Q(standby__isnull=False), left_at=None)
        .distinct()
        .order_by("name", "code")
    )
