"""What every page has in common: who may come in, in which language, and how a "no" looks.

A view parses, makes one domain call and renders. Declared as

    @page(GET=MEMBER, POST=roles(Role.ASSIGNER))
    def announce(request: PageRequest, group: str) -> HttpResponse: ...

it finds who came in as `request.admission`. An operation's `Refused` that a view does not
translate itself becomes a page that says what happened and what to do next.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.cache import add_never_cache_headers

from apps.kernel.errors import NotAllowed, Refused
from apps.people.access import PUBLIC, Access, Admission, Audience, SignInNeeded, admit
from apps.people.models import User


class PageRequest(HttpRequest):
    """A request whose sender has been let in."""

    admission: Admission


def page(**methods: Audience) -> Callable[..., Callable[..., HttpResponse]]:
    """Declare and enforce who may use a view, by HTTP method."""
    access = Access(methods)

    def declare(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
        @wraps(view)
        def enter(request: PageRequest, *args: str, **kwargs: str) -> HttpResponse:
            method = request.method or "GET"
            if access.audience(method) is None:
                return HttpResponseNotAllowed(sorted(access.methods))
            user = request.user if isinstance(request.user, User) else None
            try:
                request.admission = admit(access, method, user, kwargs.get("group"))
            except SignInNeeded:
                return _to_sign_in(request)
            except NotAllowed as error:
                return refusal(request, error)
            with translation.override(_language(request)), timezone.override(_zone(request)):
                try:
                    response = view(request, *args, **kwargs)
                except Refused as error:
                    response = refusal(request, error)
            if access.audience(method) is not PUBLIC:
                add_never_cache_headers(response)
            return response

        enter.access = access  # type: ignore[attr-defined]
        return enter

    return declare


def refusal(request: HttpRequest, error: Refused) -> HttpResponse:
    """A page for a "no" that no form caught."""
    return render(
        request,
        "web/refusal.html",
        {"error": error, "sentence": error.sentence(translation.gettext)},
        status=error.status,
    )


def _to_sign_in(request: HttpRequest) -> HttpResponse:
    """Ask who it is, and come back here; only after a GET, since a POST cannot be repeated."""
    query = f"?{urlencode({'next': request.get_full_path()})}" if request.method == "GET" else ""
    return HttpResponseRedirect(reverse("sign-in") + query)


def _zone(request: PageRequest) -> str | None:
    """Instants are shown at the group's own clock; None keeps the installation's."""
    group = request.admission.group
    return group.time_zone if group is not None else None


def _language(request: PageRequest) -> str:
    """The language chosen on this phone, else the person's own, else the browser's."""
    admission = request.admission
    chosen = request.COOKIES.get("django_language")
    if chosen and translation.check_for_language(chosen):
        return chosen
    if admission.member is not None:
        return admission.member.language
    if admission.user is not None:
        return admission.user.language
    return translation.get_language_from_request(request)
