"""What may still be taken, always with the rule that binds."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.digesters.core.facts import QUANTITIES, DayConditions, DigesterFacts
from apps.digesters.core.headroom import (
    Claims,
    Load,
    answer_how_much,
    headroom,
    load_of,
    minimum_left_vs_g,
    spare_capacity,
    target_left_vs_g,
)
from apps.digesters.core.limits import feed_limits
from apps.digesters.core.rules import LimitRules, read_rules
from apps.digesters.core.stages import Stage
from apps.feedstock.core.mixing import Portion
from apps.feedstock.core.published import read_published
from apps.kernel.figures import FigureError

RULES = LimitRules(read_rules().rules, {"cooked": "By-law 7 of the invented town"})
MATERIALS = read_published()
DRUM = DigesterFacts(
    code="LIME",
    working_volume_ml=1_000_000,
    plate_feed_g=8_000,
    plate_slurry_ml=20_000,
    stage=Stage.RUNNING,
    buffered=True,
    stable_mean_vs_g=5_000,
)
DAY = DayConditions(on=date(2030, 6, 3), coldest_slurry_c=28)
LIMITS = feed_limits(DRUM, DAY, RULES)


def grams(code: str, amount_g: int) -> Portion:
    return Portion(MATERIALS[code], amount_g)


def test_load_of_bread_and_tomatoes() -> None:
    """Published table: bread 65 % TS, 97 % VS; tomatoes 6 % TS, 90 % VS. At 7 % solids bread
    makes 65/7 L of slurry a kilogram, tomatoes no less than their own weight.
    Rounded up: 441.4 g and 6500.0005 mL."""
    assert load_of([grams("bread", 700)]) == Load(700, 442, 6_501)
    assert load_of([grams("tomato_rejects", 1_000)]) == Load(1_000, 54, 1_000)


def test_wet_waste_meets_the_plate_and_dry_waste_the_water() -> None:
    tomatoes = answer_how_much(LIMITS, Claims(), [grams("tomato_rejects", 1)])
    assert (tomatoes.spare_g, tomatoes.rule_id) == (8_000, "plate_feed")
    bread = answer_how_much(LIMITS, Claims(), [grams("bread", 1)])
    # 20 L / (65/7 L per kg) = 2.153 kg; the loading cap alone would allow 2.379 kg.
    assert (bread.spare_g, bread.rule_id) == (2_153, "plate_slurry")
    assert "20.0 L" in str(bread.sentence)
    assert bread.source


def test_own_kitchen_waste_goes_first_then_the_bin_then_promises() -> None:
    own = (grams("veg_market_mixed", 2_000),)
    binned = (grams("veg_market_mixed", 1_000),)
    promised = (grams("veg_market_mixed", 1_500),)
    claims = Claims(own, binned, promised)
    assert headroom(LIMITS, claims).feed_g == 5_000
    assert spare_capacity(LIMITS, claims).feed_g == 3_500
    assert spare_capacity(LIMITS, claims, planning=True).feed_g == 2_700
    answer = answer_how_much(LIMITS, claims, [grams("tomato_rejects", 1)])
    assert (answer.headroom_g, answer.spare_g) == (5_000, 3_500)


def test_a_share_cap_binds_a_risky_material() -> None:
    """10 % of mass (assumed): 9 kg of other feed would hold 1 kg citrus; 2.7 kg holds 0.3 kg."""
    claims = Claims(promised=(grams("veg_market_mixed", 2_700),))
    answer = answer_how_much(LIMITS, claims, [grams("citrus_peel", 1)])
    assert (answer.spare_g, answer.rule_id) == (300, "share_citrus")
    assert "10 % of a day's feed may be citrus" in str(answer.sentence)
    assert answer_how_much(LIMITS, Claims(), [grams("citrus_peel", 1)]).spare_g == 0


def test_unknown_solids_are_at_most_a_tenth() -> None:
    mix = [grams("veg_market_mixed", 80), grams("onion_garlic_peel", 20)]
    assert answer_how_much(LIMITS, Claims(), mix).spare_g == 0
    mix = [grams("veg_market_mixed", 90), grams("onion_garlic_peel", 10)]
    assert answer_how_much(LIMITS, Claims(), mix).spare_g > 6_000


def test_oil_is_capped_by_volatile_solids() -> None:
    claims = Claims(promised=(grams("canteen_food_waste", 2_000),))
    answer = answer_how_much(LIMITS, claims, [grams("used_cooking_oil", 1)])
    # 2 kg at 226 g VS/kg; oil 990 g VS/kg may be a tenth: 452.4/9/0.99 = 50.8 g.
    assert (answer.spare_g, answer.rule_id) == (50, "share_oil_fat")


def test_what_the_group_does_not_allow_is_refused() -> None:
    answer = answer_how_much(LIMITS, Claims(), [grams("meat_scraps", 1)])
    assert (answer.headroom_g, answer.rule_id) == (0, "refused_animal")
    assert answer.source


def test_a_stopped_digester_says_why() -> None:
    stopped = feed_limits(DRUM, replace(DAY, ph_strip=6.2), RULES)
    answer = answer_how_much(stopped, Claims(), [grams("veg_market_mixed", 1)])
    assert (answer.spare_g, answer.rule_id) == (0, "ph_stop")
    assert "6.2" in str(answer.sentence)


def test_an_empty_mix_is_refused() -> None:
    with pytest.raises(FigureError, match="mix is empty"):
        answer_how_much(LIMITS, Claims(), [grams("bread", 0)])


FED = st.dictionaries(
    st.sampled_from(sorted(set(MATERIALS) - {"bones", "meat_scraps"})),
    st.integers(0, 6_000),
    max_size=4,
).map(lambda amounts: tuple(grams(code, amount) for code, amount in sorted(amounts.items())))


@given(FED, FED, FED)
def test_headroom_is_never_negative_and_spare_never_above_it(
    own: tuple[Portion, ...], binned: tuple[Portion, ...], promised: tuple[Portion, ...]
) -> None:
    claims = Claims(own, binned, promised)
    head, spare = headroom(LIMITS, claims), spare_capacity(LIMITS, claims)
    plan = spare_capacity(LIMITS, claims, planning=True)
    for quantity in QUANTITIES:
        planned, spared = getattr(plan, quantity), getattr(spare, quantity)
        assert 0 <= planned <= spared <= getattr(head, quantity)
        assert getattr(head, quantity) <= LIMITS.binding(quantity).value


@given(FED, FED)
def test_an_answered_amount_really_fits(
    claimed: tuple[Portion, ...], mix: tuple[Portion, ...]
) -> None:
    mix_g = sum(portion.amount_g for portion in mix)
    if not mix_g:
        return
    claims = Claims(own_kitchen=claimed)
    answer = answer_how_much(LIMITS, claims, mix)
    taken = load_of(claimed)
    assert 0 <= answer.spare_g <= answer.headroom_g
    assert answer.rule_id
    if answer.spare_g:
        given_mix = load_of(mix)
        # The mix keeps its proportions, so its load scales; a unit is left for rounding.
        for quantity in QUANTITIES:
            added = (getattr(given_mix, quantity) - 1) * answer.spare_g / mix_g
            assert getattr(taken, quantity) + added <= LIMITS.binding(quantity).value + 1


def test_own_kitchen_waste_counts_towards_target_and_minimum() -> None:
    # Limits of LIME: target 469, minimum 234 g VS a day; 1 kg of vegetables is 87 g VS.
    assert (LIMITS.target_vs_g, LIMITS.min_vs_g) == (469, 234)
    fed = Claims(own_kitchen=(grams("veg_market_mixed", 1_000),))
    assert target_left_vs_g(LIMITS, fed) == 469 - 87
    assert minimum_left_vs_g([(LIMITS, fed)] * 7) == 7 * (234 - 87)
    # A rich Saturday counts for a poor Sunday.
    rich = Claims(from_bin=(grams("veg_market_mixed", 4_000),))
    assert minimum_left_vs_g([(LIMITS, rich), (LIMITS, Claims())]) == 2 * 234 - 348
    assert target_left_vs_g(LIMITS, Claims(own_kitchen=(grams("bread", 5_000),))) == 0
