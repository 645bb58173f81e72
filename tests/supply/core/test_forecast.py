"""Weekday means and their spread."""

import random
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.kernel.figures import FigureError
from apps.supply.core.forecast import Basis, DeclaredPattern, Forecast, Weight, forecast_day

ON = date(2030, 6, 3)  # a Monday
DECLARED = DeclaredPattern((5_000, 5_000, 5_000, 5_000, 8_000, 12_000, 0), 0.3)


def mondays(*amounts_g: int) -> list[Weight]:
    return [Weight(ON - timedelta(weeks=i), g) for i, g in enumerate(reversed(amounts_g), start=1)]


def test_short_history_falls_back_to_what_was_declared() -> None:
    """A normal variate lies 0.8416 standard deviations above its mean at the 80 % quantile
    (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1)."""
    forecast = forecast_day(ON, DECLARED, mondays(9_000, 9_000))
    assert forecast == Forecast(ON, 3_738, 5_000, 6_262, Basis.DECLARED, 2)
    assert forecast.p80_g == round(5_000 * (1 + 0.3 * 0.8416))


def test_history_replaces_what_was_declared() -> None:
    forecast = forecast_day(ON, DECLARED, mondays(6_000, 8_000, 10_000))
    # Mean 8000; deviations -1/4, 0, 1/4 over 2 degrees of freedom: 0.25 of the mean.
    assert (forecast.p50_g, forecast.basis, forecast.weights_used) == (8_000, Basis.HISTORY, 3)
    assert forecast.p80_g == round(8_000 * (1 + 0.25 * 0.8416))
    assert forecast.p20_g == round(8_000 * (1 - 0.25 * 0.8416))


def test_absent_days_neither_count_nor_promise() -> None:
    history = mondays(6_000, 0, 8_000, 10_000)
    away = {ON - timedelta(weeks=3)}
    assert forecast_day(ON, DECLARED, history, away).p50_g == 8_000
    assert forecast_day(ON, DECLARED, history, {ON}) == Forecast(ON, 0, 0, 0, Basis.ABSENT)


def test_an_offer_replaces_the_forecast() -> None:
    forecast = forecast_day(ON, DECLARED, mondays(6_000, 8_000, 10_000), {ON}, offer_g=2_500)
    assert forecast == Forecast(ON, 2_500, 2_500, 2_500, Basis.OFFER)


def test_other_weekdays_old_weeks_and_the_day_itself_do_not_count() -> None:
    history = [
        *mondays(6_000, 8_000, 10_000),
        Weight(ON, 99_000),
        Weight(ON - timedelta(days=1), 99_000),
        Weight(ON - timedelta(weeks=9), 99_000),
    ]
    assert forecast_day(ON, DECLARED, history).p50_g == 8_000


def test_a_stream_that_never_has_anything() -> None:
    assert forecast_day(ON, DECLARED, mondays(0, 0, 0)).p80_g == 0


def test_quantiles_hold_on_drawn_weights() -> None:
    """Weights drawn normally about 10 kg with 20 % spread: about a fifth lie under P20."""
    draw = random.Random(7)
    under = over = 0
    for _ in range(400):
        drawn = [max(0, round(draw.gauss(10_000, 2_000))) for _ in range(9)]
        other = [
            Weight(ON - timedelta(days=7 * week + day), max(0, round(draw.gauss(10_000, 2_000))))
            for week in range(8)
            for day in range(1, 7)
        ]
        forecast = forecast_day(ON, DECLARED, [*mondays(*drawn[1:]), *other])
        under += drawn[0] < forecast.p20_g
        over += drawn[0] > forecast.p80_g
    # 20 % of 400 is 80; four standard deviations of a binomial are 32; a mean of eight adds some.
    assert 48 <= under <= 120
    assert 48 <= over <= 120


def test_bad_patterns_and_weights_are_refused() -> None:
    with pytest.raises(FigureError, match="weekday pattern"):
        DeclaredPattern((1, 2, 3, 4, 5, 6, -7))
    with pytest.raises(FigureError, match="spread"):
        DeclaredPattern((1, 2, 3, 4, 5, 6, 7), float("nan"))
    with pytest.raises(FigureError, match="weighed twice"):
        forecast_day(ON, DECLARED, [*mondays(1), *mondays(2)])
    with pytest.raises(FigureError, match="offer"):
        forecast_day(ON, DECLARED, offer_g=-1)


@given(
    st.lists(st.integers(0, 100_000), max_size=56),
    st.sets(st.integers(1, 56)),
    st.floats(0, 2),
)
def test_quantiles_are_ordered_whole_grams(
    amounts_g: list[int], away: set[int], spread: float
) -> None:
    history = [Weight(ON - timedelta(days=i), g) for i, g in enumerate(amounts_g, start=1)]
    declared = DeclaredPattern((1_000,) * 7, spread)
    forecast = forecast_day(ON, declared, history, {ON - timedelta(days=i) for i in away})
    assert 0 <= forecast.p20_g <= forecast.p50_g <= forecast.p80_g
    assert isinstance(forecast.p20_g, int)
