"""Recipes: water to the solids target, the day's litres, the home's own measures."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.feedstock.core.feeds import PPM, feed_coefficients
from apps.feedstock.core.measures import Measure, count_down, count_nearest
from apps.feedstock.core.mixing import Portion
from apps.feedstock.core.published import read_published
from apps.feedstock.core.recipe import make_recipe, measure_recipe, starting_recipe
from apps.kernel.figures import FigureError

MATERIALS = read_published()
PAIL, JUG = Measure("pail", 3_000), Measure("jug", 1_400)


def test_starting_recipe() -> None:
    """3 kg of waste to 7 L of water for 10 L a day: common practice, no source."""
    recipe = starting_recipe(10_000)
    assert (recipe.waste_g, recipe.water_ml) == (3_000, 7_000)
    assert "common practice, no source" in str(recipe.note)


def test_water_to_the_target() -> None:
    """Mass balance: 3 kg at 25 % TS to 7 % takes 3 (25/7 - 1) = 7.714 L."""
    recipe = make_recipe([Portion(MATERIALS["household_kitchen"], 3_000)], 12_000)
    assert recipe.water_ml == 7_715
    assert recipe.solids_share == pytest.approx(0.07, abs=1e-5)
    assert recipe.slurry_ml == 10_715
    assert recipe.notes == ()


def test_water_stops_at_the_limit() -> None:
    recipe = make_recipe([Portion(MATERIALS["household_kitchen"], 3_000)], 10_000)
    assert recipe.slurry_ml == 10_000
    assert recipe.solids_share == pytest.approx(0.075)
    assert "7.5 % solids instead of 7.0 %" in str(recipe.notes[0])


def test_waste_beyond_the_limit_is_refused() -> None:
    with pytest.raises(FigureError, match=r"waste alone is 12\.0 L.*at most 10\.0 kg"):
        make_recipe([Portion(MATERIALS["tomato_rejects"], 12_000)], 10_000)


def test_outflow_replaces_part_of_the_water() -> None:
    recipe = make_recipe(
        [Portion(MATERIALS["household_kitchen"], 3_000)], 10_000, outflow_share=0.5
    )
    assert (recipe.water_ml, recipe.outflow_ml) == (3_500, 3_500)
    assert "germs" in str(recipe.notes[-1])


def test_unknown_solids_are_said() -> None:
    recipe = make_recipe([Portion(MATERIALS["onion_garlic_peel"], 100)], 10_000)
    assert "onion_garlic_peel are not known" in str(recipe.notes[0])


def test_own_measures() -> None:
    """1 pail of 3 L and 5 jugs of 1.4 L are 3 kg (at 1 kg/L) and 7 L."""
    recipe = make_recipe([Portion(MATERIALS["veg_market_mixed"], 3_000)], 10_000)
    assert recipe.water_ml == 1_286  # 3000 (10/7 - 1), mass balance
    said = measure_recipe(recipe, PAIL, JUG)
    assert (said.waste.count, said.water.count) == ("1", "1")
    assert count_nearest(7_000, JUG).count == "5"
    assert count_down(4_499, PAIL).count == "1"
    assert count_down(4_500, PAIL).count == "1½"
    assert count_down(1_500, PAIL).count == "½"


def test_measures_never_pass_the_limit() -> None:
    """1.286 L is nearest to one jug of 1.4 L, but 3 kg and 1.4 L pass a limit of 4.3 L."""
    recipe = make_recipe([Portion(MATERIALS["veg_market_mixed"], 3_000)], 4_300)
    assert recipe.water_ml == 1_286
    assert measure_recipe(recipe, PAIL, JUG).water.count == "½"
    roomy = make_recipe([Portion(MATERIALS["veg_market_mixed"], 3_000)], 4_400)
    assert measure_recipe(roomy, PAIL, JUG).water.count == "1"


def test_a_measure_too_coarse_says_so() -> None:
    recipe = make_recipe([Portion(MATERIALS["veg_market_mixed"], 1_000)], 10_000)
    said = measure_recipe(recipe, PAIL, JUG)
    assert said.waste.halves == 0
    assert "weigh it instead" in str(said.notes[-1])


@pytest.mark.parametrize("volume", [0, -1, 10**9])
def test_measures_are_believable(volume: int) -> None:
    with pytest.raises(FigureError, match="volume of the pail"):
        Measure("pail", volume)


@given(
    st.dictionaries(st.sampled_from(sorted(MATERIALS)), st.integers(0, 2_000), max_size=5),
    st.integers(10_000, 60_000),
    st.floats(0, 1),
    st.integers(100, 20_000),
    st.integers(100, 20_000),
)
def test_recipes_keep_to_the_limit(
    amounts: dict[str, int], limit_ml: int, outflow: float, pail_ml: int, jug_ml: int
) -> None:
    portions = [Portion(MATERIALS[code], grams) for code, grams in amounts.items()]
    recipe = make_recipe(portions, limit_ml, outflow_share=outflow)
    assert recipe.slurry_ml <= limit_ml
    assert min(recipe.water_ml, recipe.outflow_ml) >= 0
    said = measure_recipe(recipe, Measure("pail", pail_ml), Measure("jug", jug_ml))
    density = recipe.density_kg_per_l or 1.0
    assert said.waste.volume_ml * density <= recipe.waste_g + 1e-6
    total = said.waste.volume_ml * density + said.water.volume_ml + said.outflow.volume_ml
    assert total <= limit_ml + 1e-6


@given(st.sampled_from(sorted(MATERIALS)), st.integers(1, 10_000), st.floats(0.04, 0.08))
def test_coefficients_never_understate_the_recipe(code: str, grams: int, target: float) -> None:
    material = MATERIALS[code]
    per_gram = feed_coefficients(material, target)
    recipe = make_recipe([Portion(material, grams)], 1_000_000, solids_target=target)
    assert per_gram.slurry_ppm * grams / PPM >= recipe.slurry_ml - 1
    assert per_gram.vs_ppm * grams / PPM >= material.vs_share * grams - 1e-6
