"""What a home feeds on one day of a plan, and how it mixes it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from apps.digesters.core.headroom import Load, load_of
from apps.digesters.queries.day_limits import DigesterDay
from apps.feedstock.core.materials import Material
from apps.feedstock.core.measures import Measure as CoreMeasure
from apps.feedstock.core.measures import MeasureCount
from apps.feedstock.core.mixing import Portion
from apps.feedstock.core.recipe import Recipe, make_recipe, measure_recipe
from apps.feedstock.models import Measure
from apps.groups.models import Group
from apps.kernel.quantities import in_thousands
from apps.planning.core.plan_facts import InMeasure

MOST_PAIL_ML = 16_000
"""Largest pail lifted by hand: 16 L at 0.9 kg/L is 14.4 kg (derived, US EPA 1997)."""


@dataclass(frozen=True)
class DayFeed:
    """All that goes in on one digester-day, own kitchen waste included, within its maxima."""

    portions: tuple[Portion, ...]
    load: Load
    water_ml: int
    words: str
    in_measures: tuple[InMeasure, ...] = ()
    """Whole and half measures of the home; empty where it has none."""

    @property
    def slurry_ml(self) -> int:
        """Waste at 1 kg/L, and water."""
        return self.load.feed_g + self.water_ml


@dataclass(frozen=True)
class HomeMeasures:
    """What a group measures waste and water by; None where it has no such container."""

    for_waste: CoreMeasure | None
    for_water: CoreMeasure | None


def home_measures(group: Group) -> HomeMeasures:
    """The largest container that can be lifted for waste, the smallest for water."""
    measures = [
        CoreMeasure(measure.name, measure.volume_ml)
        for measure in Measure.objects.of(group).order_by("volume_ml", "code")
    ]
    liftable = [measure for measure in measures if measure.volume_ml <= MOST_PAIL_ML]
    return HomeMeasures(liftable[-1] if liftable else None, measures[0] if measures else None)


def day_feed(
    day: DigesterDay,
    brought_g: Mapping[str, int],
    materials: Mapping[str, Material],
    measures: HomeMeasures,
) -> DayFeed:
    """The feed of own kitchen waste and `brought_g` (by material code) with its water."""
    brought = [Portion(materials[code], amount_g) for code, amount_g in brought_g.items()]
    portions = _added([*day.own_kitchen, *brought])
    if not portions:
        return DayFeed((), Load(), 0, "")
    recipe = make_recipe(portions, day.limits.max_slurry_ml, solids_target=day.solids_target)
    counted = _in_measures(recipe, measures)
    return DayFeed(
        portions=portions,
        load=load_of(portions, day.solids_target),
        water_ml=recipe.water_ml,
        words=_words(recipe, counted),
        in_measures=tuple(
            InMeasure(of, count.measure.name, count.measure.volume_ml, count.halves)
            for of, count in counted.items()
        ),
    )


def _added(portions: Sequence[Portion]) -> tuple[Portion, ...]:
    amounts: dict[str, int] = {}
    materials: dict[str, Material] = {}
    for portion in portions:
        code = portion.material.code
        materials[code] = portion.material
        amounts[code] = amounts.get(code, 0) + portion.amount_g
    return tuple(Portion(materials[code], amounts[code]) for code in sorted(amounts))


def _in_measures(recipe: Recipe, measures: HomeMeasures) -> dict[str, MeasureCount]:
    """Counts that are not nothing, by what is measured."""
    if measures.for_waste is None or measures.for_water is None:
        return {}
    measured = measure_recipe(recipe, measures.for_waste, measures.for_water)
    counts = {"waste": measured.waste, "water": measured.water}
    return {of: count for of, count in counts.items() if count.halves}


def _words(recipe: Recipe, counted: Mapping[str, MeasureCount]) -> str:
    waste = " + ".join(
        f"{in_thousands(portion.amount_g)} kg {portion.material.name.lower()}"
        for portion in recipe.waste
        if portion.amount_g
    )
    words = f"{waste}; {in_thousands(recipe.water_ml)} L water"
    ends = {"waste": "", "water": " of water"}
    counts = [f"{each.count} × {each.measure.name}{ends[of]}" for of, each in counted.items()]
    return f"{words} (about {', '.join(counts)})" if counts else words
