"""Warnings: raised once, cleared by evidence, ranked by how soon and how sure."""

from dataclasses import replace

import pytest

from apps.digesters.core.cautions import CAUTIONS
from apps.digesters.core.process.digester_view import DigesterView, WarningKind
from apps.digesters.core.process.warnings import GRAVEST_FIRST, judge, ranked

SOUND = DigesterView(
    souring_probability=0.02,
    ph_strip=7.0,
    fed_vs_7d_g=3000.0,
    minimum_vs_7d_g=1500.0,
    hrt_7d=60.0,
    hrt_floor=40.0,
    ammonia_g_n_l=0.9,
    ph=7.1,
    oil_fat_share=0.02,
    oil_fat_cap=0.10,
    citrus_share=0.02,
    citrus_cap=0.10,
    gas_fall_share=0.0,
    gas_surprise=0.2,
    holder_at_stop=False,
    gas_tomorrow_m3=0.3,
    holder_room_m3=0.5,
    gas_use_m3=0.3,
    slurry_c=28.0,
    slurry_lowest_c=27.5,
)
TROUBLE = {
    WarningKind.SOURING: {"souring_probability": 0.7, "souring_in_days": 3},
    WarningKind.HUNGRY: {"fed_vs_7d_g": 900.0},
    WarningKind.HYDRAULIC: {"hrt_7d": 31.0},
    WarningKind.AMMONIA: {"ammonia_g_n_l": 1.8, "ph": 7.6},
    WarningKind.FATTY: {"oil_fat_share": 0.2},
    WarningKind.CITRUS: {"citrus_share": 0.3},
    WarningKind.GAS_DROP: {"gas_fall_share": 0.4, "gas_surprise": -3.0},
    WarningKind.FULL_HOLDER: {"holder_at_stop": True},
    WarningKind.COLD_FRONT: {"slurry_lowest_c": 22.0},
}


def test_sound_digester_is_left_alone():
    changes = judge(SOUND)
    assert changes.raised == ()


@pytest.mark.parametrize("kind", list(WarningKind))
def test_each_is_raised_once_stays_and_is_cleared_by_evidence(kind):
    bad = replace(SOUND, **TROUBLE[kind])
    first = judge(bad)
    assert kind in [w.kind for w in first.raised]
    again = judge(bad, [kind])
    assert kind not in [w.kind for w in again.raised]
    assert kind in [w.kind for w in again.standing]
    assert judge(SOUND, [kind]).cleared == (kind,)


@pytest.mark.parametrize("kind", list(WarningKind))
def test_each_says_evidence_advice_and_a_known_caution(kind):
    (warning,) = [w for w in judge(replace(SOUND, **TROUBLE[kind])).raised if w.kind == kind]
    assert str(warning.evidence)
    assert str(warning.advice)
    assert "%(" not in str(warning.evidence)
    assert warning.cautions
    assert set(warning.cautions) <= set(CAUTIONS)


@pytest.mark.parametrize("kind", list(WarningKind))
def test_knowing_nothing_raises_and_clears_nothing(kind):
    changes = judge(DigesterView(), [kind])
    assert changes.raised == ()
    assert changes.cleared == ()


def test_souring_is_not_cleared_against_a_sour_strip():
    assert judge(replace(SOUND, ph_strip=6.6), [WarningKind.SOURING]).cleared == ()


@pytest.mark.parametrize(
    "reason",
    [
        {"holder_at_stop": True},
        {"slurry_lowest_c": 22.0},
        {"souring_probability": 0.8},
        {"gas_surprise": -0.5},
    ],
)
def test_explained_fall_of_gas_asks_for_no_leak(reason):
    view = replace(SOUND, gas_fall_share=0.4, gas_surprise=-3.0)
    assert WarningKind.GAS_DROP in [w.kind for w in judge(view).raised]
    assert WarningKind.GAS_DROP not in [w.kind for w in judge(replace(view, **reason)).raised]


def test_a_leak_is_never_looked_for_with_a_flame():
    view = replace(SOUND, gas_fall_share=0.4, gas_surprise=-3.0)
    (warning,) = judge(view).raised
    assert "soapy water, never with a flame" in str(warning.advice)
    assert "leaks" in warning.cautions


def test_ranked_by_how_soon_then_how_sure():
    view = replace(
        SOUND,
        **TROUBLE[WarningKind.COLD_FRONT],
        **TROUBLE[WarningKind.FULL_HOLDER],
        souring_probability=0.9,
        souring_in_days=2,
    )
    kinds = [w.kind for w in ranked(judge(view).raised)]
    assert kinds == [WarningKind.FULL_HOLDER, WarningKind.SOURING, WarningKind.COLD_FRONT]


def test_of_two_seen_now_the_graver_comes_first():
    assert set(GRAVEST_FIRST) == set(WarningKind)
    view = replace(SOUND, **TROUBLE[WarningKind.FULL_HOLDER], ph_strip=6.0)
    kinds = [w.kind for w in judge(view).raised]
    assert kinds == [WarningKind.SOURING, WarningKind.FULL_HOLDER]


@pytest.mark.parametrize("seen", [{"ph_strip": 6.0}, {"sour_smell": True}])
def test_a_sour_strip_or_smell_counts_whatever_the_model_believes(seen):
    (warning,) = judge(replace(SOUND, **seen)).raised
    assert (warning.kind, warning.within_days, warning.certainty) == (WarningKind.SOURING, 0, 1.0)
    assert "Feed nothing" in str(warning.advice)
    # A strip that is back at 6.6 ends nothing yet; one of 6.8 does.
    assert judge(replace(SOUND, ph_strip=6.6), [WarningKind.SOURING]).cleared == ()
    assert judge(SOUND, [WarningKind.SOURING]).cleared == (WarningKind.SOURING,)


def test_a_full_holder_that_must_not_be_lit_is_let_out_unlit():
    (warning,) = judge(replace(SOUND, holder_at_stop=True, may_light=False)).raised
    assert "Light nothing" in str(warning.advice)
    assert "burn" not in str(warning.advice)
    assert "first_gas" in warning.cautions
