"""Dilution by use: common practice, no source (1:3 trees, 1:6 roof gardens, 1:10 tender)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.digestate.core.dilution import CAUTIONS, WATER_PARTS, Use, dilute, fill_can
from apps.kernel.figures import FigureError


@pytest.mark.parametrize(
    ("use", "water_ml"), [(Use.TREES, 3_000), (Use.ROOF_GARDEN, 6_000), (Use.TENDER, 10_000)]
)
def test_one_litre_by_use(use, water_ml):
    assert dilute(1_000, use).water_ml == water_ml


@given(st.integers(1, 20_000), st.sampled_from(sorted(WATER_PARTS)))
def test_a_can_is_full_and_never_stronger_than_advised(can_ml, use):
    can = fill_can(can_ml, use)
    assert can.total_ml == can_ml
    assert can.water_ml >= can.outflow_ml * WATER_PARTS[use]


def test_nothing_cannot_be_diluted():
    with pytest.raises(FigureError):
        dilute(0, Use.TREES)


def test_the_cautions_name_roots_leaves_germs_and_wells():
    said = " ".join(CAUTIONS)
    for word in ("neat", "leaves", "germs", "wells", "local rules"):
        assert word in said
