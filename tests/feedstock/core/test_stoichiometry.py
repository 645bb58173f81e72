"""Methane from formulas against printed results.

Examples without another source: Hafner & Rennuit, R package "biogas" 1.64, vignette predBg.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.feedstock.core.stoichiometry import (
    CH4_ML_PER_MOL,
    blend_yields,
    gas_yield,
    methane_from_cod,
    molar_mass,
    parse_formula,
)
from apps.kernel.figures import FigureError

OIL = "C54H100O7"


@pytest.mark.parametrize(
    ("formula", "grams", "to_cells", "methane_ml"),
    [
        ("C6H10O5", 1, 0, 413.7274),
        ("C6H10O5", 5.75, 0, 2378.933),
        ("C6H10O5", 5.75, 0.05, 2259.986),
        ("C6H10O5", 5.75, 0.20, 1903.146),
        ("CH3COOH", 1, 0, 372.3538),
        ("CH2O", 1, 0, 372.3538),
        ("CHOOH", 1, 0, 121.4563),
        ("CH3CH2COOH", 1, 0, 528.2409),
    ],
)
def test_methane_by_formula(formula: str, grams: float, to_cells: float, methane_ml: float) -> None:
    computed = grams * gas_yield(formula, to_cells=to_cells).methane_ml_per_g
    assert computed == pytest.approx(methane_ml, rel=2e-7)


def test_methane_of_one_mole_of_acetic_acid() -> None:
    computed = gas_yield("CH3COOH").methane_ml_per_g * molar_mass("CH3COOH")
    assert computed == pytest.approx(22_360.588)


def test_paper_and_oil() -> None:
    """Five parts of paper to one of oil by mass; the package rounds moles to four figures."""
    blend = blend_yields({"C6H10O5": 5 / 6, OIL: 1 / 6})
    assert blend.methane_ml_per_g == pytest.approx(508.1105, rel=1e-5)
    assert blend.methane_share == pytest.approx(0.550384, abs=5e-6)


def test_cattle_manure_by_composition() -> None:
    """Composition after Moller 2004; 40 % degradable, 10 % of it to cells. The formula of
    protein is our inference: the printed yield and share both follow from C4H6.1O1.2N, while older
    versions of the package name C5H7O2N. It rounds moles to four figures."""
    manure = {
        "C6H10O5": 0.682,
        "C4H6.1O1.2N": 0.158,
        "C57H104O6": 0.054,
        "C2H4O2": 0.031,
        "C10H13O3": 0.075,
    }
    blend = blend_yields(manure, degradable=0.4, to_cells=0.1)
    assert blend.methane_ml_per_g == pytest.approx(175.3243, rel=1e-5)
    assert blend.methane_share == pytest.approx(0.5332, abs=5e-5)


def test_acetate_and_formate() -> None:
    """3.6 mmol of acetic and formic acid, one to one."""
    each_mmol = 1.8
    total = sum(
        gas_yield(acid).methane_ml_per_g * molar_mass(acid) * each_mmol / 1000
        for acid in ("CH3COOH", "CHOOH")
    )
    assert total == pytest.approx(50.31132, rel=1e-6)


def test_methane_from_oxygen_demand() -> None:
    assert methane_from_cod(2.6) == pytest.approx(908.3989, rel=1e-6)
    assert methane_from_cod(2.6, degradable=0.6, to_cells=0.1) == pytest.approx(490.5354, rel=1e-6)


def test_gas_composition() -> None:
    """Buswell & Boyle table, renewable-energy-concepts: glucose 50 % CH4, fat 71 %; protein 38 %
    CH4, 38 % CO2, 18 % NH3, 6 % H2S (its formula holds sulphur, which we leave out)."""
    assert gas_yield("C6H12O6").methane_share == pytest.approx(0.50)
    assert gas_yield("C51H98O6").methane_share == pytest.approx(0.71, abs=0.005)


def test_theoretical_ceilings() -> None:
    """VDI 4630 and textbooks print about 415, 1014 and 496-500 mL/g with 22.4 L/mol (from
    memory); with 22.3606 L/mol they are 413.7, 1004.1, 1010.2 and 494.2."""
    for formula, ceiling in (
        ("C6H12O6", 372.4), ("C6H10O5", 413.7), ("C51H98O6", 1004.1), ("C57H104O6", 1010.2),
        ("C5H7O2N", 494.2),
    ):  # fmt: skip
        assert gas_yield(formula).methane_ml_per_g == pytest.approx(ceiling, abs=0.06)


@pytest.mark.parametrize("formula", ["", "C6H10S", "6CH", "c6h10", "C6H10O5 ", "Xx", "C-1"])
def test_unreadable_formulas_are_refused(formula: str) -> None:
    with pytest.raises(FigureError, match="cannot be read"):
        parse_formula(formula)


def test_water_gives_no_methane() -> None:
    with pytest.raises(FigureError, match="no methane"):
        gas_yield("H2O")


@given(
    st.integers(1, 60), st.integers(0, 120), st.integers(0, 30), st.integers(0, 10),
    st.floats(0, 1), st.floats(0, 0.9),
)  # fmt: skip
def test_carbon_and_electrons_are_kept(
    n: int, a: int, b: int, c: int, degradable: float, to_cells: float
) -> None:
    if 4 * n + a - 2 * b - 3 * c < 0:
        return
    formula = f"C{n}" + "".join(f"{e}{k}" for e, k in (("H", a), ("O", b), ("N", c)) if k)
    whole, part = gas_yield(formula), gas_yield(formula, degradable, to_cells)
    assert part.methane_ml_per_g == pytest.approx(
        whole.methane_ml_per_g * degradable * (1 - to_cells)
    )
    methane_mol = whole.methane_ml_per_g / CH4_ML_PER_MOL * molar_mass(formula)
    assert methane_mol <= n or a > 4 * n + 3 * c - 2 * b - 1
