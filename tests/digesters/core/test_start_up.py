"""The start-up guide's figures and cautions."""

import pytest

from apps.digesters.core.stages import TRANSITIONS, Stage
from apps.digesters.core.start_up import STEPS, StartStep, first_filling, is_tight
from apps.kernel.figures import FigureError


@pytest.mark.parametrize(("lost_ml", "tight"), [(29_999, True), (30_000, False)])
def test_tight_means_under_two_percent_in_a_day(lost_ml, tight):
    # GTZ 1989 s. 7.1: less than 2 % of the volume in a day; 2 % of 1500 L are 30 L.
    assert is_tight(1_500_000, lost_ml, 24) is tight


def test_half_a_day_counts_by_its_hours_and_an_hour_tells_nothing():
    assert is_tight(1_000_000, 9_999, 12)
    assert not is_tight(1_000_000, 10_000, 12)
    with pytest.raises(FigureError, match="tell nothing"):
        is_tight(1_000_000, 0, 2)


def test_both_fillings_come_up_to_the_working_volume():
    # Dung and water 1:1, slurry and water 1:1: common practice, no source; dung at 1 kg/L.
    filling = first_filling(1_500_000)
    assert (filling.dung_g, filling.dung_water_ml) == (750_000, 750_000)
    assert filling.slurry_ml + filling.slurry_water_ml == 1_500_000
    assert filling.slurry_ml >= 150_000  # a tenth at least: Voegeli 2014, from memory


def test_every_step_has_its_caution_and_goes_where_the_stages_allow():
    allowed = {(step.origin, step.goal): step.evidence for step in TRANSITIONS}
    for text in STEPS.values():
        assert text.caution
        assert text.source
        if text.goal is not None:
            assert allowed[text.stage, text.goal] <= text.seen


def test_the_first_gas_is_let_out_before_any_flame():
    order = list(StartStep)
    assert order.index(StartStep.VENT) < order.index(StartStep.FLAME)
    assert "never light" in STEPS[StartStep.VENT].caution
    assert STEPS[StartStep.VENT].stage is Stage.RESTING
