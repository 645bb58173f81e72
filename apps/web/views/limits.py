"""A digester's own limits: tighter at once, looser when a second person confirms."""

from __future__ import annotations

from datetime import UTC, datetime
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from apps.digesters.models import Digester, LimitChange
from apps.digesters.operations.change_limit import (
    confirm_loosening,
    loosen_limit,
    tighten_limit,
    withdraw_loosening,
)
from apps.digesters.queries.own_limits import own_limits
from apps.groups.models import Group
from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.web.forms.limits import LimitForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest, page
from apps.web.today import today_of

KEEPERS = roles(Role.COORDINATOR, Role.GROUP_ADMIN)


@page(GET=KEEPERS, POST=KEEPERS)
def limits(request: PageRequest, group: str, code: str) -> HttpResponse:
    """What counts now and what waits; a POST tightens, or asks to loosen, by its button."""
    here = request.admission
    digester = get_object_or_404(Digester.objects.of(here.group).select_related("group"), code=code)
    own = own_limits(digester, today_of(here.group))
    form = LimitForm(request.POST if request.method == "POST" else None, limits=own.limits)
    if request.method == "POST" and form.is_valid():
        limit_id, value, reason = form.asked()
        loosens = request.POST.get("do") == "loosen"
        change = loosen_limit if loosens else tighten_limit
        try:
            change(
                digester, limit_id, value, reason=reason, asked_by=here.member,
                now=datetime.now(UTC),
            )  # fmt: skip
        except Refused as error:
            put_refusal(form, error)
        else:
            messages.success(request, _waits() if loosens else _("Saved. It counts from now on."))
            return redirect("limits", group=group, code=code)
    return render(
        request,
        "web/limits.html",
        {"form": form, "digester": digester, "own": own, "me": here.member},
        status=422 if form.errors else 200,
    )


@page(POST=KEEPERS)
def confirm(request: PageRequest, group: str, code: str, uuid: UUID) -> HttpResponse:
    """The second person."""
    here = request.admission
    change = _change(here.group, code, uuid)
    confirm_loosening(change, confirmed_by=here.member, now=datetime.now(UTC))
    messages.success(request, _("Confirmed. The looser value counts from now on."))
    return redirect("limits", group=group, code=code)


@page(POST=KEEPERS)
def withdraw(request: PageRequest, group: str, code: str, uuid: UUID) -> HttpResponse:
    """Nobody need confirm it any more."""
    here = request.admission
    change = _change(here.group, code, uuid)
    withdraw_loosening(change, withdrawn_by=here.member, now=datetime.now(UTC))
    messages.success(request, _("Withdrawn. The limits stay as they are."))
    return redirect("limits", group=group, code=code)


def _change(group: Group, code: str, uuid: UUID) -> LimitChange:
    found: LimitChange = get_object_or_404(
        LimitChange.objects.of(group).select_related("group", "digester", "asked_by"),
        digester__code=code,
        uuid=uuid,
    )
    return found


def _waits() -> str:
    return _("Asked. Nothing changes until a second person confirms it here.")
