"""Whether the gas fell although the feed stayed the same."""

from collections.abc import Mapping
from datetime import date, timedelta

WINDOW_DAYS = 5
"""Days compared with as many before them (a limit's own wording: "in 5 days")."""

LEAST_READINGS = 4
"""Days with burner minutes that each window needs. Chosen by us: one forgotten day is allowed."""

SAME_FEED_SHARE = 0.2
"""How far the feed of the two windows may differ and still be called the same. Chosen by us."""


def gas_fall_share(
    on: date, burner_min: Mapping[date, int], fed_vs_g: Mapping[date, int]
) -> float | None:
    """Fall of burner minutes per gram of volatile solids, 0..1, negative for a rise.

    ``on`` is the day after the later window. None where readings are too few, nothing was fed,
    or the feed changed, because then the gas tells nothing.
    """
    later = _window(on, burner_min, fed_vs_g)
    earlier = _window(on - timedelta(days=WINDOW_DAYS), burner_min, fed_vs_g)
    if later is None or earlier is None:
        return None
    later_min, later_vs_g = later
    earlier_min, earlier_vs_g = earlier
    if abs(later_vs_g - earlier_vs_g) > SAME_FEED_SHARE * earlier_vs_g or not earlier_min:
        return None
    return 1 - (later_min / later_vs_g) / (earlier_min / earlier_vs_g)


def _window(
    end: date, burner_min: Mapping[date, int], fed_vs_g: Mapping[date, int]
) -> tuple[float, int] | None:
    days = [end - timedelta(days=back) for back in range(1, WINDOW_DAYS + 1)]
    read = [burner_min[day] for day in days if day in burner_min]
    vs_g = sum(fed_vs_g.get(day, 0) for day in days)
    if len(read) < LEAST_READINGS or vs_g <= 0:
        return None
    return sum(read) / len(read), vs_g
