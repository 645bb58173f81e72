"""Free ammonia against the textbook form."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.digesters.core.free_ammonia import free_ammonia_share
from apps.kernel.figures import FigureError


@pytest.mark.parametrize(
    ("ph", "celsius", "share"),
    # Hansen et al. 1998 form (from memory): 3.4 % at pH 7.5 and 35 °C; others derived with it.
    [(7.5, 35, 0.0343), (7.0, 25, 0.0056), (8.0, 35, 0.101)],
)
def test_free_ammonia(ph: float, celsius: float, share: float) -> None:
    assert free_ammonia_share(ph, celsius) == pytest.approx(share, rel=0.01)


def test_constant_of_ammonium_at_25_degrees() -> None:
    """Half is free at pH = pKa; the CRC Handbook gives 9.25 for ammonium at 25 °C (from memory)."""
    assert free_ammonia_share(9.25, 25) == pytest.approx(0.5, abs=0.01)


@given(st.floats(4, 10), st.floats(0, 60), st.floats(0.01, 2), st.floats(0.1, 10))
def test_warmer_and_less_acid_frees_more(
    ph: float, celsius: float, more_ph: float, kelvin: float
) -> None:
    share = free_ammonia_share(ph, celsius)
    assert 0 < share < free_ammonia_share(ph + more_ph, celsius) < 1
    assert share < free_ammonia_share(ph, celsius + kelvin)


def test_nonsense_is_refused() -> None:
    with pytest.raises(FigureError, match="pH is 15"):
        free_ammonia_share(15, 30)
