"""A member's own page: language, calendar, tokens for scripts, who opened the address."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import override

from apps.kernel.errors import Refused
from apps.notices.addresses import calendar_address
from apps.notices.models import CalendarFeed
from apps.notices.operations.make_calendar import end_calendar, make_calendar
from apps.notices.queries.calendar import calendar_of, open_calendar
from apps.people.access import MEMBER, PUBLIC
from apps.people.models import ApiToken
from apps.people.operations.choose_language import choose_language
from apps.people.operations.make_api_token import make_api_token, revoke_api_token
from apps.planning.queries.address_openings import address_openings
from apps.web.forms.own import LanguageForm, TokenForm
from apps.web.forms.refusals import put_refusal
from apps.web.page import PageRequest, page


@page(GET=MEMBER)
def own(request: PageRequest, group: str) -> HttpResponse:
    """All of it on one page."""
    return _page(request)


@page(POST=MEMBER)
def language(request: PageRequest, group: str) -> HttpResponse:
    """For pages and messages; this phone forgets an earlier choice."""
    form = LanguageForm(request.POST)
    if not form.is_valid():
        return _page(request, language_form=form, status=422)
    choose_language(request.admission.member, form.cleaned_data["language"])
    with override(form.cleaned_data["language"]):
        messages.success(request, _("Saved."))
    response = redirect("own", group=group)
    response.delete_cookie(settings.LANGUAGE_COOKIE_NAME, samesite="Lax")
    return response


@page(POST=MEMBER)
def calendar(request: PageRequest, group: str) -> HttpResponse:
    """Make the address anew, shown once; or end it."""
    member, now = request.admission.member, datetime.now(UTC)
    if request.POST.get("do") == "end":
        end_calendar(member, now=now)
        messages.success(request, _("The calendar’s address is over."))
        return redirect("own", group=group)
    token = make_calendar(member, now=now)
    return _page(request, calendar_address=calendar_address(token))


@page(POST=MEMBER)
def make_token(request: PageRequest, group: str) -> HttpResponse:
    """The secret is shown once."""
    form = TokenForm(request.POST)
    if form.is_valid():
        try:
            _token, secret = make_api_token(
                request.admission.member, now=datetime.now(UTC), **form.cleaned_data
            )
        except Refused as error:
            put_refusal(form, error)
        else:
            return _page(request, secret=secret)
    return _page(request, token_form=form, status=422)


@page(POST=MEMBER)
def end_token(request: PageRequest, group: str, uuid: UUID) -> HttpResponse:
    """Only one's own."""
    here = request.admission
    token = get_object_or_404(ApiToken.objects.of(here.group), member=here.member, uuid=uuid)
    revoke_api_token(token, now=datetime.now(UTC))
    messages.success(request, _("The token is over."))
    return redirect("own", group=group)


@page(GET=PUBLIC)
def calendar_file(request: PageRequest, token: str) -> HttpResponse:
    """What a calendar reads again and again; it holds no private address."""
    member = open_calendar(token)
    with override(member.language):
        body = calendar_of(member, now=datetime.now(UTC))
    response = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    response["Cache-Control"] = "no-store, private"
    response["Referrer-Policy"] = "no-referrer"
    return response


def _page(request: PageRequest, *, status: int = 200, **more: Any) -> HttpResponse:
    here, now = request.admission, datetime.now(UTC)
    feeds = CalendarFeed.objects.of(here.group).filter(member=here.member, ended_at=None)
    tokens = ApiToken.objects.of(here.group).filter(
        member=here.member, revoked_at=None, expires_at__gt=now
    )
    context = {
        "language_form": LanguageForm(initial={"language": here.member.language}),
        "token_form": TokenForm(),
        "has_calendar": feeds.exists(),
        "tokens": tokens.order_by("made_at"),
        "openings": address_openings(here.member),
        **more,
    }
    return render(request, "web/own/own.html", context, status=status)
