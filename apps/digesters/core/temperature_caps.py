"""How the loading cap and the retention floor move with slurry temperature."""

from apps.digesters.core.rules import LimitRules, Rule
from apps.kernel.figures import finite

OLR_POINTS: tuple[tuple[float, str], ...] = (
    (28.0, "olr_cap_28c"),
    (25.0, "olr_cap_25c"),
    (20.0, "olr_cap_20c"),
    (16.0, "olr_cap_16c"),
    (10.0, "olr_cap_10c"),
)
"""Slurry temperature [°C] and the rule that holds there, warm to cold."""

HRT_POINTS: tuple[tuple[float, str], ...] = (
    (25.0, "hrt_floor_25c"),
    (20.0, "hrt_floor_20c"),
    (15.0, "hrt_floor_15c"),
)


def olr_cap(rules: LimitRules, slurry_c: float) -> tuple[float, Rule]:
    """Most OLR [kg VS/m3.d] at ``slurry_c`` [°C], with the rule next on the cold side.

    Linear between the points, level above the warmest, zero below ``coldest_fed_slurry``,
    never above ``olr_never_above``. A colder point never allows more than a warmer one, also
    after one of them was tightened.
    """
    finite(slurry_c, "The slurry temperature", "°C", low=-40, high=75)
    coldest = rules["coldest_fed_slurry"]
    if slurry_c < coldest.value:
        return 0.0, coldest
    points: list[tuple[float, float]] = []
    least = rules.value("olr_never_above")
    for celsius, rule_id in OLR_POINTS:
        least = min(least, rules.value(rule_id))
        points.append((celsius, least))
    return _interpolate(points, slurry_c), rules[_colder(OLR_POINTS, slurry_c)]


def hrt_floor(rules: LimitRules, slurry_c: float) -> tuple[float, Rule]:
    """Least HRT [d] at ``slurry_c`` [°C], with the rule next on the cold side.

    Linear between the points, level beyond them; colder never asks for less.
    """
    finite(slurry_c, "The slurry temperature", "°C", low=-40, high=75)
    points: list[tuple[float, float]] = []
    most = 0.0
    for celsius, rule_id in HRT_POINTS:
        most = max(most, rules.value(rule_id))
        points.append((celsius, most))
    return _interpolate(points, slurry_c), rules[_colder(HRT_POINTS, slurry_c)]


def _interpolate(points: list[tuple[float, float]], celsius: float) -> float:
    warm_c, warm_value = points[0]
    if celsius >= warm_c:
        return warm_value
    for cold_c, cold_value in points[1:]:
        if celsius >= cold_c:
            share = (celsius - cold_c) / (warm_c - cold_c)
            return cold_value + share * (warm_value - cold_value)
        warm_c, warm_value = cold_c, cold_value
    return warm_value


def _colder(points: tuple[tuple[float, str], ...], celsius: float) -> str:
    return next((rule_id for at, rule_id in points if celsius >= at), points[-1][1])
