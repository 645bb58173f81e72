"""Follow digesters night by night: run the day, then learn from what was read.

A night can be re-run from any stored day: the noise follows from the digester and the date, and
states are rounded as they are stored, so the same records give the same bytes.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

import numpy as np

from apps.digesters.core.process.cooking import Band
from apps.digesters.core.process.ensemble import (
    MEMBERS,
    Ensemble,
    joined,
    keep_sound,
    run_day,
    seeded_ensemble,
    wander,
)
from apps.digesters.core.process.gas import biogas_standard_m3
from apps.digesters.core.process.gas_made import GasMade
from apps.digesters.core.process.learn import dissolved_co2, learn, settle
from apps.digesters.core.process.load import Portion, load_of
from apps.digesters.core.process.parameters import default_parameters
from apps.digesters.core.process.state import LOAD_ROWS
from apps.digesters.core.process.state_blob import StoredState, inputs_hash, rounded

# How well a strip tells pH, colour read by eye; assumed.
PH_STRIP_SD: Final = 0.25
# How far the model's pH may be off where its members agree: salts of feeds are assumed. Assumed.
PH_MODEL_SD: Final = 0.10
# A digester that joins running is taken through so many days of its usual feed, the first weeks as
# a ramp. Assumed.
SPIN_UP_D: Final = 90
# What a digester that runs when it joins is taken to have had at least: that of a sound one (6.8 to
# 7.2 in the handbooks; limit ph_good).
SOUND_PH: Final = 6.8
RAMP_D: Final = 42
# Digesters run side by side: 80 x 48 members stay in the processor's cache.
TOGETHER: Final = 80


@dataclass(frozen=True)
class DayRecord:
    """What happened to a digester on one local day, as far as anybody wrote it down.

    `gas` is the gas made since the holder was last looked at (see gas_made); `looked` says that it
    was looked at today even when no figure came of it, because minutes of burning were not kept.
    """

    on: date
    portions: tuple[Portion, ...] = ()
    water_l: float = 0.0
    slurry_c: float = 25.0
    gas: GasMade | None = None
    looked: bool = False
    ph: float | None = None


@dataclass(frozen=True)
class Tracked:
    """A digester to follow: its name, working volume [m3], where it stands, what happened since.

    `records` are consecutive days, the first the day after `state.on`.
    """

    digester: str
    working_m3: float
    state: StoredState
    records: tuple[DayRecord, ...]

    def __post_init__(self) -> None:
        wanted = self.state.on
        for record in self.records:
            wanted += timedelta(days=1)
            if record.on != wanted:
                raise ValueError(
                    f"Digester {self.digester} has a record of {record.on} where {wanted} is due; "
                    f"give every day once, an empty record for a day nobody wrote down."
                )


@dataclass(frozen=True)
class Night:
    """A digester after one day: its state and how surprising its readings were [sd, 0 if none]."""

    state: StoredState
    gas_surprise: float
    ph_surprise: float
    gas_foreseen_m3: float
    gas_since_m3: Band
    """Gas foreseen since the holder was last looked at, before this day's look taught."""


def noise_key(digester: str) -> int:
    """The number a digester's draws follow from."""
    return int.from_bytes(hashlib.sha256(digester.encode()).digest()[:8], "big")


def seeded(digester: str, on: date, members: int = MEMBERS) -> StoredState:
    """A digester filled with fresh dung and water 1:1 on a day."""
    ensemble = rounded(seeded_ensemble(noise_key(digester), members))
    return StoredState(digester, on, inputs_hash("seeded", [digester, on, members]), ensemble)


def adopted(
    digester: str,
    on: date,
    working_m3: float,
    usual: tuple[Portion, ...],
    water_l: float,
    slurry_c: float,
    members: int = MEMBERS,
) -> StoredState:
    """A digester that already runs when it joins: seeded long ago, then fed as its people say.

    `usual` and `water_l` are a usual day's feeding. The spread is that of a digester nobody read,
    but for members that soured on the way: it runs, so they are no picture of it.
    """
    start = seeded(digester, on - timedelta(days=SPIN_UP_D), members)
    records = tuple(
        DayRecord(
            start.on + timedelta(days=day),
            tuple(
                replace(portion, fresh_kg=portion.fresh_kg * min(day / RAMP_D, 1.0))
                for portion in usual
            ),
            water_l * min(day / RAMP_D, 1.0),
            slurry_c,
        )
        for day in range(1, SPIN_UP_D + 1)
    )
    state = track([Tracked(digester, working_m3, start, records)])[0][-1].state
    keep_sound(state.ensemble, SOUND_PH)
    return state


def track(those: Sequence[Tracked], *, keep_every_day: bool = False) -> list[tuple[Night, ...]]:
    """Follow digesters through their records; the last night of each, or every night.

    Any mix of lengths; digesters with as many days are run side by side.
    """
    out: list[tuple[Night, ...]] = [()] * len(those)
    by_shape: dict[tuple[int, int], list[int]] = {}
    for place, one in enumerate(those):
        shape = (len(one.records), one.state.ensemble.members)
        by_shape.setdefault(shape, []).append(place)
    for (days, _), places in by_shape.items():
        if days == 0:
            continue
        for first in range(0, len(places), TOGETHER):
            some = places[first : first + TOGETHER]
            nights = _track_together([those[place] for place in some], days, keep_every_day)
            for place, own in zip(some, nights, strict=True):
                out[place] = own
    return out


def _track_together(
    those: list[Tracked], days: int, keep_every_day: bool
) -> list[tuple[Night, ...]]:
    p = default_parameters()
    ensemble = joined([one.state.ensemble for one in those])
    volumes = np.array([one.working_m3 for one in those])
    keys = [noise_key(one.digester) for one in those]
    hashes = [one.state.inputs_hash for one in those]
    nights: list[list[Night]] = [[] for _ in those]
    for day in range(days):
        records = [one.records[day] for one in those]
        load = np.empty((LOAD_ROWS, len(those)))
        dilution = np.empty(len(those))
        for place, (one, record) in enumerate(zip(those, records, strict=True)):
            load[:, place], dilution[place] = load_of(
                record.portions, record.water_l, one.working_m3
            )
        slurry = np.array([record.slurry_c for record in records])
        by_date: dict[int, list[int]] = {}
        for place, record in enumerate(records):
            by_date.setdefault(record.on.toordinal(), []).append(place)
        _wander_by_date(ensemble, keys, by_date)
        methane, carbon_dioxide, _ = run_day(ensemble, load, dilution, slurry)
        gas = biogas_standard_m3(methane, carbon_dioxide) * volumes[:, None]
        ensemble.gas_since += gas
        foreseen = np.median(gas, axis=1)
        low, middle, high = np.quantile(ensemble.gas_since, (0.1, 0.5, 0.9), axis=1)

        co2 = dissolved_co2(ensemble, slurry, p)
        seen = [record.gas for record in records]
        gas_surprise = learn(
            ensemble,
            ensemble.gas_since,
            np.array([g.standard_m3 if g else np.nan for g in seen]),
            np.array([g.sd_m3 if g else 1.0 for g in seen]),
            at_least=np.array([bool(g and g.at_least) for g in seen]),
        )
        looked = np.array([bool(g) or r.looked for g, r in zip(seen, records, strict=True)])
        ensemble.gas_since[looked] = 0.0
        settle(ensemble, co2, slurry, p)
        ph_surprise = learn(
            ensemble,
            ensemble.ph(),
            np.array([np.nan if r.ph is None else r.ph for r in records]),
            np.full(len(those), PH_STRIP_SD),
            model_sd=PH_MODEL_SD,
        )
        settle(ensemble, co2, slurry, p)
        ensemble = rounded(ensemble)
        for place, (one, record) in enumerate(zip(those, records, strict=True)):
            hashes[place] = inputs_hash(hashes[place], [record, one.working_m3])
            if keep_every_day or day == days - 1:
                state = StoredState(
                    one.digester,
                    record.on,
                    hashes[place],
                    ensemble.part(slice(place, place + 1)),
                )
                nights[place].append(
                    Night(
                        state,
                        float(gas_surprise[place]),
                        float(ph_surprise[place]),
                        float(foreseen[place]),
                        Band(float(low[place]), float(middle[place]), float(high[place])),
                    )
                )
    return [tuple(own) for own in nights]


def _wander_by_date(ensemble: Ensemble, keys: list[int], by_date: dict[int, list[int]]) -> None:
    if len(by_date) == 1:
        wander(ensemble, keys, next(iter(by_date)))
        return
    for ordinal, places in by_date.items():
        part = ensemble.part(np.array(places))
        wander(part, [keys[place] for place in places], ordinal)
        ensemble.state[:, places] = part.state
        ensemble.factors[:, places] = part.factors
