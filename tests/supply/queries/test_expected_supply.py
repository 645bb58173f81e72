"""What streams are expected to have. Expected grams: the cast's declared pattern, or by hand."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.places.operations.set_absence import set_absence
from apps.supply.core.forecast import Basis
from apps.supply.models import Offer
from apps.supply.operations.save_stream import save_stream
from apps.supply.operations.set_offer import set_offer
from apps.supply.queries.expected_supply import Expected, expected_supply
from tests.cast import Cast


def expected(cast: Cast, code: str, days: int = 7) -> list[Expected]:
    rows = expected_supply(cast.group, cast.today, days)
    return [row for row in rows if row.stream.code == code]


def test_without_offers_the_declared_week_counts(cast: Cast) -> None:
    amounts = [row.forecast.p50_g for row in expected(cast, "canteen-peelings")]
    assert amounts == [6_000] * 5 + [0, 0]


def test_a_shut_day_has_nothing(cast: Cast) -> None:
    cast.vegetables.sunday_g = 5_000
    cast.vegetables.save()
    # The quay's hours are Monday to Saturday; the cast's today is a Monday.
    sunday = expected(cast, "quay-vegetables")[6].forecast
    assert (sunday.p80_g, sunday.basis) == (0, Basis.ABSENT)


def test_an_absent_source_has_nothing_unless_somebody_keeps_the_key(cast: Cast) -> None:
    away = {"first_on": cast.today, "last_on": cast.today + timedelta(days=1), "now": cast.now}
    set_absence(cast.school_canteen.place, **away)
    assert [row.forecast.p50_g for row in expected(cast, "canteen-peelings", 3)] == [0, 0, 6_000]
    set_absence(cast.school_canteen.place, keyholder=cast.graca, **away)
    assert [row.forecast.p50_g for row in expected(cast, "canteen-peelings", 2)] == [6_000, 6_000]


@pytest.mark.parametrize("amount_g", [0, 1_234])
def test_an_offer_replaces_the_forecast(cast: Cast, amount_g: int) -> None:
    set_offer(cast.peelings, on=cast.today, amount_g=amount_g, now=cast.now)
    forecast = expected(cast, "canteen-peelings", 1)[0].forecast
    assert (forecast.p20_g, forecast.p50_g, forecast.p80_g) == (amount_g,) * 3
    assert forecast.basis is Basis.OFFER


def test_past_offers_are_learnt_from(cast: Cast) -> None:
    for weeks in (1, 2, 3):
        Offer.unscoped.create(
            group=cast.group,
            stream=cast.peelings,
            on=cast.today - timedelta(weeks=weeks),
            amount_g=2_000 + weeks * 1_000,
            said_at=cast.now,
        )
    forecast = expected(cast, "canteen-peelings", 1)[0].forecast
    # Between the 6 kg declared and the mean of 3, 4 and 5 kg.
    assert 4_000 < forecast.p50_g < 5_500
    assert forecast.basis is Basis.HISTORY


def test_it_says_until_when_to_collect_and_to_feed(cast: Cast) -> None:
    """Peelings are wet: two days up to 25 °C; May is 18 °C on average here, 23 °C at noon."""
    row = expected(cast, "canteen-peelings", 1)[0]
    assert (row.collect_by_on - row.on).days == 0
    assert (row.feed_by_on - row.on).days == 2
    cast.peelings.feed_within_days = 5
    cast.peelings.save()
    assert (expected(cast, "canteen-peelings", 1)[0].feed_by_on - row.on).days == 5


def test_queries_do_not_grow_with_the_streams(cast: Cast) -> None:
    with CaptureQueriesContext(connection) as few:
        expected_supply(cast.group, cast.today, 7)
    for number in range(12):
        save_stream(
            cast.group,
            code=f"more-{number}",
            source=cast.ines_garden,
            material=cast.materials["grass"],
            weekday_g=[1_000] * 7,
        )
    with CaptureQueriesContext(connection) as many:
        expected_supply(cast.group, cast.today, 7)
    assert len(many) == len(few) <= 9


def test_another_groups_streams_are_not_seen(cast: Cast) -> None:
    assert expected_supply(cast.other_group, cast.today, 7) == []
