"""Gas in the holder by the last reading."""

from __future__ import annotations

from datetime import timedelta
from math import pi

import pytest

from apps.digesters.models import ReadingKind
from apps.digesters.operations.record_reading import DrumAboveStop, record_reading
from apps.digesters.queries.gas_now import gas_now
from tests.cast import make_cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    """Duarte's drum: 1.2 m across, stop at 900 mm."""
    cast = make_cast(history_days=0)
    area_m2 = pi * 1.2**2 / 4
    cast.drum.drum_mass_g = round(100 * area_m2 * 1000)  # 100 kg/m2: 10 cm of water, 981 Pa
    cast.drum.save()
    return cast


def read(cast, kind, value, key, **changes):
    return record_reading(
        changes.pop("digester", cast.drum),
        kind=kind,
        value=value,
        taken_at=cast.now,
        now=cast.now,
        client_key=key,
        **changes,
    )


def test_height_and_temperature_give_standard_litres_and_minutes(cast):
    assert gas_now(cast.drum, cast.now) is None
    read(cast, ReadingKind.DRUM_HEIGHT, 500, "a")
    read(cast, ReadingKind.SLURRY_TEMPERATURE, 2_700, "b")
    gas = gas_now(cast.drum, cast.now)
    wet_l = pi * 1.2**2 / 4 * 0.5 * 1000
    assert gas.picture.wet_l == pytest.approx(wet_l, rel=1e-6)
    # 0.8867 standard m3 per m3 at 27 °C and +981 Pa (derived, equation of R package biogas)
    assert gas.picture.standard_l == pytest.approx(wet_l * 0.8867, rel=1e-3)
    assert gas.picture.minutes == int(wet_l / 300 * 60)  # the burner's 300 L/h, GTZ 1993
    assert gas.height_share == pytest.approx(500 / 900)
    assert not gas.picture.at_least


def test_a_drum_above_its_stop_is_asked_again_and_then_stands_at_its_stop(cast):
    with pytest.raises(DrumAboveStop, match="above the stop at 900 mm"):
        read(cast, ReadingKind.DRUM_HEIGHT, 950, "a")
    reading = read(cast, ReadingKind.DRUM_HEIGHT, 950, "a", is_confirmed=True).reading
    assert reading.value == 900
    assert gas_now(cast.drum, cast.now + timedelta(hours=1)).picture.at_least


def test_a_bag_is_read_by_quarters(cast):
    read(cast, ReadingKind.FULLNESS, 2, "a", digester=cast.bag)
    gas = gas_now(cast.bag, cast.now)
    assert gas.picture.wet_l == pytest.approx(cast.bag.gas_holder_ml / 2000)
