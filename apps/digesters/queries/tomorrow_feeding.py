"""What a digester should be fed tomorrow, and why that changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from apps.digesters.core.day_limits import DayLimits, Limit
from apps.digesters.core.facts import TYPICAL_VS_PPM
from apps.digesters.models import Digester
from apps.digesters.queries.day_limits import day_limits
from apps.digesters.queries.model_inputs import ModelInputs
from apps.digesters.queries.model_outlook import MIX_DAYS, USUAL_DAYS, mean_g
from apps.feedstock.core.feeds import PPM
from apps.kernel.sentences import Sentence, gettext_noop

_LOWER = gettext_noop("Tomorrow %(kg)s kg instead of %(usual)s: %(reason)s.")
_HIGHER = gettext_noop("Tomorrow up to %(kg)s kg, %(usual)s lately: %(reason)s.")
_SAME = gettext_noop("Tomorrow as lately, about %(kg)s kg: %(reason)s.")
_NOTHING = gettext_noop("Tomorrow nothing: %(reason)s.")

SHORT_REASONS: Mapping[str, str] = {
    "model": gettext_noop("the forecast says that it could sour"),
    "olr_cap": gettext_noop("that is what its bacteria keep up with"),
    "olr_unbuffered": gettext_noop("no dung to hold acids off"),
    "too_cold": gettext_noop("too cold to feed"),
    "cooling_hold": gettext_noop("cold nights"),
    "hrt_floor": gettext_noop("slurry must stay long enough"),
    "plate_feed": gettext_noop("that is what it is rated for"),
    "plate_slurry": gettext_noop("that is what it is rated for"),
    "rise_per_week": gettext_noop("raised slowly, week by week"),
    "unknown_history": gettext_noop("no week of feedings is written down"),
    "ramp": gettext_noop("it is being brought up step by step"),
    "after_pause": gettext_noop("it is coming back from a pause"),
    "after_souring": gettext_noop("it is recovering from souring"),
    "recovery_unknown": gettext_noop("it is recovering"),
    "reading_stale": gettext_noop("nobody has read it for a week"),
    "gas_fall_ask": gettext_noop("gas fell on the same feed"),
    "gas_fall_stop": gettext_noop("gas fell on the same feed"),
    "ph_stop": gettext_noop("the pH strip is too low"),
    "sour_smell": gettext_noop("it smells sour"),
    "stage_unfed": gettext_noop("it is in a stage without waste"),
    "gas_smell": gettext_noop("gas was smelled there"),
    "nobody_there": gettext_noop("nobody is there"),
    "gas_away": gettext_noop("the household is away"),
    "taper": gettext_noop("the household will be away"),
    "outflow_room": gettext_noop("the outflow store is nearly full"),
    "tightened": gettext_noop("the group holds it lower"),
    "no_plate": gettext_noop("nobody has stated what it is rated for"),
}
_OTHER = gettext_noop("one of its limits")
_COLD = gettext_noop("it is cold, and cold bacteria eat less")
COLD_C = 25.0
"""Below this the cold holds the loading down; limits olr_28_c and olr_25_c."""

A_KG = 1_000


@dataclass(frozen=True)
class Tomorrow:
    """Most kilograms of its usual mix tomorrow, what it got a day lately, and why. Of it the
    household's own kitchen waste, as far as that fits of what is foreseen from so many days
    written down (0: as it said)."""

    on: date
    feed_g: int
    usual_g: int
    binding: Limit
    sentence: Sentence
    reason: Sentence
    own_g: int
    own_foreseen_g: int
    own_days: int


def tomorrow_feeding(digester: Digester, inputs: ModelInputs, on: date) -> Tomorrow:
    """Seen on the evening of `on`."""
    tomorrow = on + timedelta(days=1)
    day = day_limits(digester.group, tomorrow, 1, as_of=on)[digester.code].days[0]
    limits = day.limits
    grams = mean_g(inputs, on, USUAL_DAYS)
    usual_g = round(sum(grams.values()))
    portions = inputs.portions(mean_g(inputs, on, MIX_DAYS))
    fresh_kg = sum(each.fresh_kg for each in portions)
    vs_share = sum(each.vs_kg for each in portions) / fresh_kg if fresh_kg else TYPICAL_VS_PPM / PPM
    most_g, binding = _most(limits, vs_share)
    # As a kitchen scale tells it, and never more than may be.
    feed_g = most_g // 100 * 100 if most_g >= A_KG else most_g // 10 * 10
    reason = short_reason(binding.rule_id)
    if binding.rule_id == "olr_cap" and inputs.slurry_c(tomorrow, 1)[0] < COLD_C:
        reason = _COLD
    values = {
        "kg": f"{feed_g / 1000:g}",
        "usual": f"{round(usual_g, -2 if usual_g >= A_KG else -1) / 1000:g}",
        "reason": reason,
    }
    if feed_g == 0:
        template = _NOTHING
    elif usual_g and feed_g < 0.95 * usual_g:
        template = _LOWER
    elif feed_g <= 1.05 * usual_g:
        template = _SAME
    else:
        template = _HIGHER
    return Tomorrow(
        tomorrow,
        feed_g,
        usual_g,
        binding,
        Sentence(template, values),
        binding.sentence,
        day.own_load.feed_g,
        day.own_foreseen_g,
        day.own_days,
    )


def short_reason(rule_id: str) -> str:
    """The few words for a rule; a page translates them where they stand in a sentence."""
    return SHORT_REASONS.get(rule_id, _OTHER)


def _most(limits: DayLimits, vs_share: float) -> tuple[int, Limit]:
    """Grams of the usual mix that a plan may fill, and what binds."""
    by_vs_g = int(limits.planned_cap("vs_g") / vs_share)
    by_feed_g = limits.planned_cap("feed_g")
    binding = limits.binding("feed_g" if by_feed_g < by_vs_g else "vs_g")
    return min(by_feed_g, by_vs_g), binding
