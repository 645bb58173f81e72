"""What we believe about digesters: members that differ where we do not know.

Each member is a state and three factors: strength of the feed (it also soaks up a wrong burner
constant: only their product shows in the gas), activity of the methanogens am, and hydrolysis ah.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from apps.digesters.core.process import state as rows
from apps.digesters.core.process.conditions import DayConditions, conditions_for
from apps.digesters.core.process.parameters import ProcessParameters, default_parameters
from apps.digesters.core.process.simulate import SIX_HOURLY
from apps.digesters.core.process.state import Floats
from apps.digesters.core.process.step import advance

# Twin experiment, 150 digesters of seed 72: 24, 48 and 96 members warned of 95, 98 and 97 % of
# sourings with 2.1, 2.1 and 1.8 % of healthy days alarmed, a week's band covered 75, 82 and 83 %:
# past 48 nothing is gained that noise does not hide.
MEMBERS: Final = 48

STRENGTH: Final = 0
ACTIVITY: Final = 1
HYDROLYSIS: Final = 2
FACTORS: Final = 3

# Prior of the factors: median and standard deviation of ln; digestion of many homes is unlike, and
# how unlike is assumed. Bounds keep a wild run of readings from inventing a digester.
FACTOR_MEDIAN: Final = np.array([1.0, 0.62, 1.0])
FACTOR_SD: Final = np.array([0.25, 0.45, 0.20])
FACTOR_LOW: Final = np.log([0.3, 0.10, 0.4])
FACTOR_HIGH: Final = np.log([2.0, 2.0, 2.5])
# Factors wander back to the prior in about so many days; without readings we end up knowing
# nothing. Assumed.
FACTOR_MEMORY_D: Final = np.array([600.0, 365.0, 365.0])
# Daily noise on ln of acids, methanogens and what buffers them: what the model and the assumed
# salts of a feed leave out. Assumed.
STATE_NOISE_SD: Final = 0.03
NOISY_STATES: Final = (rows.ACIDS, rows.METHANOGENS, rows.NITROGEN, rows.STRONG_IONS)

# Spread of ln of the start after seeding with dung; assumed.
START_SD: Final[dict[int, float]] = {
    rows.SLOW: 0.30,
    rows.FIBRE: 0.20,
    rows.ACIDOGENS: 0.30,
    rows.ACIDS: 0.30,
    rows.HIGHER_ACIDS: 0.30,
    rows.METHANOGENS: 0.40,
    rows.FAT_EATERS: 0.40,
    rows.NITROGEN: 0.15,
    rows.STRONG_IONS: 0.15,
}
FEED_ROWS: Final = [
    rows.FAST,
    rows.SLOW,
    rows.FIBRE,
    rows.FAST_N,
    rows.SLOW_N,
    rows.FAST_C,
    rows.SLOW_C,
    rows.SLOW_FAT,
]


@dataclass
class Ensemble:
    """Members of `d` digesters: arrays changed in place by a day's run.

    state (STATE_ROWS, d, members); factors (FACTORS, d, members), natural logarithms;
    gas_since (d, members): gas made since the holder was last looked at [standard m3].
    """

    state: Floats
    factors: Floats
    gas_since: Floats

    @property
    def digesters(self) -> int:
        return int(self.state.shape[1])

    @property
    def members(self) -> int:
        return int(self.state.shape[2])

    def copy(self) -> Ensemble:
        """An ensemble to try things on."""
        return Ensemble(self.state.copy(), self.factors.copy(), self.gas_since.copy())

    def part(self, digesters: slice | NDArray[np.intp]) -> Ensemble:
        """Some of the digesters, copied."""
        return Ensemble(
            self.state[:, digesters].copy(),
            self.factors[:, digesters].copy(),
            self.gas_since[digesters].copy(),
        )

    def ph(self) -> Floats:
        """pH of every member (d, members)."""
        return rows.ph_of(self.state)


def joined(ensembles: list[Ensemble]) -> Ensemble:
    """Ensembles side by side."""
    return Ensemble(
        np.concatenate([e.state for e in ensembles], axis=1),
        np.concatenate([e.factors for e in ensembles], axis=1),
        np.concatenate([e.gas_since for e in ensembles], axis=0),
    )


def noise(key: int, ordinal: int, count: int, members: int) -> Floats:
    """Standard normal draws (count, members) of mean zero, the same for the same key and day."""
    # The low word counts the draws of a day, so days must differ in the next one.
    generator = np.random.Generator(np.random.Philox(key=key, counter=[0, ordinal, 0, 0]))
    drawn = generator.standard_normal((count, members))
    return np.asarray(drawn - drawn.mean(axis=1, keepdims=True))


def seeded_ensemble(key: int, members: int = MEMBERS) -> Ensemble:
    """One digester just filled with dung and water: prior spread of start and factors.

    `key` names the digester's draws; the same key gives the same ensemble.
    """
    drawn = noise(key, 0, FACTORS + len(START_SD), members)
    state = rows.seeded_state((1, members))
    for (row, sd), normal in zip(START_SD.items(), drawn[FACTORS:], strict=True):
        factor = np.exp(sd * normal)
        state[row, 0] *= factor
        if row == rows.SLOW:
            state[rows.SLOW_N, 0] *= factor
            state[rows.SLOW_C, 0] *= factor
            state[rows.SLOW_FAT, 0] *= factor
    factors = np.log(FACTOR_MEDIAN)[:, None] + FACTOR_SD[:, None] * drawn[:FACTORS]
    return Ensemble(
        state,
        np.clip(factors, FACTOR_LOW[:, None], FACTOR_HIGH[:, None])[:, None, :],
        np.zeros((1, members)),
    )


def conditions_of(
    ensemble: Ensemble,
    load: Floats,
    dilution_per_d: Floats,
    slurry_c: Floats,
    steps_per_day: int,
    p: ProcessParameters,
) -> DayConditions:
    """A day's conditions of every member; load (LOAD_ROWS, d), the others (d,)."""
    strength = np.exp(ensemble.factors[STRENGTH])
    inflow = np.empty((rows.LOAD_ROWS, *strength.shape))
    inflow[:] = load[:, :, None]
    inflow[FEED_ROWS] *= strength
    return conditions_for(
        inflow,
        dilution_per_d[:, None],
        slurry_c[:, None],
        np.exp(ensemble.factors[ACTIVITY]),
        np.exp(ensemble.factors[HYDROLYSIS]),
        steps_per_day,
        p,
    )


def run_day(
    ensemble: Ensemble,
    load: Floats,
    dilution_per_d: Floats,
    slurry_c: Floats,
    *,
    steps_per_day: int = SIX_HOURLY,
    parameters: ProcessParameters | None = None,
) -> tuple[Floats, Floats, Floats]:
    """Run every member through one day, in place.

    Returns methane and carbon dioxide made [kmol per m3 of slurry] and the lowest pH, (d, members).
    """
    p = parameters or default_parameters()
    day = conditions_of(ensemble, load, dilution_per_d, slurry_c, steps_per_day, p)
    x = ensemble.state
    methane = np.zeros(x.shape[1:])
    carbon_dioxide = np.zeros(x.shape[1:])
    sourest = x[rows.HYDROGEN_ION].copy()
    for _ in range(steps_per_day):
        made, stripped = advance(x, day, p)
        methane += made
        carbon_dioxide += stripped
        np.maximum(sourest, x[rows.HYDROGEN_ION], out=sourest)
    return methane, carbon_dioxide, np.asarray(-np.log10(sourest))


def wander(ensemble: Ensemble, keys: list[int], ordinal: int) -> None:
    """Let factors and the least known states drift by a day's noise, in place.

    `keys` has one key a digester; `ordinal` is the day's number, so a re-run draws the same.
    """
    memory = FACTOR_MEMORY_D[:, None, None]
    drawn = np.stack(
        [noise(key, ordinal, FACTORS + len(NOISY_STATES), ensemble.members) for key in keys], axis=1
    )
    middle = np.log(FACTOR_MEDIAN)[:, None, None]
    step = FACTOR_SD[:, None, None] * np.sqrt(2.0 / memory)
    ensemble.factors += (middle - ensemble.factors) / memory + step * drawn[:FACTORS]
    np.clip(
        ensemble.factors,
        FACTOR_LOW[:, None, None],
        FACTOR_HIGH[:, None, None],
        out=ensemble.factors,
    )
    for row, normal in zip(NOISY_STATES, drawn[FACTORS:], strict=True):
        ensemble.state[row] *= np.exp(STATE_NOISE_SD * normal)


def keep_sound(ensemble: Ensemble, least_ph: float) -> None:
    """Put copies of members at `least_ph` or above in place of those below it, in place.

    For what was seen to be sound. Where no member is, nothing changes: the model is wrong then,
    and readings must tell. Copies part again with the next days' noise.
    """
    for place, ph in enumerate(ensemble.ph()):
        sour, sound = np.flatnonzero(ph < least_ph), np.flatnonzero(ph >= least_ph)
        if sour.size and sound.size:
            taken = sound[np.arange(sour.size) * sound.size // sour.size % sound.size]
            ensemble.state[:, place, sour] = ensemble.state[:, place, taken]
            ensemble.factors[:, place, sour] = ensemble.factors[:, place, taken]
            ensemble.gas_since[place, sour] = ensemble.gas_since[place, taken]
