"""A digester's own limits on a page: tighter at once, looser with a second person."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from django.test import Client

from apps.digesters.core.limit_names import CAP_UNITS, LIMIT_NAMES
from apps.digesters.models import LimitChange
from apps.digesters.queries.own_limits import own_limits
from apps.digesters.queries.records import published_rules
from apps.people.models import Member
from tests.cast import Cast, make_cast
from tests.remembered import remembered

ADDRESS = "/g/harbour/digesters/duarte-drum/limits/"
LIMIT = "rise_per_week"
"""15 %, nobody beyond 25 % (fixtures/digesters/limits.csv; chosen by us)."""


@pytest.fixture
@remembered
def cast(db: None) -> Cast:
    """Today's neighbourhood."""
    return make_cast(datetime.now(UTC), history_days=1)


def as_member(member: Member) -> Client:
    client = Client()
    client.force_login(member.user)
    return client


def counts(cast: Cast, limit_id: str = LIMIT) -> float | None:
    limits = {each.limit_id: each for each in own_limits(cast.drum, cast.today).limits}
    return limits[limit_id].value


def test_every_limit_has_a_name() -> None:
    assert set(LIMIT_NAMES) == {*published_rules().rules, *CAP_UNITS}


def test_a_tighter_value_counts_at_once(cast: Cast) -> None:
    carla = as_member(cast.carla)
    assert ADDRESS in carla.get("/g/harbour/digesters/duarte-drum/").content.decode()
    data = {"limit_id": LIMIT, "value": "10", "reason": "Watching it", "do": "tighten"}
    assert carla.post(ADDRESS, data).status_code == 302
    assert counts(cast) == 10
    assert "Carla: Watching it" in carla.get(ADDRESS).content.decode()
    cap = {"limit_id": "feed_g", "value": "3000", "reason": "Small pail", "do": "tighten"}
    assert carla.post(ADDRESS, cap).status_code == 302
    assert counts(cast, "feed_g") == 3_000


def test_a_looser_value_waits_for_somebody_else(cast: Cast) -> None:
    carla, ana = as_member(cast.carla), as_member(cast.ana)
    data = {"limit_id": LIMIT, "value": "20", "reason": "Steady for a year", "do": "loosen"}
    assert carla.post(ADDRESS, data).status_code == 302
    assert counts(cast) == 15
    confirm = f"{ADDRESS}{LimitChange.objects.of(cast.group).get().uuid}/confirm/"
    assert confirm not in carla.get(ADDRESS).content.decode(), "not offered to who asked"
    assert carla.post(confirm).status_code == 422
    assert counts(cast) == 15
    assert confirm in ana.get(ADDRESS).content.decode()
    assert ana.post(confirm).status_code == 302
    assert counts(cast) == 20
    assert ana.post(confirm).status_code == 409
    assert as_member(cast.outsider).post(confirm).status_code == 404


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"value": "20"}, "looser than what counts now"),
        ({"value": "30", "do": "loosen"}, "Nobody may set “Rise over the week before” beyond 25 %"),
        ({"value": "10", "do": "loosen"}, "tighten it instead"),
        ({"value": "NaN"}, "Enter a number"),
        ({"value": "1e999"}, "digits"),
        ({"reason": " "}, "This field is required"),
        ({"limit_id": "moon"}, "Select a valid choice"),
        ({"limit_id": "feed_g", "value": "2.5"}, "not a whole amount"),
    ],
)
def test_a_wrong_wish_is_said_beside_its_field(
    cast: Cast, change: dict[str, str], says: str
) -> None:
    data = {"limit_id": LIMIT, "value": "10", "reason": "Why not", "do": "tighten"} | change
    answer = as_member(cast.ana).post(ADDRESS, data)
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not LimitChange.objects.of(cast.group).exists()
