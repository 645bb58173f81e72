"""True digesters: the process model with what nobody knows of each."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from apps.digesters.core.process.fractions import fractions_of
from apps.digesters.core.process.load import Portion, load_of
from apps.digesters.core.process.simulate import SIX_HOURLY, DailyInputs, simulate
from apps.digesters.core.process.state import LOAD_ROWS, Floats, seeded_state
from apps.rehearsal.core.world import World

SETTLING_DAYS = 60
"""Days of half the plate before the year begins, so that it starts with running digesters."""

Fed = Sequence[tuple[str, int]]
"""Material and grams that went in."""


class TrueDigesters:
    """All tanks of a neighbourhood, advanced a day at a time. `state` (STATE_ROWS, homes)."""

    def __init__(self, world: World, state: Floats | None = None) -> None:
        self.world = world
        if state is None:
            state = seeded_state((len(world.hood.homes),))
            # What a dung start brings of salts; the same for all.
            self.state = state
            warm = float(max(world.slurry_c[0].mean(), 22.0))
            for _ in range(SETTLING_DAYS):
                fed = [[("household_kitchen", home.plate_feed_g // 3)] for home in world.hood.homes]
                self._advance(fed, np.full(len(world.hood.homes), warm))
        else:
            self.state = state

    def live(self, day: int, fed: Sequence[Fed]) -> tuple[Floats, Floats]:
        """Feed `fed` by home; returns pH and methane [m3] by home at the day's end."""
        return self._advance(fed, self.world.slurry_c[day])

    def reseed(self, home: int) -> None:
        """Emptied and filled with dung and water anew."""
        self.state[:, home] = seeded_state((1,))[:, 0]

    def _advance(self, fed: Sequence[Fed], slurry_c: Floats) -> tuple[Floats, Floats]:
        world = self.world
        homes = len(world.hood.homes)
        loads, dilution = np.zeros((1, LOAD_ROWS, homes)), np.zeros((1, homes))
        for index, portions in enumerate(fed):
            slurry_l = sum(g * world.slurry_ppm(m) for m, g in portions) / 1e9
            fresh_kg = sum(g for _, g in portions) / 1000
            made = [
                Portion(
                    g / 1000 * float(world.strength[index]), world.vs_ppm(m) / 1e6, fractions_of(m)
                )
                for m, g in portions
            ]
            volume_m3 = world.hood.homes[index].volume_ml / 1e6
            loads[0, :, index], dilution[0, index] = load_of(
                made, max(0.0, slurry_l - fresh_kg), volume_m3
            )
        results = simulate(
            self.state,
            DailyInputs(loads, dilution, slurry_c[None, :]),
            activity=world.activity,
            steps_per_day=SIX_HOURLY,
        )
        self.state = results.end
        volumes = np.array([home.volume_ml / 1e6 for home in world.hood.homes])
        return results.ph[0], results.methane[0] * 22.36 * volumes
