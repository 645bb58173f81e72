"""Gas in the holder by the last reading."""

from __future__ import annotations

from datetime import timedelta
from math import pi

import pytest

from apps.digesters.core.process.gas import standard_m3
from apps.digesters.models import ReadingKind
from apps.digesters.operations.record_reading import DrumAboveStop, record_reading
from apps.digesters.queries.gas_now import gas_now
from apps.digesters.queries.model_inputs import model_inputs
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


def test_a_dome_whose_plate_tells_its_pressure_is_read_by_pressure(cast):
    read(cast, ReadingKind.FULLNESS, 2, "a", digester=cast.dome)
    assert gas_now(cast.dome, cast.now).height_share == pytest.approx(0.5)
    cast.dome.full_pressure_pa = 8_000
    cast.dome.save()
    assert gas_now(cast.dome, cast.now) is None
    read(cast, ReadingKind.PRESSURE, 6_000, "b", digester=cast.dome)
    gas = gas_now(cast.dome, cast.now)
    assert gas.height_share == pytest.approx(0.75)
    # Three quarters of what it holds full (assumed proportional to pressure).
    assert gas.picture.standard_l == pytest.approx(
        750 * float(standard_m3(cast.dome.gas_holder_ml / 1e6, 25.0, 101_325.0 + 6_000.0))
    )
    assert not gas.picture.at_least
    read(cast, ReadingKind.PRESSURE, 8_200, "c", digester=cast.dome)
    assert gas_now(cast.dome, cast.now).picture.at_least


def test_two_looks_at_a_domes_gauge_tell_the_gas_that_was_made(cast):
    cast.dome.full_pressure_pa = 8_000
    cast.dome.save()
    for back, pressure_pa in ((1, 2_000), (0, 4_000)):
        record_reading(
            cast.dome,
            kind=ReadingKind.PRESSURE,
            value=pressure_pa,
            taken_at=cast.now - timedelta(days=back),
            now=cast.now,
            client_key=f"p{back}",
        )
    record_reading(
        cast.dome,
        kind=ReadingKind.BURNER,
        value=0,
        taken_at=cast.now - timedelta(days=1),
        now=cast.now,
        client_key="b",
    )
    inputs = model_inputs(cast.group, [cast.dome], cast.today, cast.today)[cast.dome.pk]
    record = inputs.records(cast.today, cast.today)[0]
    assert record.gas is not None
    quarter_m3 = cast.dome.gas_holder_ml / 1e6 / 4
    warm = float(standard_m3(1.0, record.slurry_c, 101_325.0))
    assert record.gas.standard_m3 == pytest.approx(quarter_m3 * warm, rel=0.10)
