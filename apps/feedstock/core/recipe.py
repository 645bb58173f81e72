"""The recipe of a daily feed: waste by material, the water to it, in the home's measures."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from apps.feedstock.core.feeds import SOLIDS_TARGET, check_solids_target
from apps.feedstock.core.measures import Measure, MeasureCount, count_down, count_nearest
from apps.feedstock.core.mixing import Portion, mix_portions, water_for_solids
from apps.kernel.figures import FigureError, finite, whole
from apps.kernel.sentences import Sentence, gettext_noop

STARTING_WASTE_PARTS, STARTING_WATER_PARTS = 3, 7
"""3 kg waste to 7 L water for 10 L a day: common practice for a small floating drum, no source."""

SLURRY_KG_PER_L = 1.0
"""Slurry and unmeasured waste are taken at 1 kg/L: more than wet waste weighs, so a measure
filled by this figure never holds more waste than meant."""

_WASTE_OVER_PLATE = gettext_noop(
    "The waste alone is %(waste_l)s L and %(limit_l)s L a day are allowed; "
    "feed at most %(most_kg)s kg."
)
_THICK = gettext_noop(
    "Water stops at the %(limit_l)s L allowed a day; the slurry is %(solids_pct)s %% solids "
    "instead of %(target_pct)s %%: stir well and look for lumps."
)
_DEFAULT_SOLIDS = gettext_noop(
    "The solids of %(materials)s are not known and were counted cautiously; "
    "feed little of it until it has been measured."
)
_STARTING = gettext_noop("Starting recipe: common practice, no source. Adjust by what you see.")
_OUTFLOW = gettext_noop(
    "Outflow is alive with germs: gloves on, wash hands, nothing from it near food."
)
_COARSE = gettext_noop(
    "Half a %(measure)s is already more than the %(waste_kg)s kg meant: weigh it instead."
)


@dataclass(frozen=True)
class Recipe:
    """What goes into the inlet on one day. ``water_ml`` is fresh water beside the outflow."""

    waste: tuple[Portion, ...]
    waste_g: int
    water_ml: int
    outflow_ml: int
    slurry_limit_ml: int
    solids_share: float
    density_kg_per_l: float | None
    notes: tuple[Sentence, ...] = ()

    @property
    def slurry_ml(self) -> int:
        """Waste (at 1 kg/L), water and outflow together."""
        return math.ceil(self.waste_g / SLURRY_KG_PER_L) + self.water_ml + self.outflow_ml


@dataclass(frozen=True)
class MeasuredRecipe:
    """A recipe in a home's own measures, e.g. 1 pail of waste and 5 jugs of water."""

    waste: MeasureCount
    water: MeasureCount
    outflow: MeasureCount
    notes: tuple[Sentence, ...] = ()


def make_recipe(
    portions: Sequence[Portion],
    slurry_limit_ml: int,
    *,
    solids_target: float = SOLIDS_TARGET,
    outflow_share: float = 0.0,
) -> Recipe:
    """Water the waste down to the solids target, never beyond ``slurry_limit_ml``.

    The limit is the digester's plate or what binds lower that day.
    ``outflow_share`` (0..1) of the water is replaced by outflow where water is scarce. The
    outflow's own solids (about 1-3 %) are left out of the balance: the slurry comes out a
    little thicker, while its volume, which binds, stays right.
    """
    whole(slurry_limit_ml, "The day's slurry limit", "millilitres", low=1)
    check_solids_target(solids_target)
    finite(outflow_share, "The share of outflow", "of the water", high=1.0)
    mix = mix_portions(portions)
    waste_ml = math.ceil(mix.amount_g / SLURRY_KG_PER_L)
    room_ml = slurry_limit_ml - waste_ml
    if room_ml < 0:
        raise FigureError(
            str(
                Sentence(
                    _WASTE_OVER_PLATE,
                    {
                        "waste_l": f"{waste_ml / 1000:.1f}",
                        "limit_l": f"{slurry_limit_ml / 1000:.1f}",
                        "most_kg": f"{slurry_limit_ml / 1000 * SLURRY_KG_PER_L:.1f}",
                    },
                )
            )
        )
    wanted_ml = math.ceil(round(water_for_solids(mix.amount_g, mix.ts_share, solids_target), 6))
    liquid_ml = min(wanted_ml, room_ml)
    outflow_ml = math.floor(liquid_ml * outflow_share)
    solids_share = mix.ts_g / (mix.amount_g + liquid_ml) if mix.amount_g else 0.0
    notes: list[Sentence] = []
    if liquid_ml < wanted_ml:
        notes.append(
            Sentence(
                _THICK,
                {
                    "limit_l": f"{slurry_limit_ml / 1000:.1f}",
                    "solids_pct": f"{solids_share * 100:.1f}",
                    "target_pct": f"{solids_target * 100:.1f}",
                },
            )
        )
    if mix.with_default_solids:
        notes.append(Sentence(_DEFAULT_SOLIDS, {"materials": ", ".join(mix.with_default_solids)}))
    if outflow_ml:
        notes.append(Sentence(_OUTFLOW))
    return Recipe(
        waste=tuple(portions),
        waste_g=mix.amount_g,
        water_ml=liquid_ml - outflow_ml,
        outflow_ml=outflow_ml,
        slurry_limit_ml=slurry_limit_ml,
        solids_share=solids_share,
        density_kg_per_l=mix.density_kg_per_l,
        notes=tuple(notes),
    )


@dataclass(frozen=True)
class StartingRecipe:
    """Waste and water before anybody knows the solids."""

    waste_g: int
    water_ml: int
    note: Sentence


def starting_recipe(slurry_ml: int) -> StartingRecipe:
    """3 kg of waste to 7 L of water for each 10 L of daily slurry; waste rounded down."""
    whole(slurry_ml, "The daily slurry", "millilitres")
    waste_ml = slurry_ml * STARTING_WASTE_PARTS // (STARTING_WASTE_PARTS + STARTING_WATER_PARTS)
    return StartingRecipe(
        waste_g=math.floor(waste_ml * SLURRY_KG_PER_L),
        water_ml=slurry_ml - waste_ml,
        note=Sentence(_STARTING),
    )


def measure_recipe(recipe: Recipe, for_waste: Measure, for_water: Measure) -> MeasuredRecipe:
    """Say a recipe in whole and half measures.

    Waste is counted down so that no more is fed than meant; liquids go to the nearest half
    that the day's limit still holds.
    """
    density = recipe.density_kg_per_l or SLURRY_KG_PER_L
    waste = count_down(recipe.waste_g / density, for_waste)
    notes = recipe.notes
    if recipe.waste_g and not waste.halves:
        notes = (
            *notes,
            Sentence(
                _COARSE,
                {"measure": for_waste.name, "waste_kg": f"{recipe.waste_g / 1000:.2f}"},
            ),
        )
    outflow = count_down(recipe.outflow_ml, for_water)
    water = count_nearest(recipe.water_ml + recipe.outflow_ml - outflow.volume_ml, for_water)
    if waste.volume_ml * density + outflow.volume_ml + water.volume_ml > recipe.slurry_limit_ml:
        water = replace(water, halves=water.halves - 1)
    return MeasuredRecipe(waste, water, outflow, notes)
