"""Bringing lists in, after a preview, and taking them out in the same form."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext
from django.utils.translation import gettext as _

from apps.kernel.errors import Refused
from apps.people.access import roles
from apps.people.models import Role
from apps.reports.exchange.apply_import import ImportRefused, apply_import
from apps.reports.exchange.export_sheet import FORMATS, blank_template, export_sheet
from apps.reports.exchange.preview_import import WORKBOOK, SheetChanges, preview_import
from apps.reports.exchange.sheets import SHEETS
from apps.web.forms.refusals import put_refusal
from apps.web.forms.sheets import UploadForm
from apps.web.kept_upload import KeptUpload, drop_upload, keep_upload, kept_upload
from apps.web.page import PageRequest, page
from apps.web.today import today_of

ADMIN = roles(Role.GROUP_ADMIN)
ROWS_SHOWN, PROBLEMS_SHOWN = 10, 200
MEDIA_TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@page(GET=ADMIN)
def sheets(request: PageRequest, group: str) -> HttpResponse:
    """All sheets, in the order in which a new group fills them."""
    return render(
        request,
        "web/sheets.html",
        {"sheets": SHEETS.values(), "formats": FORMATS, "workbook": WORKBOOK},
    )


@page(GET=ADMIN, POST=ADMIN)
def bring_in(request: PageRequest, group: str, sheet: str) -> HttpResponse:
    """Choose a file; it is read and shown before anything is written."""
    _check(sheet)
    form = UploadForm(
        request.POST if request.method == "POST" else None,
        request.FILES if request.method == "POST" else None,
    )
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        upload = KeptUpload(group, sheet, file.name, form.cleaned_data["decimal_mark"], file.read())
        try:
            _preview(request, upload)
        except Refused as error:
            put_refusal(form, error, under="file")
        else:
            keep_upload(request, upload)
            return redirect("preview-sheet", group=group, sheet=sheet)
    return render(
        request,
        "web/bring_in.html",
        {"form": form, "sheet": SHEETS.get(sheet), "name": sheet, "formats": FORMATS},
        status=422 if form.errors else 200,
    )


@page(GET=ADMIN, POST=ADMIN)
def preview(request: PageRequest, group: str, sheet: str) -> HttpResponse:
    """What the kept file would change and what is wrong with it; POST imports it whole."""
    _check(sheet)
    upload = kept_upload(request, group, sheet)
    if upload is None:
        messages.info(request, _("The file is no longer here. Choose it once more."))
        return redirect("bring-in", group=group, sheet=sheet)
    here = request.admission
    if request.method == "POST":
        try:
            done = apply_import(
                here.group,
                sheet,
                upload.data,
                now=datetime.now(UTC),
                by=here.member,
                decimal_mark=upload.decimal_mark,
            )
        except ImportRefused:
            # Something changed since the preview: show what is wrong now.
            pass
        else:
            drop_upload(request)
            messages.success(
                request,
                _("Imported: %(added)s new, %(changed)s changed, %(same)s as they were.")
                % {"added": done.added, "changed": done.changed, "same": done.same},
            )
            return redirect("sheets", group=group)
    found = _preview(request, upload)
    return render(
        request,
        "web/preview.html",
        {
            "upload": upload,
            "name": sheet,
            "preview": found,
            "problems": found.problems[:PROBLEMS_SHOWN],
            "more_problems": max(0, len(found.problems) - PROBLEMS_SHOWN),
            "tables": [_rows(changes) for changes in found.changes],
            "touched": found.count("new") + found.count("changed"),
        },
        status=422 if found.problems else 200,
    )


@page(GET=ADMIN)
def take_out(request: PageRequest, group: str, sheet: str, form: str) -> HttpResponse:
    """What there is, in the form in which it can be brought in again."""
    _check(sheet, form)
    here = request.admission.group
    name = f"{here.code}-{sheet}-{today_of(here)}.{form}"
    return _file(export_sheet(here, sheet, form), name, form)


@page(GET=ADMIN)
def template(request: PageRequest, group: str, sheet: str, form: str) -> HttpResponse:
    """A blank sheet with a row of help, which an import skips."""
    _check(sheet, form)
    return _file(blank_template(sheet, form, gettext), f"{sheet}-template.{form}", form)


def _check(sheet: str, form: str = "xlsx") -> None:
    if sheet == WORKBOOK and form == "xlsx":
        return
    if sheet not in SHEETS or form not in FORMATS:
        raise Http404


def _preview(request: PageRequest, upload: KeptUpload) -> Any:
    return preview_import(
        request.admission.group,
        upload.sheet,
        upload.data,
        now=datetime.now(UTC),
        decimal_mark=upload.decimal_mark,
    )


def _rows(changes: SheetChanges) -> dict[str, Any]:
    """The first rows as they were understood, so that a misread number is seen in time."""
    shown = [
        (
            row.number,
            kind,
            [column.show(row.values[column.name]) for column in changes.sheet.columns],
        )
        for kind, rows in (("new", changes.new), ("changed", changes.changed))
        for row in rows[:ROWS_SHOWN]
    ]
    return {"changes": changes, "rows": shown}


def _file(data: bytes, name: str, form: str) -> HttpResponse:
    response = HttpResponse(data, content_type=MEDIA_TYPES[form])
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
