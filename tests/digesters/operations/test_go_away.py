"""A household goes away: taper before, nothing or a held feed meanwhile, a stable level after."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.digesters.core.absence_limits import TAPER_PERCENT, level_after_absence
from apps.digesters.operations.go_away import go_away
from apps.digesters.queries.day_limits import day_limits
from apps.groups.models import Work
from tests.cast import Cast, make_cast

pytestmark = pytest.mark.django_db


def away(cast: Cast, first: int, last: int, **changes):
    days = [cast.today + timedelta(days=each) for each in (first, last)]
    return go_away(cast.drum, first_on=days[0], last_on=days[1], now=cast.now, **changes)


def most_vs_g(cast: Cast, days: int, as_of=None) -> list[int]:
    first = as_of or cast.today
    found = day_limits(cast.group, first, days, as_of=first)["duarte-drum"]
    return [day.limits.max_vs_g for day in found.days]


@pytest.mark.parametrize(("weeks", "level_g"), [(0, 200), (1, 170), (2, 140), (4, 80), (9, 50)])
def test_the_level_to_come_back_to(weeks, level_g):
    # 15 % off for each idle week, never under 25 %: fixtures/digesters/limits.csv, chosen by us.
    assert level_after_absence(200, weeks * 7, 15, 25) == level_g


def test_nobody_there_tapers_before_and_stops_meanwhile(cast):
    before = most_vs_g(cast, 8)
    told = away(cast, 4, 6)
    after = most_vs_g(cast, 8)
    assert after[0] == before[0]
    for days_before, percent in TAPER_PERCENT.items():
        assert after[4 - days_before] <= before[4 - days_before] * percent // 100 + 1
    assert after[3] < after[2] < after[1]
    assert after[4:7] == [0, 0, 0]
    assert after[7] == before[7]
    said = " ".join(str(sentence) for sentence in told.advice)
    assert "burn what is in the holder" in said
    assert "close every valve" in said
    assert Work.objects.of(cast.group).filter(kind="plan_again").exists()


def test_a_keyholder_feeds_no_more_than_the_holder_takes(cast):
    cast.drum.gas_holder_ml = 20_000
    cast.drum.save()
    told = away(cast, 2, 4, keyholder=cast.elsa)
    day = day_limits(cast.group, cast.today, 4)["duarte-drum"].days[2]
    assert day.is_attended
    assert day.limits.binding("vs_g").rule_id == "gas_away"
    assert "Elsa" in str(told.advice[0])
    assert "20 L" in str(told.advice[0])


def test_after_a_fortnight_away_it_comes_back_to_less_than_before():
    cast = make_cast(history_days=30)
    usual_g = most_vs_g(cast, 1)[0]
    away(cast, 1, 14)
    back = cast.today + timedelta(days=15)
    limits = day_limits(cast.group, back, 1, as_of=back)["duarte-drum"].days[0].limits
    median_g = 70 * usual_g // 100
    assert 0 < limits.max_vs_g <= usual_g
    # Without the rule a stable mean of zero would leave it at the least rise of all.
    floor_g = 150  # 0.1 kg VS/m3 and day of 1.5 m3: rise_floor of the table of limits
    assert limits.max_vs_g > floor_g or median_g <= floor_g
