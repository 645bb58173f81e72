"""Mixes against handbook sizing examples and mass balance."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.feedstock.core.materials import Material
from apps.feedstock.core.mixing import Portion, mix_portions, water_for_solids
from apps.kernel.figures import Figure, FigureError

UNITS = {
    "ts_pct_wet": "% of fresh mass",
    "vs_pct_ts": "% of dry mass",
    "n_pct_dm": "% of dry mass",
    "cn_ratio": "-",
    "bulk_density_kg_per_l": "kg/L",
}


def material(code: str, **figures: float) -> Material:
    return Material(
        code,
        code,
        {
            name: Figure(value, UNITS[name], "invented", "assumed")
            for name, value in figures.items()
        },
    )


def water(amount_g: int) -> Portion:
    return Portion(material("water", ts_pct_wet=0, vs_pct_ts=0), amount_g)


def test_solids_of_dung_and_water() -> None:
    """GTZ 1989 (Werner, Stoehr, Hees) s. 4.5: 150 kg dung of 12 % TS and 100 kg water; the book
    prints 7 %, its formula MTS = sum(TS W)/sum W (p. 20) gives 7.2 %."""
    dung = material("dung", ts_pct_wet=12, vs_pct_ts=80)
    mix = mix_portions([Portion(dung, 150_000), water(100_000)])
    assert mix.ts_share == pytest.approx(0.072)
    assert mix.amount_g == 250_000


def test_water_to_a_solids_target() -> None:
    """Mass balance: 150 kg of 12 % TS to 7 % takes 107.1 kg of water."""
    assert water_for_solids(150_000, 0.12, 0.07) == pytest.approx(107_142.86, abs=0.01)
    assert water_for_solids(150_000, 0.05, 0.07) == 0


def test_carbon_to_nitrogen_is_by_mass() -> None:
    """10 kg (N 0.40 % of fresh, C:N 20) and 2 kg (N 0.20 % of fresh, C:N 200): 1.60 kg C,
    0.044 kg N, 36.4 (mass-based, Rynk 1992).
    The fresh-weight average of GTZ 1989 p. 20 would give 50.0."""
    green = material("green", ts_pct_wet=20, vs_pct_ts=90, n_pct_dm=2.0, cn_ratio=20)
    straw = material("straw", ts_pct_wet=80, vs_pct_ts=90, n_pct_dm=0.25, cn_ratio=200)
    mix = mix_portions([Portion(green, 10_000), Portion(straw, 2_000)])
    assert mix.carbon_g == pytest.approx(1600)
    assert mix.nitrogen_g == pytest.approx(44)
    assert mix.cn_ratio == pytest.approx(36.4, abs=0.05)


def test_no_claim_where_a_part_makes_none() -> None:
    known = material("known", ts_pct_wet=20, vs_pct_ts=90, cn_ratio=20, bulk_density_kg_per_l=0.9)
    silent = material("silent", ts_pct_wet=20, vs_pct_ts=90)
    mix = mix_portions([Portion(known, 1000), Portion(silent, 1000)])
    assert mix.cn_ratio is None
    assert mix.without_carbon == ("silent",)
    assert mix.density_kg_per_l is None
    assert mix_portions([Portion(known, 1000), Portion(silent, 0)]).density_kg_per_l == 0.9


def test_unknown_solids_are_counted_cautiously_and_named() -> None:
    mix = mix_portions([Portion(material("mystery"), 1000)])
    assert mix.with_default_solids == ("mystery",)
    # Assumed defaults: 40 % TS, 95 % of it VS.
    assert mix.vs_g == pytest.approx(380)


def test_an_empty_mix_is_zero_and_claims_nothing() -> None:
    mix = mix_portions([])
    assert (mix.amount_g, mix.ts_share, mix.vs_share, mix.cn_ratio) == (0, 0.0, 0.0, None)


@pytest.mark.parametrize("amount", [-1, 1.5, float("nan"), True])
def test_amounts_are_whole_grams(amount: int) -> None:
    with pytest.raises(FigureError, match="amount of green"):
        Portion(material("green"), amount)


PARTS = st.lists(
    st.tuples(st.integers(0, 50_000), st.floats(0, 100), st.floats(0, 100)), max_size=6
)


@given(PARTS, PARTS)
def test_mixing_conserves_mass(
    first: list[tuple[int, float, float]], second: list[tuple[int, float, float]]
) -> None:
    def mixed(parts: list[tuple[int, float, float]]) -> list[Portion]:
        return [
            Portion(material(f"m{i}", ts_pct_wet=ts, vs_pct_ts=vs), grams)
            for i, (grams, ts, vs) in enumerate(parts)
        ]

    one, two = mix_portions(mixed(first)), mix_portions(mixed(second))
    both = mix_portions([*mixed(first), *mixed(second)])
    assert both.amount_g == one.amount_g + two.amount_g
    assert both.ts_g == pytest.approx(one.ts_g + two.ts_g)
    assert both.vs_g == pytest.approx(one.vs_g + two.vs_g)
    assert 0 <= both.vs_g <= both.ts_g + 1e-9 <= both.amount_g + 1e-6


@given(st.integers(1, 100_000), st.floats(0.04, 0.99), st.floats(0.04, 0.08))
def test_watered_mix_meets_its_target(amount_g: int, ts: float, target: float) -> None:
    water_g = water_for_solids(amount_g, ts, target)
    assert amount_g * ts / (amount_g + water_g) == pytest.approx(min(ts, target))
