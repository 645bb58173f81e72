"""What a look at a holder says, by kind."""

import pytest

from apps.digesters.core.process.gas import standard_m3
from apps.digesters.core.process.gas_made import gas_made
from apps.digesters.core.process.holder import (
    FixedDome,
    FloatingDrum,
    GasBag,
    GasInHolder,
    HolderWrong,
)

DRUM = FloatingDrum(diameter_m=1.0, stop_height_m=0.6, drum_weight_kg=78.54)


def test_drum_pressure_is_weight_over_area():
    # 78.54 kg over 0.7854 m2 is 100 kg/m2: 10 cm of water, 981 Pa (worked example of 10 cm).
    assert DRUM.gauge_pa == pytest.approx(981.0, rel=1e-3)


def test_drum_gas_is_area_times_height_made_standard():
    # 0.7854 m2 x 0.5 m at 27 C and +981 Pa; 0.8867 standard m3 per m3 (derived, biogas package).
    seen = DRUM.gas_at(0.5, 27.0)
    assert seen.standard_m3 == pytest.approx(0.3927 * 0.8867, rel=1e-3)
    assert not seen.at_stop


@pytest.mark.parametrize("height_m", [0.58, 0.6, 0.75])
def test_drum_at_its_stop_holds_no_more(height_m):
    seen = DRUM.gas_at(height_m, 27.0)
    assert seen.at_stop
    assert seen.standard_m3 <= DRUM.gas_at(0.6, 27.0).standard_m3


def test_drum_below_its_mark_is_refused():
    with pytest.raises(HolderWrong, match="empty mark"):
        DRUM.gas_at(-0.2, 27.0)
    with pytest.raises(HolderWrong, match="measure it again"):
        FloatingDrum(0.0, 0.5, 10.0)


def test_dome_is_read_by_pressure_and_bag_by_quarters():
    dome = FixedDome(full_m3=1.0, full_pa=8000.0)
    half = dome.gas_at(4000.0, 25.0)
    assert half.standard_m3 == pytest.approx(
        0.5 * float(standard_m3(1.0, 25.0, 101_325.0 + 4000.0))
    )
    assert dome.gas_at(8000.0, 25.0).at_stop
    bag = GasBag(2.0)
    assert bag.gas_at(2, 25.0).standard_m3 == pytest.approx(float(standard_m3(1.0, 25.0, 101_325)))
    assert bag.gas_at(4, 25.0).at_stop
    with pytest.raises(HolderWrong, match="0 to 4"):
        bag.gas_at(5, 25.0)


def test_gas_made_is_gained_plus_burnt_plus_released():
    before, after = GasInHolder(0.20, 0.01, False), GasInHolder(0.30, 0.01, False)
    made = gas_made(before, after, [0.25], released_m3=0.05)
    assert made.standard_m3 == pytest.approx(0.40)
    assert made.sd_m3 > 0.01
    assert not made.at_least


def test_full_holder_gives_a_lower_bound():
    made = gas_made(GasInHolder(0.2, 0.01, False), GasInHolder(0.5, 0.01, True), [0.1])
    assert made.at_least


def test_gas_made_is_never_negative():
    made = gas_made(GasInHolder(0.5, 0.01, False), GasInHolder(0.1, 0.01, False), [0.0])
    assert made.standard_m3 == 0.0


def test_unseen_full_evening_makes_it_a_lower_bound():
    empty = GasInHolder(0.1, 0.01, False)
    cooked = gas_made(empty, empty, [0.1, 0.3, 0.2], room_m3=0.6)
    idle = gas_made(empty, empty, [0.1, 0.0, 0.8], room_m3=0.5)
    assert not cooked.at_least
    assert idle.at_least
    assert not gas_made(empty, empty, [0.1, 0.0, 0.8]).at_least  # nothing known of its size
