"""Imports and exports: the same sheets in both directions, and blank ones to start from."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.urls import path
from django.utils.translation import gettext as _
from rest_framework import serializers

from apps.api.audiences import ADMINISTRATORS
from apps.api.files import CSV, FILE_PARSERS, XLSX
from apps.api.operation import Key, operation
from apps.api.resources.plans import as_file
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.people.access import Access
from apps.reports.exchange.apply_import import apply_import
from apps.reports.exchange.export_sheet import FORMATS, blank_template, export_sheet
from apps.reports.exchange.preview_import import WORKBOOK, preview_import
from apps.reports.exchange.problem import Problem

MEDIA_TYPES = {"csv": CSV, "xlsx": XLSX}


class MarkQuery(Strict):
    """How the file writes decimals."""

    decimal_mark = serializers.ChoiceField(choices=[".", ","], default=".")


class FormQuery(Strict):
    """In which form; a whole workbook is always XLSX."""

    form = serializers.ChoiceField(choices=FORMATS, default="csv")


class ProblemRow(serializers.Serializer[Problem]):
    """What is wrong where; `row` counts as the spreadsheet does, null: the whole sheet."""

    sheet = serializers.CharField()
    row = serializers.IntegerField(allow_null=True)
    column = serializers.CharField(allow_null=True)
    detail = serializers.SerializerMethodField()

    def get_detail(self, problem: Problem) -> str:
        """In the reader's language."""
        return problem.sentence(_)


class SheetChangesAnswer(serializers.Serializer[Any]):
    """How many rows of one sheet are new, differ, or are the same."""

    sheet = serializers.CharField(source="sheet.name")
    new = serializers.SerializerMethodField()
    changed = serializers.SerializerMethodField()
    same = serializers.SerializerMethodField()

    def get_new(self, changes: Any) -> int:
        """Not there yet."""
        return len(changes.new)

    def get_changed(self, changes: Any) -> int:
        """There, but different."""
        return len(changes.changed)

    def get_same(self, changes: Any) -> int:
        """As they are."""
        return len(changes.same)


class ImportPreview(serializers.Serializer[Any]):
    """What an import would do; it may be applied when it is clean."""

    is_clean = serializers.BooleanField()
    changes = SheetChangesAnswer(many=True)
    problems = ProblemRow(many=True)


class AppliedAnswer(serializers.Serializer[Any]):
    """How many rows were added, changed, and left as they were."""

    added = serializers.IntegerField()
    changed = serializers.IntegerField()
    same = serializers.IntegerField()


class PreviewsView(ApiView):
    """Looking before importing."""

    access = Access({"POST": ADMINISTRATORS})
    parser_classes = FILE_PARSERS

    @operation(
        "preview_import",
        "What a file would change, and everything that is wrong with it",
        query=MarkQuery,
        reads=(CSV, XLSX),
        answer=ImportPreview,
        description="Nothing is written. `workbook` stands for all sheets of one XLSX.",
    )
    def post(
        self, request: ApiRequest, group: str, sheet: str, body: bytes, query: dict[str, Any]
    ) -> Any:
        """Problems come with sheet, row and column."""
        return preview_import(request.group, sheet, body, **query, now=request.now)


class ImportsView(ApiView):
    """Importing."""

    access = Access({"POST": ADMINISTRATORS})
    parser_classes = FILE_PARSERS

    @operation(
        "apply_import",
        "Import a file, all of it or nothing",
        query=MarkQuery,
        reads=(CSV, XLSX),
        answer=AppliedAnswer,
        key=Key.OPTIONAL,
        description="The same file again changes nothing.",
    )
    def post(
        self, request: ApiRequest, group: str, sheet: str, body: bytes, query: dict[str, Any]
    ) -> Any:
        """Checked again before it is written."""
        return apply_import(request.group, sheet, body, **query, now=request.now, by=request.member)


class ExportView(ApiView):
    """What the group has."""

    access = Access({"GET": ADMINISTRATORS})

    @operation(
        "export_sheet",
        "What the group has, in the form in which it can be imported",
        query=FormQuery,
        media_types=(CSV, XLSX),
    )
    def get(self, request: ApiRequest, group: str, sheet: str, query: dict[str, Any]) -> Any:
        """Rows by key."""
        form = "xlsx" if sheet == WORKBOOK else query["form"]
        return _file(export_sheet(request.group, sheet, form), f"{group}-{sheet}", form)


class TemplateView(ApiView):
    """Where to start from."""

    access = Access({"GET": ADMINISTRATORS})

    @operation(
        "show_template",
        "A blank sheet with a row of help",
        query=FormQuery,
        media_types=(CSV, XLSX),
    )
    def get(self, request: ApiRequest, group: str, sheet: str, query: dict[str, Any]) -> Any:
        """In the reader's language."""
        form = "xlsx" if sheet == WORKBOOK else query["form"]
        return _file(blank_template(sheet, form, _), f"blank-{sheet}", form)


def _file(content: bytes, name: str, form: str) -> HttpResponse:
    return as_file(content, MEDIA_TYPES[form], f"{name}.{form}")


addresses = [
    path("imports/<slug:sheet>/preview", PreviewsView.as_view(), name="api-import-preview"),
    path("imports/<slug:sheet>", ImportsView.as_view(), name="api-import"),
    path("exports/<slug:sheet>", ExportView.as_view(), name="api-export"),
    path("templates/<slug:sheet>", TemplateView.as_view(), name="api-template"),
]
