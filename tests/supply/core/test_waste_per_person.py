"""Survey sums against a printed survey."""

import pytest

from apps.kernel.figures import FigureError
from apps.supply.core.waste_per_person import guess_household_g, part_kg, waste_per_person_kg


def test_a_printed_survey() -> None:
    """African J. Appl. Res. (Gongo la Mboto): 34.39 t/d of 57 312 people, 39 % food: 0.6 kg a
    person, 13.41 t/d."""
    assert waste_per_person_kg(34_390, 57_312) == pytest.approx(0.600, abs=0.0005)
    assert part_kg(34_390, 0.39) == pytest.approx(13_410, abs=5)


def test_first_guess_of_a_household() -> None:
    """UNEP Food Waste Index 2024: 79 kg a person and year, 0.216 kg a day."""
    assert guess_household_g(1) == pytest.approx(216, abs=1)
    assert guess_household_g(0) == 0


def test_nobody_surveyed_is_refused() -> None:
    with pytest.raises(FigureError, match="at least 1"):
        waste_per_person_kg(10, 0)
