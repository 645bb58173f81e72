"""Bring in a group's streets: take the file now, read it as a piece of work."""

from __future__ import annotations

from datetime import datetime
from hashlib import sha256

from django.db import transaction

from apps.groups.models import Group
from apps.groups.operations.ask_for_work import ask_for_work
from apps.groups.operations.save_row import save_row
from apps.kernel.errors import Refused
from apps.people.models import Member
from apps.places.core.streets.blocks import check_blocks
from apps.places.core.streets.unreadable import UnreadableExtract
from apps.places.models import ExtractState, StreetExtract


class ExtractRefused(Refused):
    """The file is no whole extract; nothing was kept of it."""

    code = "extract_refused"


@transaction.atomic
def import_streets(
    group: Group, data: bytes, *, file_name: str, now: datetime, by: Member | None = None
) -> StreetExtract:
    """Keep an .osm.pbf file to be read; what is empty, cut short, too large or something else is
    refused at once. A file that waits already is replaced. Until the new one has been read and
    found to fit, ways are measured as before."""
    try:
        check_blocks(data)
    except UnreadableExtract as error:
        raise ExtractRefused(
            error.sentence.template, field="file", figures=error.sentence.values
        ) from error
    StreetExtract.objects.of(group).exclude(state=ExtractState.IN_USE).delete()
    extract = StreetExtract(
        group=group,
        file_name=file_name[-120:] or "extract.osm.pbf",
        sha256=sha256(data).hexdigest(),
        size_bytes=len(data),
        sent_at=now,
        sent_by=by,
        raw=data,
    )
    save_row(extract)
    ask_for_work(group, "read_streets", key=str(extract.uuid), due_at=now)
    return extract
