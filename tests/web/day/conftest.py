"""A day of the neighbourhood that is today by the server's clock."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client

from apps.digesters.models import Digester
from apps.people.models import Member
from apps.pickups.models import Pickup
from apps.pickups.operations.make_day_link import make_day_link
from apps.pickups.operations.sync_pickups import sync_pickups
from tests.cast import Cast, make_cast
from tests.pickups.plans import write_plan
from tests.remembered import remembered

KEY = re.compile(r'name="client_key" value="([0-9a-f-]{36})"')


@dataclass
class Today:
    """The cast, Duarte's pickup of today at the quay, and links to both ends' pages."""

    cast: Cast
    on: date
    pickup: Pickup
    home: str
    stall: str

    def link(self, member: Member, on: date, **subject: object) -> str:
        """A fresh link's address."""
        token = make_day_link(member, on, now=datetime.now(UTC), **subject)  # type: ignore[arg-type]
        return f"/day/{token}/"

    def fresh(self) -> Pickup:
        """The pickup as it is now."""
        return Pickup.objects.of(self.cast.group).get(pk=self.pickup.pk)


@pytest.fixture
@remembered
def today(db: None) -> Today:
    """3 kg of vegetables and 400 g of citrus peel from the quay to Duarte."""
    now = datetime.now(UTC)
    cast = make_cast(now - timedelta(days=1), history_days=10)
    on = cast.today + timedelta(days=1)
    plan = write_plan(
        cast, [(cast.vegetables, cast.drum, 0, 3_000), (cast.citrus, cast.drum, 0, 400)]
    )
    sync_pickups(plan, now=now)
    drum: Digester = cast.drum
    home = make_day_link(cast.duarte, on, now=now, digester=drum)
    stall = make_day_link(cast.filipe, on, now=now, source=cast.quay_stall)
    pickup = Pickup.objects.of(cast.group).get(digester=drum)
    return Today(cast, on, pickup, f"/day/{home}/", f"/day/{stall}/")


def keys(client: Client, address: str) -> list[str]:
    """The client keys of the forms of a page, in order."""
    return KEY.findall(client.get(address).content.decode())


A_KEY = "00000000-0000-4000-8000-00000000000a"
"""Of one form, when a test sends it more than once."""


def tap(client: Client, today: Today, **fields: object):  # type: ignore[no-untyped-def]
    """A button of the household's page."""
    sent = {"pickup": str(today.pickup.uuid), "client_key": A_KEY, **fields}
    return client.post(today.home, sent)
