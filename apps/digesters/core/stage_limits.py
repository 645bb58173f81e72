"""What the stage of a digester lets it take: ramping, running, recovering."""

from apps.digesters.core.day_limits import Limit, by_rule
from apps.digesters.core.facts import DigesterFacts
from apps.digesters.core.limit_sentences import say_limit
from apps.digesters.core.rules import LimitRules, Rule
from apps.digesters.core.stages import Stage
from apps.kernel.sentences import Sentence

ML_PER_M3 = 1_000_000
RAMP_RULES = ("ramp_step_1", "ramp_step_2", "ramp_step_3", "ramp_step_4")


def stage_limits(
    digester: DigesterFacts, rules: LimitRules, standing: dict[str, int]
) -> list[Limit]:
    """Limits of a digester on its way up, running, or recovering; ``standing`` is what its
    tank and temperature allow, by quantity."""
    if digester.stage is Stage.RAMPING:
        step = min(digester.stage_days // 7, digester.confirmed_steps, len(RAMP_RULES) - 1)
        rule = rules[RAMP_RULES[step]]
        return _shares(
            rule, standing, "ramp", say_limit("ramp", step=step + 1, share=f"{rule.value:g}")
        )
    if digester.stage is Stage.RECOVERING:
        return _recovery_limits(digester, rules, standing)
    if digester.stage is not Stage.RUNNING:
        return []
    if digester.stable_mean_vs_g is None:
        rule = rules["unknown_history"]
        return _shares(
            rule, standing, "unknown_history", say_limit("unknown_history", share=f"{rule.value:g}")
        )
    rule = rules["rise_per_week"]
    mean_g = digester.stable_mean_vs_g
    value = max(mean_g * (1 + rule.value / 100), _rise_floor_g(digester, rules))
    sentence = say_limit("rise_per_week", share=f"{rule.value:g}", mean_g=mean_g)
    return [by_rule(rule, "rise_per_week", "vs_g", value, sentence)]


def _recovery_limits(
    digester: DigesterFacts, rules: LimitRules, standing: dict[str, int]
) -> list[Limit]:
    median_g = digester.stable_median_vs_g
    if digester.recovering_from == "pause":
        loss, least = rules["pause_loss_per_week"], rules["pause_least"]
        share = max(least.value, 100 - loss.value * digester.idle_weeks) / 100
        rule, rule_id = loss, "after_pause"
        sentence = say_limit(rule_id, weeks=digester.idle_weeks, share=f"{share * 100:.0f}")
    else:
        again = min(digester.stage_days // 7, digester.confirmed_steps) > 0
        rule, rule_id = rules["souring_next" if again else "souring_start"], "after_souring"
        share = rule.value / 100
        sentence = say_limit(rule_id, share=f"{rule.value:g}")
    if median_g is not None:
        return [by_rule(rule, rule_id, "vs_g", median_g * share, sentence)]
    unknown = rules["souring_start"]
    sentence = say_limit("recovery_unknown", share=f"{unknown.value:g}")
    return _shares(unknown, standing, "recovery_unknown", sentence)


def _rise_floor_g(digester: DigesterFacts, rules: LimitRules) -> float:
    return rules.value("rise_floor") * digester.working_volume_ml / ML_PER_M3 * 1000


def _shares(rule: Rule, standing: dict[str, int], rule_id: str, sentence: Sentence) -> list[Limit]:
    # Water is left out: a thinner slurry does a young digester no harm.
    return [
        by_rule(rule, rule_id, quantity, standing[quantity] * rule.value / 100, sentence)
        for quantity in ("feed_g", "vs_g")
    ]
