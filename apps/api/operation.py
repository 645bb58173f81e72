"""One operation of the API: what it reads, what it answers, and how it is described.

The decorated method gets what was understood as `query` and `body` and returns a model, a
query set, plain values or a ready `HttpResponse` (a file). It makes one domain call.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import Enum
from functools import wraps
from typing import Any

from django.db import transaction
from django.http import Http404, HttpResponse
from django.utils import timezone
from rest_framework import serializers
from rest_framework.response import Response

from apps.api.once import Answer, answer_once, answer_once_slowly, check_key, content_hash
from apps.api.paging import Paging, page_of
from apps.api.serializers import Strict, read
from apps.api.stale import NoVersions, check_tag, entity_tag
from apps.api.view import ApiRequest, ApiView
from apps.groups.models import Group


class Key(Enum):
    """Whether an operation takes an Idempotency-Key."""

    NONE = "none"
    OPTIONAL = "optional"
    REQUIRED = "required"


class NoQuery(Strict):
    """An operation whose address takes no question."""


@dataclass(frozen=True, slots=True)
class Operation:
    """The declaration; the schema is made from it."""

    name: str
    summary: str
    body: type[serializers.Serializer[Any]] | None
    reads: tuple[str, ...]
    query: type[Strict]
    answer: type[serializers.Serializer[Any]] | None
    many: bool
    status: int
    key: Key
    slow: bool
    media_types: tuple[str, ...]
    description: str


Method = Callable[..., Any]


def operation(
    name: str,
    summary: str,
    *,
    body: type[serializers.Serializer[Any]] | None = None,
    reads: Iterable[str] = (),
    query: type[Strict] = NoQuery,
    answer: type[serializers.Serializer[Any]] | None = None,
    many: bool = False,
    status: int = 200,
    key: Key = Key.NONE,
    slow: bool = False,
    media_types: Iterable[str] = ("application/json",),
    description: str = "",
) -> Callable[[Method], Method]:
    """Declare a view's method. `many` pages what it returns; `slow` keeps it out of one long
    transaction; `reads` are content types of a file that it gets whole as `body`; `media_types`
    other than JSON are files that it returns itself."""
    if many and not issubclass(query, Paging):
        query = Paging if query is NoQuery else type(query.__name__, (query, Paging), {})
    told = Operation(
        name=name,
        summary=summary,
        body=body,
        reads=tuple(reads),
        query=query,
        answer=answer,
        many=many,
        status=status,
        key=key,
        slow=slow,
        media_types=tuple(media_types),
        description=description,
    )

    def declare(method: Method) -> Method:
        @wraps(method)
        def handle(self: ApiView, request: ApiRequest, **address: Any) -> HttpResponse:
            admission = request.admission
            asked = read(query, request.query_params.dict(), admission, from_address=True)
            if body is not None:
                address["body"] = read(body, request.data, admission)
            elif told.reads:
                address["body"] = request.data or b""
            if query not in (NoQuery, Paging):
                address["query"] = asked
            if key is not Key.NONE:
                return _once(told, self, request, lambda: method(self, request, **address), asked)
            if "If-Match" in request.headers and request.method in ("PUT", "PATCH", "DELETE"):
                with transaction.atomic():
                    _check_version(self, request, address)
                    return _answer(told, self, method(self, request, **address), asked)
            return _answer(told, self, method(self, request, **address), asked)

        handle.operation = told  # type: ignore[attr-defined]
        return handle

    return declare


def _answer(told: Operation, view: ApiView, made: Any, asked: dict[str, Any]) -> HttpResponse:
    if isinstance(made, HttpResponse):
        return made
    data = _represent(told, made, asked, view)
    response = _respond(Answer(told.status, data))
    if view.request.method == "GET" and told.answer is not None and not told.many:
        response["ETag"] = entity_tag(data)
    return response


def _check_version(view: ApiView, request: ApiRequest, address: dict[str, Any]) -> None:
    """Compare with what GET would answer now. Edits with If-Match wait for each other."""
    read_one = getattr(view, "get", None)
    if read_one is None:
        raise NoVersions
    told: Operation = read_one.operation
    Group.objects.select_for_update(no_key=True).get(pk=request.group.pk)
    asked = {name: value for name, value in address.items() if name not in ("body", "query")}
    try:
        current = _represent(told, read_one.__wrapped__(view, request, **asked), {}, view)
    except Http404:
        current = None
    check_tag(request.headers["If-Match"], current)


def _once(
    told: Operation, view: ApiView, request: ApiRequest, run: Callable[[], Any], asked: Any
) -> HttpResponse:
    def act() -> Answer:
        return Answer(told.status, _represent(told, run(), asked, view))

    key = check_key(request.headers.get("Idempotency-Key"), required=told.key is Key.REQUIRED)
    # Nothing is remembered of somebody unknown; there the operation itself knows its client key.
    if key is None or request.admission.member is None:
        if told.slow:
            return _respond(act())
        with transaction.atomic():
            return _respond(act())
    answer = (answer_once_slowly if told.slow else answer_once)(
        request.admission,
        key,
        f"{request.method} {request.get_full_path()}",
        content_hash(request.data if told.body or told.reads else None),
        act,
        now=timezone.now(),
    )
    return _respond(answer)


def _represent(told: Operation, made: Any, asked: dict[str, Any], view: ApiView) -> Any:
    if told.answer is None:
        return made
    context = {"request": view.request, "admission": view.request.admission, "view": view}
    if not told.many:
        return told.answer(made, context=context).data
    rows, figures = page_of(made, asked)
    return {**figures, "results": told.answer(rows, many=True, context=context).data}


def _respond(answer: Answer) -> Response:
    headers = {"Idempotency-Replayed": "true"} if answer.repeated else None
    return Response(answer.data, status=answer.status, headers=headers)
