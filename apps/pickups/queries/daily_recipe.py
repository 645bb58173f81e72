"""What a digester is to be fed on a day, as its plan says and its bin allows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from apps.digesters.models import Digester
from apps.digesters.queries.day_limits import day_limits
from apps.feedstock.core.recipe import make_recipe
from apps.feedstock.models import Material
from apps.ledger.queries.balances import balances_g
from apps.planning.models import Plan
from apps.planning.queries.in_force import plans_in_force


@dataclass(frozen=True, slots=True)
class DailyRecipe:
    """Grams by material from the bin and from the own kitchen, water, and the recipe in the
    home's own measures. Its first three go straight into `feed_digester`."""

    from_bin_g: Mapping[Material, int]
    own_waste_g: Mapping[Material, int]
    water_ml: int
    words: str
    is_planned: bool


def daily_recipe(digester: Digester, on: date) -> DailyRecipe:
    """Planned grams, but no more than the bin holds; water in proportion. Without a plan: own
    kitchen waste alone, with the water that thins it."""
    group = digester.group
    materials = {each.code: each for each in Material.objects.of(group)}
    day = day_limits(group, on, 1)[digester.code].days[0]
    own_g = {portion.material.code: portion.amount_g for portion in day.own_kitchen}
    planned_g, water_ml, words = _planned(digester, on)
    if not words and own_g:
        water_ml = make_recipe(
            day.own_kitchen, day.limits.max_slurry_ml, solids_target=day.solids_target
        ).water_ml
    in_bin_g = balances_g(group, [digester.bin_account_id]).get(digester.bin_account_id, {})
    from_bin_g = {
        code: min(amount_g, in_bin_g.get(code, 0)) for code, amount_g in planned_g.items()
    }
    whole_g = sum(planned_g.values()) + sum(own_g.values())
    really_g = sum(from_bin_g.values()) + sum(own_g.values())
    return DailyRecipe(
        from_bin_g={materials[code]: g for code, g in sorted(from_bin_g.items()) if g},
        own_waste_g={materials[code]: g for code, g in sorted(own_g.items()) if g},
        water_ml=water_ml * really_g // whole_g if whole_g else 0,
        words=words,
        is_planned=bool(words),
    )


def _planned(digester: Digester, on: date) -> tuple[dict[str, int], int, str]:
    plan_id = plans_in_force(digester.group, on, on).get(on)
    if plan_id is None:
        return {}, 0, ""
    document = Plan.objects.of(digester.group).values_list("document", flat=True).get(pk=plan_id)
    fed_g: dict[str, int] = defaultdict(int)
    for row in document.get("feeds", ()):
        if (row["digester"], row["on"]) == (digester.code, on.isoformat()):
            fed_g[row["material"]] += row["usable_g"]
    for row in document.get("recipes", ()):
        if (row["digester"], row["on"]) == (digester.code, on.isoformat()):
            return dict(fed_g), row["water_ml"], row["words"]
    return dict(fed_g), 0, ""
