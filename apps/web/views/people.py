"""Who is in the group and what they do."""

from __future__ import annotations

from datetime import UTC, datetime

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.core.exceptions import ValidationError
from django.core.mail import send_mail
from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _

from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Invitation, Member, MemberRole, Role
from apps.people.operations.change_roles import change_roles
from apps.people.operations.end_membership import end_membership
from apps.people.operations.invite_person import invite_person
from apps.web.forms.people import InviteForm, RolesForm
from apps.web.forms.refusals import put_invalid, put_refusal
from apps.web.page import PageRequest, page

ROWS_A_PAGE = 50
ADMIN = roles(Role.GROUP_ADMIN)


@page(GET=roles(Role.GROUP_ADMIN, Role.COORDINATOR))
def people(request: PageRequest, group: str) -> HttpResponse:
    """Everybody, with roles; no addresses and no phone numbers in a list."""
    members = (
        Member.objects.of(request.admission.group)
        .filter(left_at=None)
        .prefetch_related(Prefetch("member_roles", MemberRole.unscoped.order_by("role")))
        .order_by("name", "code")
    )
    shown = Paginator(members, ROWS_A_PAGE).get_page(request.GET.get("page"))
    return render(
        request,
        "web/people.html",
        {"page": shown, "may_change": Role.GROUP_ADMIN in request.admission.roles},
    )


@page(GET=ADMIN, POST=ADMIN)
def invite(request: PageRequest, group: str) -> HttpResponse:
    """Offer somebody roles; the link goes to their address."""
    here = request.admission
    form = InviteForm(
        request.POST if request.method == "POST" else None,
        initial={"language": here.group.language},
    )
    if request.method == "POST" and form.is_valid():
        try:
            invitation, token = invite_person(
                here.member, **form.cleaned_data, now=datetime.now(UTC)
            )
        except Refused as error:
            put_refusal(form, error)
        except ValidationError as error:
            put_invalid(form, error)
        else:
            _mail(invitation, token)
            messages.success(
                request,
                _("An invitation is on its way to %(name)s.") % {"name": invitation.member.name},
            )
            return redirect("people", group=group)
    status = 422 if form.errors else 200
    return render(request, "web/invite.html", {"form": form}, status=status)


@page(GET=ADMIN, POST=ADMIN)
def person(request: PageRequest, group: str, code: str) -> HttpResponse:
    """One member: roles, and leaving."""
    here = request.admission
    member = get_object_or_404(Member.objects.of(here.group), code=code, left_at=None)
    held = list(member.member_roles.order_by("role").values_list("role", flat=True))
    form = RolesForm(request.POST if request.method == "POST" else None, initial={"roles": held})
    if request.method == "POST" and form.is_valid():
        try:
            change_roles(
                member,
                [Role(name) for name in form.cleaned_data["roles"]],
                by=here.member,
                now=datetime.now(UTC),
            )
        except Refused as error:
            put_refusal(form, error)
        else:
            if member.pk == here.member.pk and member.user is not None:
                # Who changes what they do themselves stays signed in, here and nowhere else.
                update_session_auth_hash(request, member.user)
            messages.success(request, _("Saved what %(name)s does.") % {"name": member.name})
            return redirect("people", group=group)
    status = 422 if form.errors else 200
    return render(request, "web/person.html", {"form": form, "member": member}, status=status)


@page(GET=ADMIN, POST=ADMIN)
def leave(request: PageRequest, group: str, code: str) -> HttpResponse:
    """Ask once more, then end the membership."""
    here = request.admission
    member = get_object_or_404(Member.objects.of(here.group), code=code, left_at=None)
    if request.method != "POST":
        return render(request, "web/person_leaves.html", {"member": member})
    end_membership(member, by=here.member, now=datetime.now(UTC))
    messages.success(request, _("%(name)s is no longer in the group.") % {"name": member.name})
    return redirect("people", group=group)


def _mail(invitation: Invitation, token: str) -> None:
    with translation.override(invitation.member.language):
        link = settings.SITE_ADDRESS + reverse("invitation", kwargs={"token": token})
        send_mail(
            _("You are invited to %(group)s") % {"group": invitation.group.name},
            render_to_string("web/mail/invitation.txt", {"invitation": invitation, "link": link}),
            None,
            [invitation.email],
        )
