"""Lifting figures against the published tables."""

import pytest

from apps.rounds.core.handling import (
    DAY_KG,
    LIFT_KG,
    handling,
    lift_limit_g,
    recommended_weight_kg,
)
from apps.rounds.core.problem import Side, Tour, Visit
from apps.rounds.core.schedule import timing
from tests.rounds.small import errand, street


@pytest.mark.parametrize(
    ("reach", "height", "travel", "turn", "multiplier"),
    [
        (25, 75, 25, 0, 1.00),
        (30, 75, 25, 0, 0.83),
        (40, 75, 25, 0, 0.63),
        (63, 75, 25, 0, 0.40),
        (25, 0, 25, 0, 0.78),
        (25, 20, 25, 0, 0.84),
        (25, 175, 25, 0, 0.70),
        (25, 75, 40, 0, 0.93),
        (25, 75, 70, 0, 0.88),
        (25, 75, 25, 45, 0.86),
        (25, 75, 25, 90, 0.71),
    ],
)
def test_multipliers_of_the_lifting_equation(reach, height, travel, turn, multiplier):
    """NIOSH publication 94-110, tables 1 to 4 (from memory): load constant 23 kg."""
    found = recommended_weight_kg(reach, height, travel, turn)
    assert found / 23 == pytest.approx(multiplier, abs=0.0055)


def test_out_of_reach_nothing_is_lifted():
    """NIOSH publication 94-110: beyond its range the equation allows nothing."""
    assert recommended_weight_kg(64, 75, 25) == 0
    assert recommended_weight_kg(25, 176, 25) == 0


def test_a_volunteer_lifts_at_most_fifteen_kilograms():
    """ISO 11228-1, reference mass for the general public (from memory)."""
    assert lift_limit_g(25_000) == LIFT_KG.value * 1000 == 15_000
    assert lift_limit_g(8_000) == 8_000


def tour_of(amount_g: int):
    rounds = street(errand("a", 1, 2, amount_g), carriers=())
    wide = type(rounds)(
        rounds.errands,
        tuple(type(c)(c.code, 0, 0, c.shift, 1_000_000) for c in rounds.carriers),
        rounds.ways,
    )
    visits = (Visit("a", Side.FETCH), Visit("a", Side.BRING))
    return wide, timing(wide, Tour("anna", visits))


def test_heavy_loads_are_shared_out_over_pails_and_said_so():
    found = handling(*tour_of(32_000), carry_limit_g=15_000)
    assert (found.lifts, found.heaviest_g, found.lifted_g) == (6, 10_667, 64_000)
    assert "several pails" in str(found.cautions[0])


def test_a_light_round_has_no_caution():
    assert handling(*tour_of(4_000), carry_limit_g=15_000).cautions == ()


def test_too_much_for_the_time_is_said():
    """6,000 kg in eight hours (ISO 11228-1:2003, from memory): 400 s allow 83 kg."""
    found = handling(*tour_of(50_000), carry_limit_g=15_000)
    assert found.day_limit_g == int(DAY_KG.value * 1000 * 400 / 28_800)
    assert "Share the round" in str(found.cautions[-1])
