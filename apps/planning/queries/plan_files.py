"""A plan as files: JSON, a zip of CSV tables, a workbook."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Callable, Mapping
from typing import Any

from openpyxl import Workbook

from apps.planning.core.tables import plan_tables
from apps.planning.models import Plan

ZIP_DATE = (1980, 1, 1, 0, 0, 0)
"""The earliest a zip can hold, so that the same plan is the same file, byte for byte."""


def plan_json(plan: Plan) -> bytes:
    """The whole document."""
    return (json.dumps(plan.document, ensure_ascii=False, indent=1) + "\n").encode()


def plan_csv_zip(plan: Plan) -> bytes:
    """One CSV (RFC 4180, UTF-8) a table."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in plan_csv_files(plan).items():
            entry = zipfile.ZipInfo(name, ZIP_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, text)
    return buffer.getvalue()


def plan_csv_files(plan: Plan) -> dict[str, str]:
    """File name to text."""
    files = {}
    for name, rows in plan_tables(plan.document).items():
        text = io.StringIO()
        csv.writer(text).writerows([_plain(cell) for cell in row] for row in rows)
        files[name] = text.getvalue()
    return files


def plan_xlsx(plan: Plan) -> bytes:
    """One sheet a table. Text stays text: a cell that looks like a formula is not one."""
    book = Workbook(write_only=True)
    for name, rows in plan_tables(plan.document).items():
        sheet = book.create_sheet(name.removesuffix(".csv"))
        for row in rows:
            sheet.append([_plain(cell) for cell in row])
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _plain(cell: Any) -> Any:
    """A cell that spreadsheets would take for a formula gets an apostrophe in front."""
    if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return cell if _is_number(cell) else "'" + cell
    return cell


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


PLAN_FILES: Mapping[str, tuple[str, Callable[[Plan], bytes]]] = {
    "json": ("application/json", plan_json),
    "csv": ("application/zip", plan_csv_zip),
    "xlsx": (
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        plan_xlsx,
    ),
}
"""By format: media type, and what writes it."""


def file_name(plan: Plan, form: str) -> str:
    """What a download is called."""
    ending = "zip" if form == "csv" else form
    return f"plan-{plan.group.code}-{plan.starts_on.isoformat()}-v{plan.version}.{ending}"
