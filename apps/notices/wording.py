"""The words of each kind of notice: a text template, first line the subject."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse

from apps.digesters.models import Digester
from apps.notices.models import Notice
from apps.notices.queries.day_ahead import digester_day, source_day
from apps.pickups.operations.make_day_link import make_day_link
from apps.supply.models import Source


@dataclass(frozen=True, slots=True)
class Words:
    """A finished message."""

    subject: str
    text: str


def word_notice(notice: Notice, *, now: datetime) -> Words:
    """In the language that is active now."""
    context = {"notice": notice, "group": notice.group, **_CONTEXTS[notice.kind](notice, now)}
    subject, _, text = (
        render_to_string(f"notices/{notice.kind}.txt", context).strip().partition("\n")
    )
    return Words(subject.strip(), text.strip() + "\n")


def _digester_day(notice: Notice, now: datetime) -> dict[str, Any]:
    digester = Digester.objects.of(notice.group).get(uuid=notice.payload["digester"])
    on = date.fromisoformat(notice.payload["on"])
    token = make_day_link(notice.member, on, now=now, digester=digester)
    return {"on": on, "day": digester_day(digester, on), "link": _address("day", token)}


def _source_day(notice: Notice, now: datetime) -> dict[str, Any]:
    source = Source.objects.of(notice.group).get(uuid=notice.payload["source"])
    on = date.fromisoformat(notice.payload["on"])
    token = make_day_link(notice.member, on, now=now, source=source)
    return {"on": on, "day": source_day(source, on), "link": _address("day", token)}


def _plain(notice: Notice, now: datetime) -> dict[str, Any]:
    return dict(notice.payload)


def _address(name: str, token: str) -> str:
    return settings.SITE_ADDRESS + reverse(name, args=[token])


_CONTEXTS: dict[str, Callable[[Notice, datetime], dict[str, Any]]] = {
    "digester_day": _digester_day,
    "source_day": _source_day,
    "pickup_changed": _plain,
    "concern_raised": _plain,
    "concern_closed": _plain,
}
