"""One assignment, or one batch left over: why it is so, and what a change would do.

Trying a change is a GET: it writes nothing. Asking for it is a POST: it becomes a pin or a ban,
and the next plan is made around it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from apps.digesters.models import Digester
from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.planning.models import Assignment, Ban, LeftOver, Pin, Plan, PlanStatus
from apps.planning.operations.ban_pair import ban_pair, lift_ban
from apps.planning.operations.change_assignment import change_assignment, drop_assignment
from apps.planning.operations.pin_batch import pin_batch, unpin_batch
from apps.planning.queries.explain import PlanExplainer, Why
from apps.planning.queries.preview_change import Asked, Preview, preview_change
from apps.web.change_pictures import home_bars
from apps.web.forms.changes import DROP, KEEP, MOVE, NEVER, ChangeForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest, page

READERS = roles(Role.ASSIGNER, Role.COORDINATOR)
ASSIGNER = roles(Role.ASSIGNER)


@dataclass(frozen=True, slots=True)
class Subject:
    """The batch that the page is about; `digester`, `on` are None while it is left over."""

    plan: Plan
    stream: Any
    batch_on: date
    amount_g: int
    digester: Digester | None = None
    on: date | None = None


@page(GET=READERS, POST=ASSIGNER)
def assignment(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """Why here; keep it, move it, or rule the two out for each other."""
    here = request.admission
    found: Assignment = get_object_or_404(
        Assignment.objects.of(here.group).select_related(
            "plan__group", "source", "digester", "stream__material", "stream__source", "group"
        ),
        uuid=uuid,
    )
    subject = Subject(
        found.plan, found.stream, found.batch_on, found.amount_g, found.digester, found.on
    )

    def ask(form: ChangeForm) -> None:
        now, chosen = datetime.now(UTC), form.cleaned_data
        if chosen["what"] == DROP:
            drop_assignment(found, now=now, asked_by=here.member)
        elif chosen["what"] == NEVER:
            ban_pair(
                here.group,
                source=found.source,
                digester=found.digester,
                now=now,
                asked_by=here.member,
            )
        else:
            change_assignment(
                found,
                now=now,
                digester=_digester(request, chosen["digester"]),
                on=chosen["on"],
                amount_g=chosen["amount_g"],
                asked_by=here.member,
            )

    def explain() -> Why:
        return PlanExplainer(found.plan).why_assignment(found)

    return _change_page(request, subject, explain, ask, {"assignment": found})


@page(GET=READERS, POST=ASSIGNER)
def left_over(request: PageRequest, group: str, version: int, uuid: UUID) -> HttpResponse:
    """Why nobody takes it; give it to a home by hand."""
    here = request.admission
    found: LeftOver = get_object_or_404(
        LeftOver.objects.of(here.group).select_related(
            "plan__group", "stream__material", "stream__source", "destination"
        ),
        uuid=uuid,
        plan__version=version,
    )
    subject = Subject(found.plan, found.stream, found.batch_on, found.amount_g)

    def ask(form: ChangeForm) -> None:
        chosen = form.cleaned_data
        pin_batch(
            here.group,
            stream=found.stream,
            batch_on=found.batch_on,
            digester=_digester(request, chosen["digester"]),
            on=chosen["on"],
            now=datetime.now(UTC),
            amount_g=chosen["amount_g"],
            asked_by=here.member,
        )

    def explain() -> Why:
        return PlanExplainer(found.plan).why_left_over(found.stream.code, found.batch_on)

    return _change_page(request, subject, explain, ask, {"left": found})


@page(POST=ASSIGNER)
def lift_one_pin(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """Leave the batch to the plan again."""
    here = request.admission
    pin = get_object_or_404(
        Pin.objects.of(here.group).select_related("stream", "digester", "group"), uuid=uuid
    )
    unpin_batch(pin, now=datetime.now(UTC), asked_by=here.member)
    messages.success(request, _("The pin is out. Make a new draft to see what changes."))
    return redirect("week", group=group)


@page(POST=ASSIGNER)
def lift_one_ban(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """Allow the two again."""
    here = request.admission
    ban = get_object_or_404(
        Ban.objects.of(here.group).select_related("source", "digester", "group"), uuid=uuid
    )
    lift_ban(ban, now=datetime.now(UTC), asked_by=here.member)
    messages.success(request, _("Allowed again. Make a new draft to see what changes."))
    return redirect("week", group=group)


def _change_page(
    request: PageRequest,
    subject: Subject,
    explain: Callable[[], Why],
    ask: Callable[[ChangeForm], None],
    more: dict[str, Any],
) -> HttpResponse:
    here = request.admission
    tried = request.POST if request.method == "POST" else request.GET
    form = ChangeForm(
        tried if "what" in tried else None,
        plan=subject.plan,
        initial={
            "what": MOVE,
            "digester": subject.digester.code if subject.digester else None,
            "on": subject.on.isoformat() if subject.on else None,
            "amount_g": subject.amount_g,
        },
    )
    preview = None
    if form.is_bound and form.is_valid():
        try:
            if request.method == "POST":
                ask(form)
                messages.success(
                    request, _("Kept. Now make the best plan around it, and announce that.")
                )
                return redirect("week", group=here.group.code)
            preview = _preview(subject, form, better="better" in request.GET)
        except Refused as error:
            put_refusal(form, error)
    may_change = Role.ASSIGNER in here.roles and subject.plan.status != PlanStatus.SUPERSEDED
    return render(
        request,
        "web/assignment.html",
        {
            "subject": subject,
            "why": explain(),
            "names": {row["code"]: row["name"] for row in subject.plan.document["digesters"]},
            "form": form,
            "preview": preview,
            "bars": home_bars(preview, subject.plan) if preview else (),
            "left_before_g": _left_g(preview, "left_over_before"),
            "left_after_g": _left_g(preview, "left_over_after"),
            "may_change": may_change,
            **more,
        },
        status=422 if form.errors else 200,
    )


def _preview(subject: Subject, form: ChangeForm, *, better: bool) -> Preview:
    chosen = form.cleaned_data
    stream, digester = subject.stream, subject.digester
    if digester is not None and chosen["what"] in (DROP, NEVER):
        on = subject.on if chosen["what"] == DROP else None
        ban = (stream.source.code, digester.code, on)
        return preview_change(subject.plan, Asked(bans=(ban,)), better=better)
    pin = (
        stream.code,
        subject.batch_on,
        chosen["digester"],
        chosen["on"],
        subject.amount_g if chosen["what"] == KEEP else chosen["amount_g"],
    )
    lifted = (
        ((stream.code, subject.batch_on, digester.code, subject.on),)
        if digester is not None and subject.on is not None
        else ()
    )
    return preview_change(subject.plan, Asked(pins=(pin,), lifted_pins=lifted), better=better)


def _digester(request: PageRequest, code: str) -> Digester:
    found: Digester = get_object_or_404(Digester.objects.of(request.admission.group), code=code)
    return found


def _left_g(preview: Preview | None, part: str) -> int:
    if preview is None:
        return 0
    return sum(each.amount_g for each in getattr(preview.consequences, part))
