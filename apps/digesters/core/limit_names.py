"""What people call each limit that a digester may have its own value for."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from apps.kernel.words import gettext_noop

LIMIT_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "feed_g": gettext_noop("Most waste a day"),
        "vs_g": gettext_noop("Most volatile solids a day"),
        "slurry_ml": gettext_noop("Most waste and water a day"),
        "olr_cap_28c": gettext_noop("Loading at 28 °C and warmer"),
        "olr_cap_25c": gettext_noop("Loading at 25 °C"),
        "olr_cap_20c": gettext_noop("Loading at 20 °C"),
        "olr_cap_16c": gettext_noop("Loading at 16 °C"),
        "olr_cap_10c": gettext_noop("Loading at 10 °C"),
        "coldest_fed_slurry": gettext_noop("Coldest slurry that is fed"),
        "olr_never_above": gettext_noop("Loading at any temperature"),
        "olr_unbuffered": gettext_noop("Loading without dung in the feed"),
        "hrt_floor_25c": gettext_noop("Days the slurry stays, at 25 °C"),
        "hrt_floor_20c": gettext_noop("Days the slurry stays, at 20 °C"),
        "hrt_floor_15c": gettext_noop("Days the slurry stays, at 15 °C"),
        "ramp_step_1": gettext_noop("Share of the maximum, first step up"),
        "ramp_step_2": gettext_noop("Share of the maximum, second step up"),
        "ramp_step_3": gettext_noop("Share of the maximum, third step up"),
        "ramp_step_4": gettext_noop("Share of the maximum, fourth step up"),
        "rise_per_week": gettext_noop("Rise over the week before"),
        "rise_floor": gettext_noop("Loading that a rise may always reach"),
        "unknown_history": gettext_noop("Share of the maximum without records"),
        "pause_loss_per_week": gettext_noop("Taken off for each idle week"),
        "pause_least": gettext_noop("Share left after a long pause"),
        "souring_start": gettext_noop("Share in the first week after souring"),
        "souring_next": gettext_noop("Share in later weeks after souring"),
        "ph_stop": gettext_noop("pH at which feeding stops"),
        "ph_good": gettext_noop("pH that counts as good"),
        "sour_smell_feed": gettext_noop("Share of the maximum while it smells sour"),
        "gas_fall_ask": gettext_noop("Fall of gas that asks for a look"),
        "reading_stale": gettext_noop("Days without a reading before nothing is raised"),
        "cooling_hold": gettext_noop("Cooling that holds the feed"),
        "gas_per_vs": gettext_noop("Gas counted while someone is away"),
        "outflow_per_slurry": gettext_noop("Outflow counted for what is fed"),
        "share_citrus": gettext_noop("Share of citrus"),
        "share_oil_fat": gettext_noop("Share of oil and fat"),
        "share_onion": gettext_noop("Share of onion and garlic"),
        "share_fruit_sugar": gettext_noop("Share of sweet fruit and whey"),
        "share_protein": gettext_noop("Share of protein-rich waste"),
        "share_slow": gettext_noop("Share of fibrous or mineral waste"),
        "share_animal": gettext_noop("Share of animal waste"),
        "share_unknown_solids": gettext_noop("Share of waste with unmeasured solids"),
        "planning_fill": gettext_noop("Share of a maximum that a plan fills"),
        "minimum_share": gettext_noop("Share of the target below which it goes hungry"),
        "seed_rest": gettext_noop("Days of rest after seeding"),
        "lift_volunteer": gettext_noop("Most that one person lifts"),
        "pail_volume": gettext_noop("Largest pail that is lifted"),
    }
)

CAP_UNITS: Mapping[str, str] = MappingProxyType({"feed_g": "g", "vs_g": "g", "slurry_ml": "mL"})
"""Units of a digester's own daily caps."""
