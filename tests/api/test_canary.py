"""A word planted in every private field is found in nobody's answers but the entitled one's."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest

from apps.groups.models import Fact
from apps.people.models import ApiToken, Invitation, Member
from apps.places.models import Place
from tests.access.routes import all_routes
from tests.api.caller import Caller
from tests.api.fuzzing import Neighbourhood
from tests.cast import Cast, make_cast
from tests.remembered import remembered

LATITUDE, LONGITUDE = Decimal("38.512347"), Decimal("-9.004567")
"""Of every private place; their decimals are the words to look for."""

SECRETS = {
    "street": "canary-street",
    "access_note": "canary-note",
    "latitude": "512347",
    "longitude": "004567",
}


@pytest.fixture
@remembered
def planted(db: None) -> tuple[Cast, Neighbourhood]:
    cast = make_cast(datetime.now(UTC), history_days=3)
    there = Neighbourhood(cast)
    Place.objects.of(cast.group).filter(is_public=False).update(
        street=SECRETS["street"],
        access_note=SECRETS["access_note"],
        latitude=LATITUDE,
        longitude=LONGITUDE,
    )
    Member.objects.of(cast.group).update(email="canary-mail@example.org")
    Fact.objects.of(cast.group).update(payload={"reason": "canary-fact"})
    ApiToken.unscoped.filter(member=cast.heitor).delete()
    Invitation.unscoped.create(
        group=cast.group,
        member=cast.heitor,
        email="canary-mail@example.org",
        token_hash="canary-hash",
        made_at=cast.now,
        expires_at=cast.now,
    )
    return cast, there


def answers(caller: Caller, names: dict[str, list[Any]]) -> dict[str, str]:
    """Everything that somebody can read, and every refusal, by address."""
    found = {}
    for route in all_routes():
        if route.is_api and "group" in route.parameters and "GET" in route.access.methods:  # type: ignore[union-attr]
            for turn in range(3):
                filled = {
                    name: str(names[name][turn % len(names[name])])
                    for name in route.parameters
                    if names.get(name)
                }
                address = route.address(**filled)
                response = caller.client.get(address)
                # 422: an address that is nothing without a question.
                assert response.status_code in (200, 403, 404, 422), address
                found[address] = response.content.decode("utf-8", "replace")
    return found


@pytest.mark.parametrize("name", ["bruno", "carla", "duarte", "filipe", "graca"])
def test_no_secret_reaches_who_has_no_need_of_it(
    planted: tuple[Cast, Neighbourhood], name: str
) -> None:
    cast, there = planted
    # The plan is a draft, so that nobody is matched with anybody.
    found = answers(Caller(getattr(cast, name)), there.names)
    assert sum(len(text) > 200 for text in found.values()) > 5
    for address, text in found.items():
        for word in (*SECRETS.values(), "canary"):
            assert word not in text, f"{word} in {address}"


def test_whoever_is_of_another_group_reads_nothing(planted: tuple[Cast, Neighbourhood]) -> None:
    cast, there = planted
    caller = Caller(cast.outsider)
    for address, text in answers(caller, {**there.names, "group": ["harbour"]}).items():
        assert "canary" not in text, address
        assert "quay" not in text.lower().replace(address.lower(), ""), address


def test_the_canary_can_be_seen_where_it_may(planted: tuple[Cast, Neighbourhood]) -> None:
    """Otherwise the tests above would say nothing."""
    cast, there = planted
    found = " ".join(answers(Caller(cast.ana), there.names).values())
    for word in (*SECRETS.values(), "canary-mail"):
        assert word in found
    assert "canary-hash" not in found
