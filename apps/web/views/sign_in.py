"""Signing in by a mailed link. Opening the link shows a button; the button signs in."""

from __future__ import annotations

from datetime import UTC, datetime

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login, logout
from django.core.mail import send_mail
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import translation
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

from apps.kernel.errors import Refused
from apps.people.access import PUBLIC, SIGNED_IN
from apps.people.models import Member, Role, User
from apps.people.operations.accept_invitation import accept_invitation, find_invitation
from apps.people.operations.ask_for_sign_in import ask_for_sign_in
from apps.people.operations.use_sign_in_link import use_sign_in_link
from apps.web.forms.people import SignInForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest, page

BACKEND = "django.contrib.auth.backends.ModelBackend"
OWN_DAYS = frozenset({Role.HOUSEHOLDER, Role.SOURCE_CONTACT})
NEXT = "after_sign_in"
"""Session key of the page somebody wanted before they were asked who they are."""


@page(GET=PUBLIC, POST=PUBLIC)
def ask(request: PageRequest) -> HttpResponse:
    """Ask for an address, mail a link to it, and say the same whoever it belongs to."""
    form = SignInForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            found = ask_for_sign_in(form.cleaned_data["email"], now=datetime.now(UTC))
        except Refused as error:
            put_refusal(form, error)
        else:
            if found is not None:
                _mail(*found)
            return redirect("sign-in-sent")
    wanted = request.GET.get("next", "")
    if _is_ours(request, wanted):
        request.session[NEXT] = wanted
    status = 422 if form.errors else 200
    return render(request, "web/sign_in.html", {"form": form}, status=status)


@page(GET=PUBLIC)
def sent(request: PageRequest) -> HttpResponse:
    """Where the link went and what to do when it does not come."""
    return render(request, "web/sign_in_sent.html")


@page(GET=PUBLIC, POST=PUBLIC)
def use_link(request: PageRequest, token: str) -> HttpResponse:
    """GET shows a button and changes nothing, for mail scanners open links too."""
    if request.method != "POST":
        return _private(render(request, "web/sign_in_link.html"))
    user = use_sign_in_link(token, now=datetime.now(UTC))
    wanted = str(request.session.get(NEXT, ""))
    login(request, user, backend=BACKEND)
    return redirect(wanted if _is_ours(request, wanted) else _first_page(user))


@page(GET=PUBLIC, POST=PUBLIC)
def use_invitation(request: PageRequest, token: str) -> HttpResponse:
    """GET says who invites whom to what; POST joins and signs in."""
    now = datetime.now(UTC)
    if request.method != "POST":
        invitation = find_invitation(token, now=now)
        return _private(render(request, "web/invitation.html", {"invitation": invitation}))
    group_code = find_invitation(token, now=now).group.code
    login(request, accept_invitation(token, now=now), backend=BACKEND)
    return redirect("group-home", group=group_code)


@page(POST=SIGNED_IN)
def sign_out(request: PageRequest) -> HttpResponse:
    """End the session."""
    logout(request)
    messages.success(request, _("You are signed out."))
    return redirect("front")


@page(POST=PUBLIC)
def choose_language(request: PageRequest) -> HttpResponse:
    """Remember the language on this phone; it needs no account."""
    wanted = request.POST.get("next", "")
    response = HttpResponseRedirect(wanted if _is_ours(request, wanted) else reverse("front"))
    language = request.POST.get("language", "")
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


def _mail(user: User, token: str) -> None:
    with translation.override(user.language):
        link = settings.SITE_ADDRESS + reverse("sign-in-link", kwargs={"token": token})
        send_mail(
            _("Your link to sign in"),
            render_to_string("web/mail/sign_in.txt", {"user": user, "link": link}),
            None,
            [user.email],
        )


def _first_page(user: User) -> str:
    """The only group's page; for whoever only brings or gives, their own days at once."""
    members = list(Member.unscoped.filter(user=user, left_at=None).select_related("group")[:2])
    if len(members) != 1:
        return reverse("front")
    member = members[0]
    held = set(member.member_roles.values_list("role", flat=True))
    name = "my-week" if held and held <= {*OWN_DAYS} else "group-home"
    return reverse(name, kwargs={"group": member.group.code})


def _private(response: HttpResponse) -> HttpResponse:
    """A secret stands in the address: it is not kept, and no request made from the page tells it.
    (Under "no-referrer" the browser would not say where the button's POST comes from, and it
    would be refused as forged.)"""
    response["Cache-Control"] = "no-store, private"
    response["Referrer-Policy"] = "strict-origin"
    return response


def _is_ours(request: HttpRequest, address: str) -> bool:
    return bool(address) and url_has_allowed_host_and_scheme(
        address, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
