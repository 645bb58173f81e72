"""Gas for this evening's cooking, in minutes of one burner, with what it may differ by."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from apps.digesters.core.process.cooking import Band, gas_this_evening
from apps.digesters.core.process.forecast import band
from apps.digesters.core.process.look_record import MOST_DAYS_BETWEEN
from apps.digesters.core.process.state_blob import StoredState
from apps.digesters.queries.model_inputs import ModelInputs
from apps.kernel.days import days_from

ROUND_MIN = 5
"""Minutes are said in fives: nobody cooks to the minute."""

NORMAL_80 = 1.2816
"""Standard deviations on either side that hold 80 % of a normal spread."""


@dataclass(frozen=True)
class Promise:
    """Minutes of one burner this evening, in fives, and 80 % band. `is_read`: the holder was
    read lately; without, it is what a day makes."""

    minutes: int
    low: int
    high: int
    is_read: bool


def evening_gas(inputs: ModelInputs, state: StoredState, a_day: Band, on: date) -> Promise:
    """From the holder's last look, what was made and burnt since; else what a day makes."""
    days = MOST_DAYS_BETWEEN
    first = on - timedelta(days=days)
    celsius = dict(zip(days_from(first, days + 1), inputs.slurry_c(first, days + 1), strict=True))
    burner = inputs.burner(celsius[on])
    room_m3 = inputs.room_m3(celsius[on])
    looks = inputs.looks(celsius)
    if not looks or room_m3 is None:
        return _rounded(burner.minutes(a_day), is_read=False)
    look = looks[max(looks)]
    late = (on - state.on).days
    unread = state.ensemble.gas_since[0] + late * a_day.middle
    error_m3 = NORMAL_80 * look.seen.sd_m3
    made = band(unread)
    made = Band(made.low - error_m3, made.middle, made.high + error_m3)
    burnt = inputs.burnt_m3(celsius)
    since = (on - look.on).days
    evenings = [look.on + timedelta(days=later) for later in range(since)]
    # An evening nobody wrote down is taken to have burnt what a day makes.
    used_m3 = sum(burnt.get(evening, a_day.middle) for evening in evenings)
    released = inputs.released_m3(celsius)
    used_m3 += sum(released.get(evening, 0.0) for evening in evenings)
    held = gas_this_evening(look.seen.standard_m3 - used_m3, made, room_m3)
    spread = burner.minutes(Band(max(0.0, held.low), max(0.0, held.middle), max(0.0, held.high)))
    return _rounded(spread, is_read=True)


def _rounded(minutes: Band, *, is_read: bool) -> Promise:
    low, middle, high = (
        round(each / ROUND_MIN) * ROUND_MIN for each in (minutes.low, minutes.middle, minutes.high)
    )
    return Promise(middle, low, high, is_read)
