"""Run one policy through one year, in steps that can be put away and taken up again."""

from __future__ import annotations

import hashlib
import pickle
from collections.abc import Iterator
from dataclasses import dataclass, fields
from enum import Enum

from apps.digesters.core.process.state_blob import MODEL_VERSION
from apps.rehearsal.core.by_hand import ByHand
from apps.rehearsal.core.day import DayRow, HomeDiary, Lot, Year, live_day
from apps.rehearsal.core.ours import Effort, Ours
from apps.rehearsal.core.world import World


class OldJourney(Exception):
    """It was put away by another version of the service and cannot go on: begin it anew."""


class PolicyName(Enum):
    """Who decides."""

    OURS = "ours"
    BY_HAND = "by_hand"


@dataclass
class Journey:
    """One policy on its way through a year; `day` is the next one to live."""

    policy: Ours | ByHand
    day: int = 0
    above_stored: int = 0

    @property
    def year(self) -> Year:
        """What has been so far."""
        return self.policy.year

    def pack(self) -> bytes:
        """Everything needed to go on, but the world, which its seed makes again."""
        world, self.year.world = self.year.world, None  # type: ignore[assignment]
        self.policy.forget_today()
        self.policy.world = None  # type: ignore[assignment]
        self.year.tanks.world = None  # type: ignore[assignment]
        try:
            return made_with() + pickle.dumps(self)
        finally:
            _give_world(self, world)

    @classmethod
    def unpack(cls, packed: bytes, world: World) -> Journey:
        """A journey that was put away. `packed` is our own row, never somebody's upload.

        Raises `OldJourney` when the tanks or what is written down of a year have changed since.
        """
        now = made_with()
        if packed[: len(now)] != now:
            raise OldJourney
        journey: Journey = pickle.loads(packed[len(now) :])
        _give_world(journey, world)
        return journey


def made_with() -> bytes:
    """What a journey that is put away hangs on: the process model and the fields it is made of."""
    made_of = [
        (each.__name__, [field.name for field in fields(each)])
        for each in (Journey, Year, DayRow, HomeDiary, Lot)
    ]
    return hashlib.sha256(repr((MODEL_VERSION, made_of)).encode()).digest()


def _give_world(journey: Journey, world: World) -> None:
    journey.year.world = world
    journey.policy.world = world
    journey.year.tanks.world = world


def set_out(world: World, name: PolicyName, effort: Effort | None = None) -> Journey:
    """The first morning of a policy's year."""
    year = Year.begin(world)
    return Journey(Ours(year, effort) if name is PolicyName.OURS else ByHand(year))


def go_on(journey: Journey, until_day: int) -> Iterator[int]:
    """Live the days before `until_day`, giving each day's number as it ends."""
    year = journey.year
    while journey.day < min(until_day, year.world.days):
        day = journey.day
        walks, orders = journey.policy.plan(day)
        live_day(year, day, walks, orders, journey.policy.find_other)
        journey.above_stored += journey.policy.above_stored(day)
        journey.day += 1
        yield day
