"""What somebody wrote after their link had ended: apply it in their place, or put it aside."""

from __future__ import annotations

import copy
from datetime import UTC, datetime
from typing import cast
from uuid import UUID

from django.contrib import messages
from django.contrib.messages.storage import default_storage
from django.db import transaction
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _

from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.pickups.models import LateMessage
from apps.pickups.operations.hold_late_message import settle_late_message
from apps.web.page import PageRequest, page
from apps.web.templatetags.shown import say
from apps.web.views.day.doors import do_part
from apps.web.views.day.visit import Visit

COORDINATOR = roles(Role.COORDINATOR)


class AsksBack(Exception):
    """The page of the day has a question, or a field that is wrong."""


@page(POST=COORDINATOR)
def settle(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """Applied whole or not at all; what cannot be applied stays, with the reason."""
    here, now = request.admission, datetime.now(UTC)
    what = request.POST.get("do", "")
    if what not in ("apply", "put_aside"):
        raise Http404
    is_applied = what == "apply"
    try:
        with transaction.atomic():
            message, is_new = settle_late_message(
                here.group, uuid, is_applied=is_applied, now=now, settled_by=here.member
            )
            if is_applied and is_new:
                _apply(request, message, now)
    except (Refused, AsksBack) as error:
        why = say(error) if isinstance(error, Refused) else _("The page asks something back.")
        told = _("Not applied: %(why)s Write it on the page of the day, then put this aside.")
        messages.error(request, told % {"why": why})
    else:
        told = _("Applied, with your name.") if is_applied else _("Put aside; nothing was changed.")
        messages.success(request, told)
    return redirect("today", group=group)


def _apply(request: PageRequest, message: LateMessage, now: datetime) -> None:
    """The same form on the same page, sent by the coordinator in the person's place. The state
    it was written for is over, so its revision is left out."""
    link, here = message.link, request.admission
    kind, subject = ("homes", link.digester) if link.digester else ("sources", link.source)
    assert subject is not None
    visit = Visit(
        group=here.group,
        doer=here.member,
        on=link.on,
        now=now,
        address=reverse(
            "my-day-of",
            kwargs={"group": here.group.code, "kind": kind, "code": subject.code, "on": link.on},
        ),
        digester=link.digester,
        source=link.source,
        acted_for=link.member,
        by_coordinator=True,
    )
    again = copy.copy(request)
    sent = QueryDict(mutable=True)
    for name, texts in message.words.items():
        if name != "revision":
            sent.setlist(name, texts)
    sent["client_key"] = str(message.uuid)
    again.POST = cast("QueryDict", sent)  # type: ignore[misc]
    is_form = message.part == "pickup"
    pickup = message.pickup.uuid if is_form and message.pickup else None
    again._messages = default_storage(again)  # type: ignore[attr-defined]
    with translation.override(message.language):
        answer = do_part(again, visit, "" if is_form else message.part, pickup)
    if answer.status_code != 302:
        raise AsksBack
