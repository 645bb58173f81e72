"""Every error of the API as a problem document (RFC 9457), translated in this one place.

    {"type": "/api/problems#not_found", "title": "Not found", "status": 404,
     "code": "not_found", "detail": "There is no digester …", "errors": [], "figures": {}}

`detail` is for people and in their language; `code` is for machines and stable; `errors` names
the fields that were refused; `figures` carries the numbers that mattered.
"""

from __future__ import annotations

import logging
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any

from django.core.exceptions import (
    PermissionDenied,
    RequestDataTooBig,
    SuspiciousOperation,
    ValidationError,
)
from django.db import IntegrityError, OperationalError
from django.http import Http404
from django.utils.encoding import force_str
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from rest_framework import exceptions
from rest_framework.response import Response

from apps.kernel.errors import Refused
from apps.kernel.figures import FigureError
from apps.kernel.sentences import Sentence
from apps.people.access import SignInNeeded
from apps.reports.exchange.apply_import import ImportRefused
from apps.reports.exchange.problem import Problem as RowProblem

CONTENT_TYPE = "application/problem+json"
MOST_ROWS = 500
"""How many problems of a file one document lists; its figures tell how many there are."""
TYPE_ADDRESS = "/api/problems#"

logger = logging.getLogger(__name__)

TITLES = {
    "not_understood": gettext_lazy("The request was not understood"),
    "invalid": gettext_lazy("Something in the request cannot be right"),
    "sign_in_needed": gettext_lazy("Say who you are"),
    "token_refused": gettext_lazy("The token is not accepted"),
    "session_unproved": gettext_lazy("The request does not come from our pages"),
    "not_allowed": gettext_lazy("Not part of what you do here"),
    "not_found": gettext_lazy("Not found"),
    "method_not_allowed": gettext_lazy("This address does not do that"),
    "conflict": gettext_lazy("It changed meanwhile"),
    "needs_confirmation": gettext_lazy("Read the danger, then confirm"),
    "key_needed": gettext_lazy("An Idempotency-Key is needed"),
    "key_spent": gettext_lazy("The Idempotency-Key was used for something else"),
    "key_busy": gettext_lazy("The same request is still being done"),
    "stale": gettext_lazy("You have an older version"),
    "too_large": gettext_lazy("The request is too large"),
    "media_type": gettext_lazy("That kind of content is not read here"),
    "too_many": gettext_lazy("Too many requests"),
    "busy": gettext_lazy("The service is busy"),
    "fault": gettext_lazy("A fault of ours"),
}
"""Short names by code, for those that the API itself says. Others take their status' name."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One "no"."""

    code: str
    status: int
    detail: str
    errors: tuple[dict[str, str], ...] = ()
    figures: Mapping[str, object] = field(default_factory=dict)
    headers: Mapping[str, str] = field(default_factory=dict)


def answer_error(error: Exception, context: Mapping[str, Any]) -> Response:
    """What the framework calls for whatever a view raised."""
    problem = problem_of(error)
    if problem.status >= HTTPStatus.INTERNAL_SERVER_ERROR:
        logger.error("The API failed: %s", problem.code, exc_info=error)
    return answer_problem(problem)


def answer_problem(problem: Problem) -> Response:
    """The problem as a response."""
    title = TITLES.get(problem.code) or HTTPStatus(problem.status).phrase
    return Response(
        {
            "type": f"{TYPE_ADDRESS}{problem.code}",
            "title": str(title),
            "status": problem.status,
            "code": problem.code,
            "detail": problem.detail,
            "errors": list(problem.errors),
            "figures": {name: _plain(value) for name, value in problem.figures.items()},
        },
        status=problem.status,
        headers=dict(problem.headers),
        content_type=CONTENT_TYPE,
    )


def problem_of(error: Exception) -> Problem:  # noqa: PLR0911 - one line a family
    """Translate. What nobody foresaw becomes a fault of ours, told without its innards."""
    if isinstance(error, Refused):
        return _of_refused(error)
    if isinstance(error, SignInNeeded):
        return Problem(
            "sign_in_needed",
            401,
            _("Send a token as “Authorization: Bearer …”, or sign in on the pages first."),
            headers={"WWW-Authenticate": 'Bearer realm="api"'},
        )
    if isinstance(error, Http404):
        return Problem("not_found", 404, _not_found_sentence(error))
    if isinstance(error, PermissionDenied):
        return Problem("not_allowed", 403, _("You may not do this here."))
    if isinstance(error, exceptions.APIException):
        return _of_framework(error)
    if isinstance(error, ValidationError):
        return _of_fields(tuple(_model_errors(error)))
    if isinstance(error, FigureError):
        return Problem("invalid", 422, str(error))
    if isinstance(error, RequestDataTooBig):
        return Problem("too_large", 413, _("The request is larger than is read here."))
    if isinstance(error, SuspiciousOperation):
        return Problem("not_understood", 400, _("The request was not understood."))
    return _of_database(error)


def _of_refused(error: Refused) -> Problem:
    said = _sentence(error)
    if isinstance(error, ImportRefused):
        rows = tuple(_of_row(problem) for problem in error.problems[:MOST_ROWS])
        return Problem(error.code, error.status, said, errors=rows, figures=error.figures)
    named = ({"field": error.field, "detail": said, "code": error.code},) if error.field else ()
    return Problem(error.code, error.status, said, errors=named, figures=error.figures)


def _of_row(problem: RowProblem) -> dict[str, str]:
    """One thing that is wrong with a file, with its place as the field."""
    place = [problem.sheet, problem.row and str(problem.row), problem.column]
    return {
        "field": ".".join(part for part in place if part),
        "detail": problem.sentence(_),
        "code": "bad_row",
    }


def _sentence(error: Refused) -> str:
    """In the reader's language. What somebody typed may stand in it and look like a place for
    a figure; then the sentence is complete already."""
    words = force_str(_(error.template))
    if not error.figures or "%(" not in words:
        return words
    try:
        return words % {name: _said(value) for name, value in error.figures.items()}
    except (KeyError, ValueError, TypeError):
        return words


def _said(value: object) -> object:
    """A figure may itself be a sentence, or a word that has a translation."""
    if isinstance(value, Sentence):
        return _(value.template) % dict(value.values)
    return _(value) if isinstance(value, str) and value else value


def _of_framework(error: exceptions.APIException) -> Problem:
    if isinstance(error, exceptions.ValidationError):
        return _of_fields(tuple(_flat_errors(error.detail)))
    if isinstance(error, exceptions.AuthenticationFailed):
        return Problem(
            "token_refused",
            401,
            _detail(error),
            headers={"WWW-Authenticate": 'Bearer realm="api", error="invalid_token"'},
        )
    if isinstance(error, exceptions.MethodNotAllowed):
        return Problem("method_not_allowed", 405, _("This address does not do that."))
    if isinstance(error, exceptions.UnsupportedMediaType):
        return Problem(
            "media_type",
            415,
            _("Send the content as application/json (or as this operation's schema says)."),
        )
    codes = {400: "not_understood", 403: "not_allowed", 404: "not_found", 429: "too_many"}
    wait = getattr(error, "wait", None)
    return Problem(
        codes.get(error.status_code, error.default_code),
        error.status_code,
        _detail(error),
        headers={"Retry-After": str(int(wait))} if wait else {},
    )


def _of_database(error: Exception) -> Problem:
    if isinstance(error, IntegrityError):
        logger.error("A rule of the database refused what no operation foresaw.", exc_info=error)
        return Problem(
            "conflict",
            409,
            _("Somebody changed the same thing at this moment. Read it again, then try again."),
        )
    if isinstance(error, OperationalError):
        return Problem(
            "busy",
            503,
            _("The database cannot take this now. Nothing was changed. Try again soon."),
            headers={"Retry-After": "5"},
        )
    return Problem(
        "fault",
        500,
        _("Something went wrong on our side. It has been written down. Nothing was changed."),
    )


def _of_fields(errors: tuple[dict[str, str], ...]) -> Problem:
    first = errors[0] if errors else {"field": "", "detail": _("Something is wrong.")}
    where = f"{first['field']}: " if first["field"] else ""
    return Problem("invalid", 422, f"{where}{first['detail']}", errors=errors)


def _flat_errors(detail: Any, path: str = "") -> Iterator[dict[str, str]]:
    """Nested errors of a serializer as (field path, sentence) pairs."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            inside = "" if name == "non_field_errors" else str(name)
            yield from _flat_errors(inner, ".".join(part for part in (path, inside) if part))
    elif isinstance(detail, list | tuple):
        for index, inner in enumerate(detail):
            row = isinstance(inner, Mapping | list)
            yield from _flat_errors(inner, f"{path}.{index}".lstrip(".") if row else path)
    else:
        code = getattr(detail, "code", "") or "invalid"
        yield {"field": path, "detail": force_str(detail), "code": str(code)}


def _model_errors(error: ValidationError) -> Iterator[dict[str, str]]:
    fields = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
    for name, messages in fields.items():
        for message in messages:
            yield {
                "field": "" if name == "__all__" else name,
                "detail": force_str(message),
                "code": "invalid",
            }


def _detail(error: exceptions.APIException) -> str:
    return force_str(error.detail) if not isinstance(error.detail, list | dict) else str(error)


def _not_found_sentence(error: Http404) -> str:
    """Ours is a sentence; the resolver's is for programmers and lists addresses."""
    said = error.args[0] if error.args and isinstance(error.args[0], str) else ""
    return said or _("There is nothing at this address, or it is not yours to see.")


def _plain(value: object) -> object:
    """Figures as JSON values."""
    if isinstance(value, Mapping):
        return {str(name): _plain(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    if isinstance(value, Sentence):
        return _said(value)
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    return value if isinstance(value, int | float | str | bool | None) else str(value)
