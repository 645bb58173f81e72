"""At most one effect for each Idempotency-Key.

What was done is remembered with its answer, for ever; what was refused leaves nothing behind,
so the same key may be sent again once the reason is gone. A fault of ours is never remembered.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _
from rest_framework.renderers import JSONRenderer

from apps.api.models import IdempotencyKey
from apps.kernel.errors import Conflict, Refused
from apps.people.access import Admission

LONGEST_KEY = 255
GIVEN_UP_AFTER = timedelta(minutes=10)
"""A slow request that has not answered by then has died; its key may be taken over."""


class KeyNeeded(Refused):
    """The operation writes something down, and a repeat must not write it twice."""

    code = "key_needed"
    status = 400


class KeySpent(Conflict):
    """The key belongs to another request."""

    code = "key_spent"


class KeyBusy(Conflict):
    """The first request with this key has not answered yet."""

    code = "key_busy"


@dataclass(frozen=True, slots=True)
class Answer:
    """Status and JSON value; `repeated` when it was remembered."""

    status: int
    data: Any
    repeated: bool = False


Act = Callable[[], Answer]


def check_key(key: str | None, *, required: bool) -> str | None:
    """The header's value, or None when it may be missing and is."""
    if not key:
        if required:
            raise KeyNeeded(
                _(
                    "Send an Idempotency-Key header: any text you make up for this one request, "
                    "such as a UUID. Sending it again is then safe."
                )
            )
        return None
    if len(key) > LONGEST_KEY or not key.isascii() or not key.isprintable():
        raise KeyNeeded(
            _("The Idempotency-Key may have at most %(most)s plain characters.")
            % {"most": LONGEST_KEY},
            figures={"most": LONGEST_KEY, "given": len(key)},
        )
    return key


def client_key(admission: Admission, key: str) -> str:
    """What the ledger and the readings keep: unique in the group, whatever others make up.
    Somebody unknown has nothing but the key."""
    who = admission.member.uuid if admission.member else "anybody"
    return "api-" + hashlib.sha256(f"{who} {key}".encode()).hexdigest()


def content_hash(data: Any) -> str:
    """Of the understood body: spaces and the order of names do not matter. A file counts as it
    is."""
    if isinstance(data, bytes):
        return hashlib.sha256(data).hexdigest()
    text = json.dumps(data, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def answer_once(
    admission: Admission, key: str, address: str, content: str, act: Act, *, now: datetime
) -> Answer:
    """Act and remember in one transaction. Of two at once, the second waits at the unique key
    and then finds the first one's answer."""
    with transaction.atomic():
        row, made = _claim(admission, key, address, content, now)
        if not made:
            return _remembered(row, address, content)
        answer = act()
        _remember(row, answer)
    return answer


def answer_once_slowly(
    admission: Admission, key: str, address: str, content: str, act: Act, *, now: datetime
) -> Answer:
    """For what computes for seconds and must not hold a transaction meanwhile: the claim is
    committed first. Of two at once, the second is told to wait."""
    with transaction.atomic():
        row, made = _claim(admission, key, address, content, now)
    if not made:
        if row.status is not None or (row.address, row.content_hash) != (address, content):
            return _remembered(row, address, content)
        taken_over = IdempotencyKey.unscoped.filter(
            pk=row.pk, status=None, made_at__lt=now - GIVEN_UP_AFTER
        ).update(made_at=now)
        if not taken_over:
            raise KeyBusy(_("The same request is still being done. Ask again in a few seconds."))
    try:
        answer = act()
    except Exception:
        IdempotencyKey.unscoped.filter(pk=row.pk, status=None).delete()
        raise
    _remember(row, answer)
    return answer


def _claim(
    admission: Admission, key: str, address: str, content: str, now: datetime
) -> tuple[IdempotencyKey, bool]:
    return IdempotencyKey.unscoped.get_or_create(
        group=admission.group,
        member=admission.member,
        key=key,
        defaults={"address": address[:300], "content_hash": content, "made_at": now},
    )


def _remember(row: IdempotencyKey, answer: Answer) -> None:
    row.status = answer.status
    row.answer = JSONRenderer().render(answer.data).decode() if answer.data is not None else ""
    row.save(update_fields=["status", "answer"])


def _remembered(row: IdempotencyKey, address: str, content: str) -> Answer:
    if (row.address, row.content_hash) != (address[:300], content):
        raise KeySpent(
            _("This Idempotency-Key was already used for another request. Make up a new one."),
            figures={"first_used_for": row.address},
        )
    if row.status is None:
        raise KeyBusy(_("The same request is still being done. Ask again in a few seconds."))
    return Answer(row.status, json.loads(row.answer) if row.answer else None, repeated=True)
