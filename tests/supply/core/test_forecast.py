"""Forecasts of streams: from what was declared, from their own past, from offers."""

import random
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.kernel.figures import FigureError
from apps.supply.core.forecast import (
    Basis,
    DeclaredPattern,
    Forecast,
    Past,
    Weight,
    forecast_day,
    learn,
)
from apps.supply.core.kind_average import Known, average_kind

ON = date(2030, 6, 3)  # a Monday
DECLARED = DeclaredPattern((5_000, 5_000, 5_000, 5_000, 8_000, 12_000, 0), 0.3)


def daily(amount_g: int, days: int, *, until: date = ON) -> list[Weight]:
    return [Weight(until - timedelta(days=back), amount_g) for back in range(1, days + 1)]


def test_no_history_is_what_was_declared() -> None:
    """A normal variate lies 0.8416 standard deviations above its mean at the 80 % quantile
    (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1)."""
    forecast = forecast_day(ON, DECLARED)
    assert forecast == Forecast(ON, 3_738, 5_000, 6_262, Basis.DECLARED, 0)
    assert forecast.p80_g == round(5_000 * (1 + 0.3 * 0.8416))


def test_one_day_of_history_moves_it_a_little() -> None:
    forecast = forecast_day(ON, DECLARED, [Weight(ON - timedelta(weeks=1), 10_000)])
    assert forecast.basis is Basis.HISTORY
    assert 5_000 < forecast.p50_g < 7_500


def test_history_replaces_what_was_declared() -> None:
    declared = DeclaredPattern((5_000,) * 7, 0.3)
    forecast = forecast_day(ON, declared, daily(9_000, 70))
    assert forecast.p20_g == pytest.approx(9_000, rel=0.05)
    assert forecast.p80_g == pytest.approx(9_000, rel=0.1)
    assert forecast.weights_used == 10


def test_a_weekday_is_learnt_that_nobody_declared() -> None:
    history = [
        Weight(day, 12_000 if day.weekday() == 0 else 4_000)
        for day in (ON - timedelta(days=back) for back in range(1, 120))
    ]
    learnt = learn(Past(DeclaredPattern((5_000,) * 7), history), ON)
    assert learnt.forecast(ON).p50_g > 9_000
    assert learnt.forecast(ON + timedelta(days=1)).p50_g == pytest.approx(4_000, rel=0.15)


def test_a_trend_is_followed() -> None:
    """A garden that grows 1.5 % a day: the mean of eight weeks would lag by a third."""
    history = [
        Weight(ON - timedelta(days=back), round(10_000 * 1.015**-back)) for back in range(1, 100)
    ]
    assert forecast_day(ON, DeclaredPattern((5_000,) * 7), history).p50_g > 8_800


def test_absent_days_neither_count_nor_promise() -> None:
    history = [*daily(8_000, 30)[1:], Weight(ON - timedelta(days=1), 0)]
    away = {ON - timedelta(days=1)}
    declared = DeclaredPattern((8_000,) * 7)
    assert forecast_day(ON, declared, history, away).p50_g == pytest.approx(8_000, rel=0.01)
    assert forecast_day(ON, declared, history, {ON}) == Forecast(ON, 0, 0, 0, Basis.ABSENT)


def test_an_offer_replaces_the_forecast() -> None:
    forecast = forecast_day(ON, DECLARED, daily(8_000, 20), {ON}, offer_g=2_500)
    assert forecast == Forecast(ON, 2_500, 2_500, 2_500, Basis.OFFER)


def test_offers_are_weighed_against_what_was_collected() -> None:
    kept = Past(DECLARED, kept_shares=(0.0, 0.5, 0.8, 0.9, 1.0, 1.0))
    forecast = learn(kept, ON).forecast(ON, offer_g=10_000)
    assert (forecast.p20_g, forecast.p80_g) == (5_000, 10_000)
    assert 8_000 <= forecast.p50_g <= 9_000
    few = Past(DECLARED, kept_shares=(0.0, 0.5))
    assert learn(few, ON).forecast(ON, 10_000).p20_g == 10_000


def test_old_weights_and_the_day_itself_do_not_count() -> None:
    history = [*daily(8_000, 60), Weight(ON, 99_000), Weight(ON - timedelta(weeks=30), 99_000)]
    forecast = forecast_day(ON, DeclaredPattern((8_000,) * 7), history)
    assert forecast.p50_g == pytest.approx(8_000, rel=0.01)


def test_a_stream_that_never_has_anything() -> None:
    assert forecast_day(ON, DECLARED, daily(0, 30)).p80_g == 0


def test_a_stream_that_stopped() -> None:
    history = [*daily(0, 10), *daily(8_000, 60, until=ON - timedelta(days=10))]
    forecast = forecast_day(ON, DeclaredPattern((8_000,) * 7), history)
    assert (forecast.p20_g, forecast.p50_g) == (0, 0)


def test_one_offer_ten_times_the_usual_hardly_counts() -> None:
    history = [*daily(8_000, 1, until=ON), *daily(8_000, 60, until=ON - timedelta(days=2))]
    history.append(Weight(ON - timedelta(days=2), 80_000))
    forecast = forecast_day(ON, DeclaredPattern((8_000,) * 7), history)
    assert forecast.p50_g < 9_500


def test_a_stream_that_changed_hands_drops_its_past() -> None:
    """When told at once; without being told as soon as its weights say so."""
    change = ON - timedelta(days=8)
    history = [*daily(2_000, 8), *daily(9_000, 80, until=change)]
    declared = DeclaredPattern((9_000,) * 7)
    told = learn(Past(declared, history, since_on=change), ON)
    assert told.changed_on == change
    untold = learn(Past(declared, history), ON)
    assert untold.changed_on == change
    assert untold.forecast(ON).p50_g == pytest.approx(2_000, rel=0.1)


def test_a_noisy_steady_stream_keeps_its_past() -> None:
    draw = random.Random(3)
    dropped = 0
    for _ in range(40):
        history = [
            Weight(ON - timedelta(days=back), max(0, round(draw.gauss(8_000, 3_000))))
            for back in range(1, 120)
        ]
        dropped += learn(Past(DeclaredPattern((8_000,) * 7), history), ON).changed_on != min(
            weight.on for weight in history
        )
    assert dropped <= 2


def test_a_new_stream_starts_from_its_kind() -> None:
    kind = average_kind([Known((10_000.0,) * 7, (5_000.0,) * 7, 0.5)] * 3)
    assert kind is not None
    assert learn(Past(DECLARED, kind=kind), ON).forecast(ON).p50_g == 2_500
    silent = DeclaredPattern((0,) * 7)
    assert learn(Past(silent, kind=kind), ON).forecast(ON).p50_g == 5_000
    assert average_kind([]) is None


def test_a_festival_doubles_and_its_weights_are_scaled_back() -> None:
    festivals = {ON: 200, ON - timedelta(days=1): 200}
    history = [Weight(ON - timedelta(days=1), 16_000), *daily(8_000, 40)[1:]]
    learnt = learn(Past(DeclaredPattern((8_000,) * 7), history, percents=festivals), ON)
    assert learnt.forecast(ON).p50_g == pytest.approx(16_000, rel=0.01)
    assert learnt.forecast(ON + timedelta(days=1)).p50_g == pytest.approx(8_000, rel=0.01)
    shut = learn(Past(DECLARED, percents={ON: 0}), ON)
    assert shut.forecast(ON) == Forecast(ON, 0, 0, 0, Basis.ABSENT)


def test_quantiles_hold_on_drawn_weights() -> None:
    """Weights drawn normally about 10 kg with 20 % spread: about a fifth lie under P20."""
    draw = random.Random(7)
    under = over = 0
    for _ in range(300):
        history = [
            Weight(ON - timedelta(days=back), max(0, round(draw.gauss(10_000, 2_000))))
            for back in range(1, 60)
        ]
        forecast = forecast_day(ON, DeclaredPattern((10_000,) * 7), history)
        had = draw.gauss(10_000, 2_000)
        under += had < forecast.p20_g
        over += had > forecast.p80_g
    # 20 % of 300 is 60; four standard deviations of a binomial are 28; the mean adds some.
    assert 30 <= under <= 92
    assert 30 <= over <= 92


def test_bad_patterns_and_weights_are_refused() -> None:
    with pytest.raises(FigureError, match="weekday pattern"):
        DeclaredPattern((1, 2, 3, 4, 5, 6, -7))
    with pytest.raises(FigureError, match="spread"):
        DeclaredPattern((1, 2, 3, 4, 5, 6, 7), float("nan"))
    with pytest.raises(FigureError, match="weighed twice"):
        forecast_day(ON, DECLARED, [Weight(ON, 1), Weight(ON, 2)])
    with pytest.raises(FigureError, match="offer"):
        forecast_day(ON, DECLARED, offer_g=-1)


@settings(max_examples=40)
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


def test_part_of_a_good_day_is_left_the_next_where_it_always_was() -> None:
    """Drawn days, each with half of the day before's departure (a first-order autoregression)."""
    draw, departure, amounts = random.Random(3), 0.0, []
    for _ in range(120):
        departure = 0.5 * departure + draw.gauss(0, 0.25)
        amounts.append(round(8_000 * 2.718281828**departure))

    def after(last_g: int, ahead: int) -> int:
        past = [
            Weight(ON - timedelta(days=back), amount_g)
            for back, amount_g in enumerate([last_g, *reversed(amounts)], start=1)
        ]
        learnt = learn(Past(DeclaredPattern((8_000,) * 7), past), ON)
        return learnt.forecast(ON + timedelta(days=ahead)).p50_g

    assert after(12_000, 0) > 1.2 * after(5_500, 0)
    assert after(12_000, 6) < 1.12 * after(5_500, 6)


def test_a_day_that_is_already_over_is_forecast_as_well() -> None:
    learnt = learn(Past(DECLARED, daily(8_000, 20)), ON)
    for back in (1, 2, 10):
        assert learnt.forecast(ON - timedelta(days=back)).p80_g >= 0
