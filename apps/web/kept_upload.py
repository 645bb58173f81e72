"""An uploaded file kept between its preview and its import, for an hour.

It lies in a session row of its own, so that it works with any number of web processes and does
not weigh on the person's other requests; old rows go with `clearsessions`.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass

from django.contrib.sessions.backends.db import SessionStore
from django.http import HttpRequest

KEPT_S = 3600
KEY = "upload"


@dataclass(frozen=True, slots=True)
class KeptUpload:
    """A file, what it is for, and how its numbers are written."""

    group: str
    sheet: str
    name: str
    decimal_mark: str
    data: bytes


def keep_upload(request: HttpRequest, upload: KeptUpload) -> None:
    """Keep it, in place of one kept before."""
    drop_upload(request)
    store = SessionStore()
    store.set_expiry(KEPT_S)
    store["upload"] = {
        "group": upload.group,
        "sheet": upload.sheet,
        "name": upload.name,
        "decimal_mark": upload.decimal_mark,
        "data": base64.b64encode(upload.data).decode(),
    }
    store.save()
    request.session[KEY] = store.session_key


def kept_upload(request: HttpRequest, group: str, sheet: str) -> KeptUpload | None:
    """The file kept for this sheet of this group, if it is still there."""
    key = request.session.get(KEY)
    kept = SessionStore(key).get("upload") if key else None
    if not kept or (kept["group"], kept["sheet"]) != (group, sheet):
        return None
    return KeptUpload(**{**kept, "data": base64.b64decode(kept["data"])})


def drop_upload(request: HttpRequest) -> None:
    """Forget it."""
    key = request.session.pop(KEY, None)
    if key:
        SessionStore(key).delete()
