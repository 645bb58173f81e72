"""What a digester-day may take, and the rule that says so."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.digesters.core.facts import QUANTITIES, DayConditions, DigesterFacts, Tightening
from apps.digesters.core.limits import feed_limits
from apps.digesters.core.rules import LimitRules, change_rule, read_rules
from apps.digesters.core.stages import UNFED, Stage
from apps.kernel.figures import FigureError

RULES = read_rules()
ON = date(2030, 6, 3)
DRUM = DigesterFacts(
    code="LIME",
    working_volume_ml=1_000_000,
    plate_feed_g=8_000,
    plate_slurry_ml=20_000,
    stage=Stage.RUNNING,
    buffered=True,
    stable_mean_vs_g=5_000,
)
WARM = DayConditions(on=ON, coldest_slurry_c=28)


def test_each_maximum_has_its_rule() -> None:
    limits = feed_limits(DRUM, WARM, RULES)
    # 1 m3: 1.5 kg VS at 28 °C (assumed point); 1000 L / 40 d = 25 L > the plate's 20 L.
    assert (limits.max_feed_g, limits.max_vs_g, limits.max_slurry_ml) == (8_000, 1_500, 20_000)
    assert limits.binding("feed_g").rule_id == "plate_feed"
    assert limits.binding("vs_g").rule_id == "olr_cap"
    assert "28.0 °C" in str(limits.binding("vs_g").sentence)
    assert limits.binding("slurry_ml").rule_id == "plate_slurry"
    for limit in limits.limits:
        assert limit.source
        assert limit.evidence


def test_retention_example_of_a_handbook() -> None:
    """Sasse 1988 s. 4.2: 4800 L at 80 d takes 60 L/d. So do we at 80 d."""
    rules = change_rule(RULES, "hrt_floor_25c", 80, asked_by="Ana")
    dome = replace(DRUM, working_volume_ml=4_800_000, plate_slurry_ml=100_000)
    limits = feed_limits(dome, WARM, rules)
    assert limits.max_slurry_ml == 60_000
    assert limits.binding("slurry_ml").rule_id == "hrt_floor"


def test_gtz_sample_plant_lies_within_our_limits() -> None:
    """GTZ 1989 s. 4.5: 15 m3 at 25 °C runs on 12 kg VS and 250 L a day (OLR 0.80, RT 60 d)."""
    plant = replace(
        DRUM,
        working_volume_ml=15_000_000,
        plate_feed_g=150_000,
        plate_slurry_ml=250_000,
        stable_mean_vs_g=12_000,
    )
    limits = feed_limits(plant, replace(WARM, coldest_slurry_c=25), RULES)
    assert limits.max_vs_g >= 12_000
    assert limits.max_slurry_ml >= 250_000


def test_food_waste_alone_is_held_lower() -> None:
    """Chen, Romano, Zhang: start range 0.5-1.0 kg VS/m3.d for mixed food waste."""
    limits = feed_limits(replace(DRUM, buffered=False), WARM, RULES)
    assert limits.max_vs_g == 1_000
    assert limits.binding("vs_g").rule_id == "olr_unbuffered"


@pytest.mark.parametrize("stage", [stage for stage in Stage if stage in UNFED])
def test_unfed_stages_take_nothing(stage: Stage) -> None:
    limits = feed_limits(replace(DRUM, stage=stage), WARM, RULES)
    for quantity in QUANTITIES:
        assert limits.binding(quantity).value == 0
        assert limits.binding(quantity).rule_id == "stage_unfed"
    assert (limits.target_vs_g, limits.min_vs_g) == (0, 0)
    assert stage.value in str(limits.suspended)


@pytest.mark.parametrize(
    ("days", "confirmed", "share"),
    # 25-50-75-100 % by week on evidence: Voegeli et al. 2014 (from memory).
    [(0, 0, 0.25), (6, 3, 0.25), (7, 0, 0.25), (7, 1, 0.5), (14, 2, 0.75), (21, 3, 1), (90, 9, 1)],
)
def test_ramp_rises_by_week_and_on_evidence(days: int, confirmed: int, share: float) -> None:
    young = replace(DRUM, stage=Stage.RAMPING, stage_days=days, confirmed_steps=confirmed)
    limits = feed_limits(young, WARM, RULES)
    assert limits.max_vs_g == 1_500 * share
    assert limits.max_feed_g == 8_000 * share
    assert limits.max_slurry_ml == 20_000


def test_running_rises_fifteen_percent_a_week() -> None:
    limits = feed_limits(replace(DRUM, stable_mean_vs_g=400), WARM, RULES)
    assert limits.max_vs_g == 460
    assert limits.binding("vs_g").rule_id == "rise_per_week"
    # From nothing a rise to 0.1 kg VS/m3.d is always allowed (assumed).
    assert feed_limits(replace(DRUM, stable_mean_vs_g=0), WARM, RULES).max_vs_g == 100


def test_running_without_records_takes_half() -> None:
    limits = feed_limits(replace(DRUM, stable_mean_vs_g=None), WARM, RULES)
    assert (limits.max_vs_g, limits.max_feed_g) == (750, 4_000)
    assert limits.binding("vs_g").rule_id == "unknown_history"


@pytest.mark.parametrize(
    ("cause", "weeks", "days", "confirmed", "share"),
    [
        # Less for each idle week, never under a quarter (assumed).
        ("pause", 0, 0, 0, 1.0), ("pause", 2, 0, 0, 0.7), ("pause", 9, 0, 0, 0.25),
        # 10-25 % after souring (assumed).
        ("souring", 0, 0, 0, 0.10), ("souring", 0, 8, 0, 0.10), ("souring", 0, 3, 1, 0.10),
        ("souring", 0, 8, 1, 0.25),
    ],
)  # fmt: skip
def test_recovering_starts_from_the_stable_median(
    cause: str, weeks: int, days: int, confirmed: int, share: float
) -> None:
    back = replace(
        DRUM,
        stage=Stage.RECOVERING,
        recovering_from=cause,
        idle_weeks=weeks,
        stage_days=days,
        confirmed_steps=confirmed,
        stable_median_vs_g=1_000,
    )
    assert feed_limits(back, WARM, RULES).max_vs_g == 1_000 * share
    unknown = replace(back, stable_median_vs_g=None)
    assert feed_limits(unknown, WARM, RULES).binding("vs_g").rule_id == "recovery_unknown"


@pytest.mark.parametrize(
    ("seen", "rule_id"),
    [
        # pH < 6.5 stop feeding: handbooks (from memory).
        ({"ph_strip": 6.4}, "ph_stop"),
        ({"sour_smell": True}, "sour_smell"),
        ({"gas_fall_share": 0.3, "gas_fall_cleared": True}, "gas_fall_stop"),
        ({"coldest_slurry_c": 8.0}, "too_cold"),
    ],
)
def test_trouble_stops_feeding_and_suspends_the_minimum(seen: dict[str, Any], rule_id: str) -> None:
    limits = feed_limits(DRUM, replace(WARM, **seen), RULES)
    assert {limits.binding(quantity).rule_id for quantity in QUANTITIES} == {rule_id}
    assert limits.max_feed_g == limits.max_vs_g == limits.min_vs_g == 0
    assert limits.suspended is not None


def test_a_good_strip_stops_nothing() -> None:
    assert feed_limits(DRUM, replace(WARM, ph_strip=6.5), RULES).max_vs_g == 1_500


@pytest.mark.parametrize(
    ("seen", "rule_id"),
    [
        ({"gas_fall_share": 0.3}, "gas_fall_ask"),
        ({"days_since_reading": 7}, "reading_stale"),
        ({"cooled_k": 3.1}, "cooling_hold"),
    ],
)
def test_doubt_holds_the_feed_where_it_is(seen: dict[str, Any], rule_id: str) -> None:
    limits = feed_limits(replace(DRUM, stable_mean_vs_g=700), replace(WARM, **seen), RULES)
    assert limits.max_vs_g == 700
    assert limits.binding("vs_g").rule_id == rule_id
    assert (limits.suspended is not None) == (rule_id == "gas_fall_ask")


def test_gas_with_nobody_home() -> None:
    away = replace(WARM, away=True, gas_room_l=210)
    limits = feed_limits(DRUM, away, RULES)
    assert limits.max_vs_g == 300  # 210 L / 0.7 L per g VS (assumed)
    assert limits.binding("vs_g").rule_id == "gas_away"
    assert feed_limits(DRUM, replace(away, away=False), RULES).max_vs_g == 1_500


def test_outflow_needs_room() -> None:
    limits = feed_limits(DRUM, replace(WARM, outflow_room_ml=4_000), RULES)
    assert limits.max_slurry_ml == 4_000
    assert limits.binding("slurry_ml").rule_id == "outflow_room"


def test_an_administrator_holds_one_digester_lower() -> None:
    held = replace(DRUM, tightenings=(Tightening("vs_g", 500, "new burner"),))
    limits = feed_limits(held, WARM, RULES)
    assert limits.max_vs_g == 500
    assert "new burner" in str(limits.binding("vs_g").sentence)


def test_target_and_minimum() -> None:
    limits = feed_limits(DRUM, WARM, RULES)
    # 8 kg of the usual waste at 87 g VS/kg is 696 g; 20 L at 300 g/L hold 6 kg: 522 g; 90 %.
    assert limits.target_vs_g == 469
    assert limits.min_vs_g == 234
    assert limits.planned_cap("vs_g") == 1_350
    assert feed_limits(replace(DRUM, wanted_vs_g=300), WARM, RULES).target_vs_g == 300


def test_a_plan_fills_a_rise_whole_and_the_tank_to_nine_tenths() -> None:
    # 15 % over 400 is 460; nine tenths of the tank's 1500 are 1350.
    rising = feed_limits(replace(DRUM, stable_mean_vs_g=400), WARM, RULES)
    assert (rising.max_vs_g, rising.planned_cap("vs_g"), rising.target_vs_g) == (460, 460, 460)
    near = feed_limits(replace(DRUM, stable_mean_vs_g=1_250), WARM, RULES)
    assert (near.max_vs_g, near.planned_cap("vs_g")) == (1_437, 1_350)


def test_the_model_lowers_to_the_minimum_and_below_only_with_an_observation() -> None:
    plain = feed_limits(DRUM, WARM, RULES)
    doubting = replace(WARM, model_vs_g=50)
    alone = feed_limits(DRUM, doubting, RULES)
    assert alone.max_vs_g == plain.min_vs_g
    seen = feed_limits(DRUM, replace(doubting, ph_strip=6.7), RULES)
    assert seen.max_vs_g == 50
    hopeful = feed_limits(DRUM, replace(WARM, model_vs_g=90_000), RULES)
    assert hopeful.max_vs_g == plain.max_vs_g
    assert hopeful.target_vs_g == plain.target_vs_g


def test_cooked_and_animal_waste_follow_the_groups_switch() -> None:
    off = feed_limits(DRUM, WARM, RULES)
    assert off.refused_groups == {"excluded", "cooked", "animal"}
    named = LimitRules(RULES.rules, {"cooked": "By-law 7 of the invented town"})
    on = feed_limits(DRUM, WARM, named)
    assert on.refused_groups == {"excluded", "animal"}
    assert {cap.group for cap in off.share_caps} == {
        "citrus", "oil_fat", "onion", "fruit_sugar", "protein", "slow", "unknown_solids",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"plate_feed_g": 0}, "rated daily feed is 0 grams; it must be at least 1"),
        ({"plate_feed_g": -5}, "at least 1"),
        ({"working_volume_ml": 1.5}, "whole millilitres"),
        ({"solids_target": 0.2}, r"at most 0\.08"),
        ({"stage": Stage.RECOVERING}, "from what it recovers"),
    ],
)
def test_impossible_digesters_are_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(FigureError, match=message):
        replace(DRUM, **change)


@pytest.mark.parametrize("celsius", [float("nan"), float("inf"), -60.0])
def test_impossible_days_are_refused(celsius: float) -> None:
    with pytest.raises(FigureError, match="slurry temperature"):
        DayConditions(on=ON, coldest_slurry_c=celsius)


DIGESTERS = st.builds(
    DigesterFacts,
    code=st.just("ANY"),
    working_volume_ml=st.integers(1, 30_000_000),
    plate_feed_g=st.integers(1, 200_000),
    plate_slurry_ml=st.integers(1, 500_000),
    stage=st.sampled_from(
        [stage for stage in Stage if stage is not Stage.RECOVERING],
    ),
    stage_days=st.integers(0, 90),
    confirmed_steps=st.integers(0, 5),
    buffered=st.booleans(),
    stable_mean_vs_g=st.none() | st.integers(0, 20_000),
    wanted_vs_g=st.none() | st.integers(0, 20_000),
)
DAYS = st.builds(
    DayConditions,
    on=st.just(ON),
    coldest_slurry_c=st.floats(-5, 45),
    ph_strip=st.none() | st.floats(4, 9),
    sour_smell=st.booleans(),
    gas_fall_share=st.none() | st.floats(-1, 1),
    gas_fall_cleared=st.booleans(),
    days_since_reading=st.none() | st.integers(0, 30),
    away=st.booleans(),
    gas_room_l=st.none() | st.integers(0, 5_000),
    outflow_room_ml=st.none() | st.integers(0, 200_000),
    model_vs_g=st.none() | st.integers(0, 20_000),
)


@given(DIGESTERS, DAYS)
def test_a_target_lies_within_and_a_minimum_under_it(
    digester: DigesterFacts, day: DayConditions
) -> None:
    limits = feed_limits(digester, day, RULES)
    assert 0 <= limits.min_vs_g <= limits.target_vs_g <= limits.planned_cap("vs_g")
    assert limits.max_vs_g <= 2 * digester.working_volume_ml / 1000
    assert limits.max_feed_g <= digester.plate_feed_g
    assert limits.max_slurry_ml <= digester.plate_slurry_ml
    if limits.suspended is not None:
        assert limits.min_vs_g == 0
    for limit in limits.limits:
        assert "%(" not in str(limit.sentence)


@given(DIGESTERS, DAYS, st.floats(0, 10))
def test_a_colder_day_never_allows_more(
    digester: DigesterFacts, day: DayConditions, kelvin: float
) -> None:
    colder = replace(day, coldest_slurry_c=day.coldest_slurry_c - kelvin, model_vs_g=None)
    day = replace(day, model_vs_g=None)
    warm, cold = feed_limits(digester, day, RULES), feed_limits(digester, colder, RULES)
    for quantity in QUANTITIES:
        assert cold.binding(quantity).value <= warm.binding(quantity).value


@given(
    DIGESTERS,
    DAYS,
    st.sampled_from(sorted(RULES.rules)),
    st.floats(0, 1),
)
def test_tightening_a_rule_never_raises_a_maximum(
    digester: DigesterFacts, day: DayConditions, rule_id: str, share: float
) -> None:
    rule = RULES[rule_id]
    stricter = rule.value * share if rule.tighter == "lower" else rule.value * (1 + share)
    tightened = change_rule(RULES, rule_id, stricter, asked_by="Ana")
    # The model may lower a feed to the minimum only, and a tighter minimum share lowers that too.
    day = replace(day, model_vs_g=None)
    before, after = feed_limits(digester, day, RULES), feed_limits(digester, day, tightened)
    for quantity in QUANTITIES:
        assert after.binding(quantity).value <= before.binding(quantity).value
    caps = {cap.group: cap.share_ppm for cap in before.share_caps}
    for cap in after.share_caps:
        assert cap.share_ppm <= caps[cap.group]


@given(DIGESTERS, DAYS, st.sampled_from(QUANTITIES), st.integers(0, 20_000))
def test_a_tightening_never_raises_a_maximum(
    digester: DigesterFacts, day: DayConditions, quantity: str, value: int
) -> None:
    held = replace(digester, tightenings=(Tightening(quantity, value, "careful"),))
    before, after = feed_limits(digester, day, RULES), feed_limits(held, day, RULES)
    for each in QUANTITIES:
        assert after.binding(each).value <= before.binding(each).value
    assert after.binding(quantity).value <= value
