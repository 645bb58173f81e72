"""Feedings: written down as they happened, asked again where they are dangerous."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from apps.digesters.models import Digester
from apps.digesters.operations.feed_digester import OverFeeding, feed_digester
from apps.digesters.queries.day_limits import day_limits
from apps.feedstock.core.measures import Measure, MeasureCount
from apps.groups.models import Fact
from apps.ledger.models import Posting
from apps.ledger.operations.entry import InTheFuture
from apps.ledger.queries.balances import balances_g
from apps.ledger.queries.grams_per_day import fed_per_day
from tests.cast import Cast, make_cast

pytestmark = pytest.mark.django_db


def feed(cast: Cast, grams: int = 1_000, key: str = "k", **changes):
    """Duarte feeds his drum now, with own kitchen waste beside."""
    digester = changes.pop("digester", cast.drum)
    asked = {
        "from_bin_g": {cast.materials["veg_market_mixed"]: grams} if grams else {},
        "own_waste_g": {cast.materials["household_kitchen"]: 500},
        "water_ml": 3_500,
        "fed_at": cast.now,
        "now": cast.now,
        "client_key": key,
        "recorded_by": cast.duarte,
    }
    return feed_digester(digester, **{**asked, **changes})


def fed_g(cast: Cast, on, digester: Digester | None = None) -> int:
    """Grams of a day, by the ledger."""
    account = (digester or cast.drum).account_id
    return sum(fed_per_day(cast.group, [account], on, on).get((account, on), {}).values())


def test_a_feeding_is_written_once(cast):
    first, again = feed(cast), feed(cast)
    assert (first.is_over, again.posted.is_repeat) == (False, True)
    assert fed_g(cast, cast.today) == 1_500


def test_above_the_maximum_is_asked_again_recorded_alarmed_and_found_by_the_limits(cast):
    most_g = day_limits(cast.group, cast.today, 1)["duarte-drum"].days[0].limits.max_feed_g
    with pytest.raises(OverFeeding) as asked:
        feed(cast, most_g + 2_000)
    said = str(asked.value)
    assert "sours a digester" in said
    assert asked.value.figures["given"] in said
    assert asked.value.figures["most"] in said
    assert fed_g(cast, cast.today) == 0
    done = feed(cast, most_g + 2_000, is_confirmed=True)
    assert done.is_over
    assert fed_g(cast, cast.today) == most_g + 2_500
    fact = Fact.objects.of(cast.group).get(kind="overfed")
    assert fact.payload["given"]["feed_g"] == most_g + 2_500
    tomorrow = cast.today + timedelta(days=1)
    history = day_limits(cast.group, tomorrow, 1)["duarte-drum"].records.fed
    assert history.days[-1].feed_g == most_g + 2_500


def test_a_second_feeding_counts_together_with_the_first(cast):
    limits = day_limits(cast.group, cast.today, 1)["duarte-drum"].days[0].limits
    most_g = min(limits.max_feed_g, limits.max_vs_g * 10)
    half_g = most_g * 6 // 10
    feed(cast, half_g, "a", water_ml=0, is_confirmed=True)
    with pytest.raises(OverFeeding):
        feed(cast, half_g, "b", water_ml=0)


def test_resting_and_paused_digesters_are_asked_about_too(cast):
    with pytest.raises(OverFeeding, match="paused and takes no waste"):
        feed(cast, digester=cast.bag)
    assert feed(cast, digester=cast.bag, is_confirmed=True).is_over
    assert fed_g(cast, cast.today, cast.bag) == 1_500


def test_water_alone_is_no_feeding(cast):
    done = feed(cast, 0, digester=cast.bag, own_waste_g={}, water_ml=20_000)
    assert not done.posted.is_repeat


def test_yesterday_is_late_and_tomorrow_is_refused(cast):
    yesterday = cast.today - timedelta(days=1)
    before_g = fed_g(cast, yesterday)
    feed(cast, 100, fed_at=cast.now - timedelta(days=1), is_confirmed=True)
    assert fed_g(cast, yesterday) == before_g + 600
    with pytest.raises(InTheFuture, match="has not come yet"):
        feed(cast, key="t", fed_at=cast.now + timedelta(days=1))


def test_yesterday_at_ten_past_midnight_after_a_clock_change_is_that_day():
    """Lisbon put its clocks back on 26 October 2025 at 02:00 (IANA tz database), so local
    00:10 of the 26th is 23:10 UTC of the 25th, while 00:10 of the 27th is 00:10 UTC."""
    cast = make_cast(datetime(2025, 10, 27, 0, 30, tzinfo=UTC), history_days=3)
    feed(cast, 100, fed_at=datetime(2025, 10, 25, 23, 10, tzinfo=UTC), is_confirmed=True)
    feed(cast, 200, "b", fed_at=datetime(2025, 10, 27, 0, 10, tzinfo=UTC), is_confirmed=True)
    feed(cast, 300, "c", fed_at=datetime(2025, 10, 26, 23, 55, tzinfo=UTC), is_confirmed=True)
    days = [posting.on.day for posting in Posting.objects.of(cast.group).filter(
        client_key__in=["k", "b", "c"]).order_by("client_key")]  # fmt: skip
    assert dict(zip("bck", days, strict=True)) == {"k": 26, "b": 27, "c": 26}


def test_from_the_wrong_bin_is_taken_from_that_bin(cast):
    veg = cast.materials["veg_market_mixed"]
    done = feed(cast, 700, from_bin_of=cast.dome)
    assert done.posted.variance_g == {veg.code: 700}  # nobody had written its arrival down
    bins = balances_g(cast.group, [cast.drum.bin_account_id, cast.dome.bin_account_id])
    assert not any(sum(by_code.values()) for by_code in bins.values())


def test_own_measures_are_millilitres():
    # 1 pail of 10 L and 5 jugs of 1 L, as pages send them: arithmetic.
    pail, jug = Measure("pail", 10_000), Measure("jug", 1_000)
    assert MeasureCount(pail, 2).volume_ml == 10_000
    assert MeasureCount(jug, 10).volume_ml == 5_000
