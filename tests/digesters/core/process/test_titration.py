"""FOS/TAC after Nordmann."""

import pytest

from apps.digesters.core.process.titration import fos_tac


def test_worked_titration():
    # Mantech Method Abstract 127: 20 mL, 0.1 N, 8.97 mL to pH 5.0 and 9.81 mL to 4.4 print 0.28;
    # FOS 622.2 and TAC 2244.5 recomputed from its formulae.
    result = fos_tac(8.97, 9.81)
    assert result.fos_mg_per_l == pytest.approx(622.2, abs=0.1)
    assert result.tac_mg_per_l == pytest.approx(2244.5, abs=0.1)
    assert round(result.ratio, 2) == 0.28


def test_a_quarter_of_the_sample_takes_a_quarter_of_the_acid():
    assert fos_tac(8.97 / 4, 9.81 / 4, sample_ml=5.0).ratio == pytest.approx(
        fos_tac(8.97, 9.81).ratio
    )


def test_less_acid_to_the_lower_ph_is_refused():
    with pytest.raises(ValueError, match="no more than"):
        fos_tac(9.81, 8.97)
