"""A page that lists the operations and the problems, for people."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path

from apps.api.problem import TITLES
from apps.api.schema import PROBLEMS, Schema, schema_document
from apps.api.view import ApiRequest, ApiView
from apps.kernel.errors import Refused
from apps.people.access import PUBLIC, Access


class Reference(ApiView):
    """All operations by subject."""

    access = Access({"GET": PUBLIC})
    authentication_classes = ()
    schema = None

    def get(self, request: ApiRequest) -> HttpResponse:
        """Plain HTML, made from the same description."""
        subjects: dict[str, list[dict[str, object]]] = {}
        for address, methods in schema_document()["paths"].items():
            for method, told in methods.items():
                subjects.setdefault(told["tags"][0], []).append(
                    {"method": method.upper(), "address": address, **told}
                )
        return render(request, "api/reference.html", {"subjects": sorted(subjects.items())})


class Problems(ApiView):
    """What the types of problem documents point at."""

    access = Access({"GET": PUBLIC})
    authentication_classes = ()
    schema = None

    def get(self, request: ApiRequest) -> HttpResponse:
        """One paragraph a code."""
        return render(
            request,
            "api/problems.html",
            {"titles": sorted(_titles().items()), "statuses": sorted(PROBLEMS.items())},
        )


def _titles() -> dict[str, str]:
    """By code: the API's own problems, and what each refusal of an operation is for."""
    titles = {}
    families: list[type[Refused]] = [Refused]
    while families:
        family = families.pop()
        families += family.__subclasses__()
        titles[family.code] = (family.__doc__ or "").splitlines()[0]
    return titles | {code: str(title) for code, title in TITLES.items()}


addresses = [
    path("", Reference.as_view(), name="api-reference"),
    path("problems", Problems.as_view(), name="api-problems"),
    path("v1/schema", Schema.as_view(), name="api-schema"),
]
