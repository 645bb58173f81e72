"""The recipe of a day."""

import pytest

from apps.digesters.operations.set_own_waste import set_own_waste
from apps.pickups.queries.daily_recipe import daily_recipe
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def test_without_a_plan_own_kitchen_waste_is_thinned_too(cast: Cast) -> None:
    kitchen = cast.materials["household_kitchen"]
    set_own_waste(cast.drum, kitchen, 500, now=cast.now)
    recipe = daily_recipe(cast.drum, cast.today)
    assert recipe.own_waste_g == {kitchen: 500}
    assert not recipe.is_planned
    # Solids of the waste come down to the target of the home's slurry, 6 %.
    solids = 0.06 * (500 + recipe.water_ml)
    assert recipe.water_ml > 500
    assert 0.2 < solids / 500 < 0.35  # kitchen waste is 20 to 35 % solids (published table)
