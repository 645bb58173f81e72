"""What each limit says to people, in plain English, by the key of the limit."""

from collections.abc import Mapping
from types import MappingProxyType

from apps.kernel.sentences import Sentence, gettext_noop

LIMIT_SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "plate_feed": gettext_noop("It is rated for %(kg)s kg of waste a day."),
        "plate_slurry": gettext_noop("It is rated for %(litres)s L of waste and water a day."),
        "olr_cap": gettext_noop(
            "At %(celsius)s °C its bacteria keep up with %(olr)s kg of volatile solids a day "
            "and cubic metre."
        ),
        "olr_unbuffered": gettext_noop(
            "Food waste without dung has nothing against its acids: at most %(olr)s kg of "
            "volatile solids a day and cubic metre."
        ),
        "too_cold": gettext_noop(
            "The slurry is expected at %(celsius)s °C; below %(least)s °C it is not fed."
        ),
        "hrt_floor": gettext_noop(
            "At %(celsius)s °C the slurry must stay %(days)s days, so at most %(litres)s L a day."
        ),
        "stage_unfed": gettext_noop("It is %(stage)s and takes no waste."),
        "ramp": gettext_noop(
            "It is being brought up: step %(step)s, %(share)s %% of its maximum. The next step "
            "waits for a week and for gas that burns and a good pH strip."
        ),
        "rise_per_week": gettext_noop(
            "Raised by at most %(share)s %% a week over the stable mean of %(mean_g)s g of "
            "volatile solids a day."
        ),
        "unknown_history": gettext_noop(
            "No week of feedings is recorded: at most %(share)s %% of its maximum until then."
        ),
        "after_pause": gettext_noop(
            "Back from %(weeks)s idle week(s): %(share)s %% of what it took before."
        ),
        "after_souring": gettext_noop(
            "Recovering from souring: %(share)s %% of what it took before."
        ),
        "recovery_unknown": gettext_noop(
            "Recovering, and nothing recorded tells what it took before: %(share)s %% of its "
            "maximum."
        ),
        "ph_stop": gettext_noop(
            "The pH strip shows %(ph)s, below %(least)s: no feeding; take a second strip tomorrow."
        ),
        "sour_smell": gettext_noop(
            "It smells sour: no feeding; take a pH strip today and another tomorrow."
        ),
        "gas_fall_ask": gettext_noop(
            "Gas fell by %(fall)s %% on the same feed: first look for a leak (soapy water, never "
            "a flame), for cold, and for a full drum. Until then nothing is raised."
        ),
        "gas_fall_stop": gettext_noop(
            "Gas fell by %(fall)s %% on the same feed, with no leak, cold or full drum: no "
            "feeding; take a pH strip."
        ),
        "reading_stale": gettext_noop(
            "No reading for %(days)s days: nothing is raised until somebody has looked."
        ),
        "cooling_hold": gettext_noop(
            "The slurry cooled by %(kelvin)s K in a week: nothing is raised."
        ),
        "gas_away": gettext_noop(
            "While the household is away only %(litres)s L of gas can be stored or burnt."
        ),
        "outflow_room": gettext_noop("The outflow store has room for %(litres)s L."),
        "model": gettext_noop(
            "The forecast of its process advises at most %(vs_g)s g of volatile solids."
        ),
        "tightened": gettext_noop("Held lower by the group: %(reason)s"),
    }
)

SUSPENDED_SENTENCES: Mapping[str, str] = MappingProxyType(
    {
        "stage": gettext_noop("It is %(stage)s: no minimum is asked for."),
        "observation": gettext_noop("No minimum is asked for until it is well again."),
        "too_cold": gettext_noop("No minimum is asked for while it is too cold to feed."),
    }
)


def say_limit(key: str, **values: str | int | float) -> Sentence:
    """The sentence of one limit with its figures."""
    return Sentence(LIMIT_SENTENCES[key], values)
