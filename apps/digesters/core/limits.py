"""How much one digester may be fed on one day, and which rule says so."""

import math

from apps.digesters.core.day_limits import DayLimits, Limit, by_rule, plannable, smallest
from apps.digesters.core.facts import QUANTITIES, DayConditions, DigesterFacts
from apps.digesters.core.limit_sentences import SUSPENDED_SENTENCES, say_limit
from apps.digesters.core.rules import LimitRules, Rule
from apps.digesters.core.share_caps import refused_groups, share_caps
from apps.digesters.core.sizing import slurry_for_retention
from apps.digesters.core.stage_limits import stage_limits
from apps.digesters.core.stages import UNFED
from apps.digesters.core.temperature_caps import hrt_floor, olr_cap
from apps.feedstock.core.feeds import PPM
from apps.kernel.sentences import Sentence, gettext_noop

ML_PER_M3 = 1_000_000
PLATE_SOURCE = gettext_noop("The digester's own plate or its builder's word")


def feed_limits(digester: DigesterFacts, day: DayConditions, rules: LimitRules) -> DayLimits:
    """Every limit of ``digester`` on ``day``. The smallest one per quantity binds."""
    standing = [*_stops(digester, day, rules), *_standing(digester, day, rules)]
    limits = [
        *standing,
        *stage_limits(digester, rules, smallest(standing)),
        *_holds(digester, day, rules),
    ]
    suspended = _suspension(digester, day, rules)
    target_vs_g, min_vs_g = _target(digester, day, rules, limits, suspended)
    if day.model_vs_g is not None:
        # The model alone may lower a feed to the minimum; below it only with an observation.
        least = 0 if _observed(day, rules) else min_vs_g
        limits.append(
            Limit(
                "model",
                "vs_g",
                max(day.model_vs_g, least),
                say_limit("model", vs_g=max(day.model_vs_g, least)),
                gettext_noop("The process model of this digester"),
                "derived",
            )
        )
        target_vs_g, _ = _target(digester, day, rules, limits, suspended)
        min_vs_g = min(min_vs_g, target_vs_g)
    return DayLimits(
        digester=digester.code,
        on=day.on,
        limits=tuple(limits),
        share_caps=share_caps(rules),
        refused_groups=refused_groups(rules),
        target_vs_g=target_vs_g,
        min_vs_g=min_vs_g,
        suspended=suspended,
        planning_fill=rules.share("planning_fill"),
    )


def _stops(digester: DigesterFacts, day: DayConditions, rules: LimitRules) -> list[Limit]:
    """Zero limits: the stage, a bad strip, a sour smell, unexplained fall of gas, cold."""
    stops: list[tuple[str, Rule | None, Sentence]] = []
    if digester.stage in UNFED:
        stops.append(("stage_unfed", None, say_limit("stage_unfed", stage=digester.stage.value)))
    ph_stop = rules["ph_stop"]
    if day.ph_strip is not None and day.ph_strip < ph_stop.value:
        sentence = say_limit("ph_stop", ph=f"{day.ph_strip:g}", least=f"{ph_stop.value:g}")
        stops.append(("ph_stop", ph_stop, sentence))
    if day.sour_smell:
        stops.append(("sour_smell", rules["sour_smell_feed"], say_limit("sour_smell")))
    if _gas_fell(day, rules) and day.gas_fall_cleared:
        sentence = say_limit("gas_fall_stop", fall=round((day.gas_fall_share or 0) * 100))
        stops.append(("gas_fall_stop", rules["gas_fall_ask"], sentence))
    coldest = rules["coldest_fed_slurry"]
    if day.coldest_slurry_c < coldest.value:
        sentence = say_limit(
            "too_cold", celsius=f"{day.coldest_slurry_c:.1f}", least=f"{coldest.value:g}"
        )
        stops.append(("too_cold", coldest, sentence))
    return [
        Limit(
            rule_id,
            quantity,
            0,
            sentence,
            rule.source if rule else gettext_noop("The stage the group has set"),
            rule.evidence if rule else "practice",
        )
        for rule_id, rule, sentence in stops
        for quantity in QUANTITIES
    ]


def _standing(digester: DigesterFacts, day: DayConditions, rules: LimitRules) -> list[Limit]:
    """Limits of the tank, its temperature and its surroundings, whatever its stage."""
    feed_g, slurry_ml = digester.plate_feed_g, digester.plate_slurry_ml
    volume_m3 = digester.working_volume_ml / ML_PER_M3
    celsius = f"{day.coldest_slurry_c:.1f}"
    olr, olr_rule = olr_cap(rules, day.coldest_slurry_c)
    days, hrt_rule = hrt_floor(rules, day.coldest_slurry_c)
    hrt_ml = slurry_for_retention(digester.working_volume_ml, days)
    limits = [
        Limit(
            "plate_feed", "feed_g", feed_g,
            say_limit("plate_feed", kg=_thousandth(feed_g)), PLATE_SOURCE, "read",
        ),
        Limit(
            "plate_slurry", "slurry_ml", slurry_ml,
            say_limit("plate_slurry", litres=_thousandth(slurry_ml)), PLATE_SOURCE, "read",
        ),
        by_rule(
            olr_rule, "olr_cap", "vs_g", olr * volume_m3 * 1000,
            say_limit("olr_cap", celsius=celsius, olr=f"{olr:.2f}"),
        ),
        by_rule(
            hrt_rule, "hrt_floor", "slurry_ml", hrt_ml,
            say_limit(
                "hrt_floor", celsius=celsius, days=f"{days:.0f}", litres=_thousandth(hrt_ml)
            ),
        ),
    ]  # fmt: skip
    if not digester.buffered:
        rule = rules["olr_unbuffered"]
        sentence = say_limit("olr_unbuffered", olr=f"{rule.value:g}")
        limits.append(
            by_rule(rule, "olr_unbuffered", "vs_g", rule.value * volume_m3 * 1000, sentence)
        )
    if day.away and day.gas_room_l is not None:
        rule = rules["gas_per_vs"]
        sentence = say_limit("gas_away", litres=day.gas_room_l)
        limits.append(by_rule(rule, "gas_away", "vs_g", day.gas_room_l / rule.value, sentence))
    if day.outflow_room_ml is not None:
        rule = rules["outflow_per_slurry"]
        sentence = say_limit("outflow_room", litres=_thousandth(day.outflow_room_ml))
        room_ml = day.outflow_room_ml / (rule.value / 100)
        limits.append(by_rule(rule, "outflow_room", "slurry_ml", room_ml, sentence))
    limits += [
        Limit(
            "tightened", own.quantity, own.value,
            say_limit("tightened", reason=own.reason), gettext_noop("The group's administrator"),
            "practice",
        )
        for own in digester.tightenings
    ]  # fmt: skip
    return limits


def _holds(digester: DigesterFacts, day: DayConditions, rules: LimitRules) -> list[Limit]:
    """Limits that keep a feed where it is until somebody has looked."""
    mean_g = digester.stable_mean_vs_g
    if digester.stage in UNFED or mean_g is None:
        return []
    holds: list[Limit] = []
    if _gas_fell(day, rules) and not day.gas_fall_cleared:
        sentence = say_limit("gas_fall_ask", fall=round((day.gas_fall_share or 0) * 100))
        holds.append(by_rule(rules["gas_fall_ask"], "gas_fall_ask", "vs_g", mean_g, sentence))
    stale = rules["reading_stale"]
    if day.days_since_reading is not None and day.days_since_reading >= stale.value:
        sentence = say_limit("reading_stale", days=day.days_since_reading)
        holds.append(by_rule(stale, "reading_stale", "vs_g", mean_g, sentence))
    cooling = rules["cooling_hold"]
    if day.cooled_k > cooling.value:
        sentence = say_limit("cooling_hold", kelvin=f"{day.cooled_k:.1f}")
        holds.append(by_rule(cooling, "cooling_hold", "vs_g", mean_g, sentence))
    return holds


def _target(
    digester: DigesterFacts,
    day: DayConditions,
    rules: LimitRules,
    limits: list[Limit],
    suspended: Sentence | None,
) -> tuple[int, int]:
    """Target and minimum [g VS] that the three maxima together allow of the usual feed."""
    fill = rules.share("planning_fill")
    least = smallest(limits)
    by_plate_g = min(
        least["feed_g"] * day.typical_vs_ppm // PPM,
        least["slurry_ml"] * day.typical_vs_ppm // day.typical_slurry_ppm,
    )
    target_g = min(plannable(limits, "vs_g", fill), math.floor(by_plate_g * fill))
    if digester.wanted_vs_g is not None:
        target_g = min(target_g, digester.wanted_vs_g)
    min_g = 0 if suspended else math.floor(target_g * rules.share("minimum_share"))
    return target_g, min_g


def _suspension(digester: DigesterFacts, day: DayConditions, rules: LimitRules) -> Sentence | None:
    if digester.stage in UNFED:
        return Sentence(SUSPENDED_SENTENCES["stage"], {"stage": digester.stage.value})
    ph_low = day.ph_strip is not None and day.ph_strip < rules.value("ph_stop")
    if ph_low or day.sour_smell or _gas_fell(day, rules):
        return Sentence(SUSPENDED_SENTENCES["observation"])
    if day.coldest_slurry_c < rules.value("coldest_fed_slurry"):
        return Sentence(SUSPENDED_SENTENCES["too_cold"])
    return None


def _gas_fell(day: DayConditions, rules: LimitRules) -> bool:
    return day.gas_fall_share is not None and day.gas_fall_share >= rules.share("gas_fall_ask")


def _observed(day: DayConditions, rules: LimitRules) -> bool:
    ph_poor = day.ph_strip is not None and day.ph_strip < rules.value("ph_good")
    return ph_poor or day.sour_smell or _gas_fell(day, rules)


def _thousandth(value: float) -> str:
    return f"{value / 1000:.1f}"
