"""Who looks at the page of which digester or source, for which day, and by which door."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.http import HttpRequest

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.kernel.days import local_date, local_instant
from apps.people.models import Member
from apps.pickups.core.life import TAKE_OVER, Party, Step
from apps.pickups.operations.take_step import Act, Actor
from apps.supply.models import Source

LATE_AT = time(18)
"""Local time at which something is taken to have happened that is told for an earlier day."""


@dataclass(frozen=True, slots=True)
class Visit:
    """`address` is the page's own, with a slash at its end. `acted_for` is the person in whose
    place a coordinator acts; None: `doer` acts for themselves. `is_link`: without signing in."""

    group: Group
    doer: Member
    on: date
    now: datetime
    address: str
    digester: Digester | None = None
    source: Source | None = None
    acted_for: Member | None = None
    by_coordinator: bool = False
    is_link: bool = False

    @property
    def today(self) -> date:
        """The group's local date now."""
        return local_date(self.now, self.group.time_zone)

    @property
    def is_helper(self) -> bool:
        """Whether somebody else than the household fetches for this digester by a link."""
        home = self.digester
        return self.is_link and home is not None and home.household_id != self.doer.pk

    @property
    def has_come(self) -> bool:
        """Whether the day of the page is today or over."""
        return self.on <= self.today

    @property
    def is_tomorrow(self) -> bool:
        """For a sentence."""
        return self.on == self.today + timedelta(days=1)

    def instant_on(self, on: date) -> datetime:
        """When something happened that is told for `on`: now, for today."""
        if on == self.today:
            return self.now
        return local_instant(on, LATE_AT, self.group.time_zone)

    def act(self, step: Step, request: HttpRequest, *, reason: str = "") -> Act:
        """One step of a pickup, as the form sent it."""
        revision = request.POST.get("revision", "")
        own = Party.GIVER if self.source is not None else Party.FETCHER
        party = Party.COORDINATOR if self.by_coordinator else own
        if step is TAKE_OVER:
            party = Party.STANDBY
        return Act(
            step=step,
            actor=Actor(self.doer, party, self.acted_for),
            client_key=client_key(request),
            now=self.now,
            reason=reason,
            note="",
            revision=whole_number(revision),
        )


def client_key(request: HttpRequest) -> str:
    """The key that the rendered form carries: sending it again changes nothing more. A form
    that lost it gets a new one."""
    try:
        return str(uuid.UUID(request.POST.get("client_key", "")))
    except ValueError:
        return new_key()


def whole_number(text: str) -> int | None:
    """A hidden field's figure; None where it is no number of up to nine digits."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= 9 else None


def new_key() -> str:
    """For a form about to be rendered."""
    return str(uuid.uuid4())
