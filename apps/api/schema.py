"""The OpenAPI description, made from the operations' own declarations."""

from __future__ import annotations

from functools import cache
from typing import Any

from django.http import HttpResponse, JsonResponse
from django.utils import translation
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, inline_serializer
from rest_framework import serializers

from apps.api.operation import Key, NoQuery, Operation
from apps.api.problem import CONTENT_TYPE
from apps.api.view import ApiRequest, ApiView
from apps.people.access import PUBLIC, Access, Anyone, Audience

PROBLEMS = {
    "400": "The request was not understood, or an Idempotency-Key is missing.",
    "401": "Nobody is known to be asking, or the token is not accepted.",
    "403": "The member lacks the role, or a session came without its CSRF token.",
    "404": "Not there, or of another group.",
    "405": "The address does not have this method.",
    "409": "It changed meanwhile, the key was used for something else, or a danger needs "
    "confirming.",
    "412": "The version named by If-Match is not the current one.",
    "413": "Too large.",
    "415": "This kind of content is not read here.",
    "422": "Understood, and refused: the fields or the figures say why.",
    "429": "Too many; the sentence says when to come back.",
    "500": "A fault of ours; nothing was changed.",
    "503": "The database is busy; try again soon.",
}


class BearerScheme(OpenApiAuthenticationExtension):
    """How a script says who it is."""

    target_class = "apps.api.authentication.BearerToken"
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        """RFC 6750."""
        return {"type": "http", "scheme": "bearer"}


class SessionScheme(OpenApiAuthenticationExtension):
    """How our own pages do."""

    target_class = "apps.api.authentication.Session"
    name = "session"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        """The session cookie; changes also need the CSRF token."""
        return {"type": "apiKey", "in": "cookie", "name": "session"}


class OperationSchema(AutoSchema):
    """Reads the `operation` of a view's method instead of guessing."""

    view: ApiView

    @property
    def _told(self) -> Operation:
        told: Operation = getattr(self.view, self.method.lower()).operation
        return told

    def get_operation_id(self) -> str:
        """verb_noun."""
        return self._told.name

    def get_summary(self) -> str:
        """One sentence."""
        return self._told.summary

    def get_description(self) -> str:
        """The rest, and for whom it is."""
        audience = self.view.access.audience(self.method)
        assert audience is not None
        return "\n\n".join(part for part in (self._told.description, _for_whom(audience)) if part)

    def get_tags(self) -> list[str]:
        """The file that the view is written in."""
        return [type(self.view).__module__.rpartition(".")[2].replace("_", " ")]

    def get_auth(self) -> list[dict[str, list[str]]]:
        """Nobody needs to be known at a public address."""
        if self.view.access.audience(self.method) is PUBLIC:
            return []
        return list(super().get_auth())

    def get_override_parameters(self) -> list[Any]:
        """Query and key."""
        told = self._told
        parameters: list[Any] = [] if told.query is NoQuery else [told.query]
        if told.key is not Key.NONE:
            parameters.append(
                OpenApiParameter(
                    "Idempotency-Key",
                    {"type": "string", "minLength": 1, "maxLength": 255, "pattern": "^[ -~]+$"},
                    OpenApiParameter.HEADER,
                    required=told.key is Key.REQUIRED,
                    description="Made up by the sender for this one request, such as a UUID.",
                )
            )
        return parameters

    def get_request_serializer(self) -> Any:
        """The body; a file under each of its content types."""
        told = self._told
        return dict.fromkeys(told.reads, OpenApiTypes.BINARY) if told.reads else told.body

    def get_response_serializers(self) -> Any:
        """The answer; lists come a page at a time."""
        told = self._told
        if told.media_types != ("application/json",):
            return {
                (told.status, kind): OpenApiTypes.OBJECT
                if kind == "application/json"
                else OpenApiTypes.BINARY
                for kind in told.media_types
            }
        if told.answer is None:
            return {told.status: OpenApiTypes.OBJECT if told.status != 204 else None}
        if not told.many:
            return {told.status: told.answer}
        page = inline_serializer(
            f"{told.answer.__name__}Page",
            {
                "count": serializers.IntegerField(),
                "page": serializers.IntegerField(),
                "pages": serializers.IntegerField(),
                "results": told.answer(many=True),
            },
        )
        return {told.status: page}


def _for_whom(audience: Audience) -> str:
    if isinstance(audience, Anyone):
        return {
            Anyone.PUBLIC: "For anybody.",
            Anyone.SIGNED_IN: "For whoever is signed in.",
            Anyone.MEMBER: "For every member of the group.",
            Anyone.OPERATOR: "For the operator of the installation.",
        }[audience]
    return f"For: {', '.join(sorted(str(role.label) for role in audience))}."


def document_problems(
    result: dict[str, Any], generator: Any, request: Any, public: bool
) -> dict[str, Any]:
    """Every operation can answer every problem; and bodies take no unknown names."""
    components = result.setdefault("components", {})
    schemas = components.setdefault("schemas", {})
    schemas["Problem"] = PROBLEM
    for name, schema in schemas.items():
        if name.endswith("Request") and schema.get("type") == "object":
            schema["additionalProperties"] = False
    components["responses"] = {
        f"Problem{status}": {
            "description": said,
            "content": {CONTENT_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
        }
        for status, said in PROBLEMS.items()
    }
    for methods in result["paths"].values():
        for told in methods.values():
            if isinstance(told, dict) and "responses" in told:
                _complete(told)
    return result


def _complete(told: dict[str, Any]) -> None:
    for status in PROBLEMS:
        problem = {"$ref": f"#/components/responses/Problem{status}"}
        told["responses"].setdefault(status, problem)
    for parameter in told.get("parameters", ()):
        schema = parameter["schema"]
        if parameter["in"] == "path" and schema == {"type": "string"}:
            schema |= {"pattern": "^[-a-zA-Z0-9_]+$", "maxLength": 60}


PROBLEM = {
    "type": "object",
    "description": "Problem details (RFC 9457).",
    "required": ["type", "title", "status", "code", "detail", "errors", "figures"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": {"type": "string"},
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "code": {"type": "string", "description": "Stable, for machines."},
        "detail": {"type": "string", "description": "What happened and what to do next."},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["field", "detail", "code"],
                "properties": {
                    "field": {"type": "string", "description": "Path in the body, with dots."},
                    "detail": {"type": "string"},
                    "code": {"type": "string"},
                },
            },
        },
        "figures": {
            "type": "object",
            "description": "The numbers that mattered.",
            "additionalProperties": True,
        },
    },
}


@cache
def schema_document() -> dict[str, Any]:
    """The whole description; it does not change while the service runs."""
    with translation.override("en"):
        document: dict[str, Any] = SchemaGenerator().get_schema(request=None, public=True)
    return document


class Schema(ApiView):
    """The description itself; not part of what it describes."""

    access = Access({"GET": PUBLIC})
    schema = None

    def get(self, request: ApiRequest) -> HttpResponse:
        """OpenAPI 3 as JSON."""
        return JsonResponse(schema_document(), content_type="application/vnd.oai.openapi+json")
