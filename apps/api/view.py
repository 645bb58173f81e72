"""What every address of the API has in common: who may use it, and how it answers.

    class Digesters(ApiView):
        access = Access({"GET": MEMBER})

        @operation("list_digesters", answer=DigesterSummary, many=True)
        def get(self, request: ApiRequest, group: str) -> ...:

`request.admission` tells who came in. A test refuses a view without `access`.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any, ClassVar

from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from django.utils.cache import add_never_cache_headers
from rest_framework.exceptions import MethodNotAllowed
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from apps.groups.models import Group
from apps.people.access import OPERATOR, PUBLIC, Access, Admission, admit
from apps.people.models import ApiToken, Member


class ApiRequest(Request):
    """A request whose sender has been let in, and the instant at which it came."""

    admission: Admission
    now: datetime

    @property
    def group(self) -> Group:
        """The group of the address."""
        assert self.admission.group is not None
        return self.admission.group

    @property
    def member(self) -> Member:
        """The sender in that group."""
        assert self.admission.member is not None
        return self.admission.member


class ApiView(APIView):
    """Base of every view. Subclasses declare `access` and one method for each of its keys."""

    access: ClassVar[Access]

    def initialize_request(self, request: HttpRequest, *args: Any, **kwargs: Any) -> ApiRequest:
        """The framework's, with what it knows of the sender."""
        return ApiRequest(
            request,
            parsers=self.get_parsers(),
            authenticators=self.get_authenticators(),
            negotiator=self.get_content_negotiator(),
            parser_context=self.get_parser_context(request),
        )

    @classmethod
    def as_view(cls, **initkwargs: Any) -> Callable[..., HttpResponse]:
        """Let the resolver's reader see the declaration."""
        view = super().as_view(**initkwargs)
        view.access = cls.access  # type: ignore[attr-defined]
        return view

    @property
    def allowed_methods(self) -> list[str]:
        """For the Allow header."""
        return sorted({*self.access.methods, "OPTIONS"})

    def initial(self, request: ApiRequest, *args: Any, **kwargs: Any) -> None:
        """Let the sender in, or raise."""
        self.format_kwarg = None
        negotiated = self.perform_content_negotiation(request)
        request.accepted_renderer, request.accepted_media_type = negotiated
        method = request.method or "GET"
        if method == "OPTIONS":
            return
        audience = self.access.audience(method)
        if audience is None:
            raise MethodNotAllowed(method)
        self.perform_authentication(request)
        group_code = kwargs.get("group")
        token = request.auth
        if isinstance(token, ApiToken) and (
            audience is OPERATOR or group_code not in (None, token.group.code)
        ):
            raise Http404
        request.now = timezone.now()
        request.admission = admit(self.access, method, request.user, group_code)

    def options(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Which methods there are; always answered."""
        return Response(status=204)

    def finalize_response(
        self, request: Request, response: HttpResponseBase, *args: Any, **kwargs: Any
    ) -> HttpResponseBase:
        """Nothing that is somebody's is kept on the way."""
        final: HttpResponseBase = super().finalize_response(request, response, *args, **kwargs)
        if final.status_code == 405:
            final["Allow"] = ", ".join(self.allowed_methods)
        if self.access.audience(request.method or "GET") is not PUBLIC or final.status_code >= 400:
            add_never_cache_headers(final)
        return final


class Unknown(ApiView):
    """Whatever else lies under /api/: a problem document instead of a page."""

    access = Access(dict.fromkeys(("GET", "POST", "PUT", "PATCH", "DELETE"), PUBLIC))
    authentication_classes = ()
    schema = None

    def _answer(self, request: Request, rest: str) -> Response:
        raise Http404

    get = post = put = patch = delete = _answer
