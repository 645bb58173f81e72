"""Everything that can be done to one pickup, each by whoever would do it: for `races`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from itertools import combinations_with_replacement
from typing import Any

from django.db import transaction

from apps.groups.models import Group, Work
from apps.notices.operations.climb_ladder import climb_ladder
from apps.pickups.core.ladder import Rung
from apps.pickups.core.life import (
    ACCEPT,
    COLLECT,
    COMPLETE,
    CONTEST,
    DECLINE,
    FAIL,
    HAND_OVER,
    LATE,
    TAKE_OVER,
    Party,
    Step,
)
from apps.pickups.models import ForeignKind, Pickup
from apps.pickups.operations.answer_pickup import accept_pickup, collect_pickup, end_pickup
from apps.pickups.operations.change_hands import hand_over_pickup, take_over_pickup
from apps.pickups.operations.complete_pickup import Weight, complete_pickup
from apps.pickups.operations.contest_weight import contest_weight
from apps.pickups.operations.reassign_pickup import reassign_pickup
from apps.pickups.operations.refuse_batch import refuse_batch
from apps.pickups.operations.run_late import run_late
from apps.pickups.operations.settle_weight import settle_weight
from apps.pickups.operations.state_weight import state_weight
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.operations.take_step import Act, Actor
from apps.planning.models import Plan
from apps.rounds.core.engine import Effort
from apps.rounds.models import Round, RoundStop
from apps.rounds.operations.announce_round import announce_round, drop_round
from apps.rounds.operations.change_order import lock_stop
from apps.rounds.operations.note_stop import StopAct, note_stop_done, note_stop_problem
from apps.rounds.operations.replan_round import replan_round
from tests.cast import Cast
from tests.pickups.plans import write_plan

QUICK = Effort(iterations=20)
PLANNED_G = 3_000


@dataclass(frozen=True, slots=True)
class Scene:
    """One pickup on its day; `now` is half past nine of it."""

    cast: Cast
    on: date
    now: datetime
    pickup: Pickup

    def act(self, step: Step, key: str, who: Any = None, party: Party = Party.FETCHER,
            reason: str = "") -> Act:  # fmt: skip
        """Duarte's tap, unless somebody else is named."""
        actor = Actor(who or self.cast.duarte, party)
        return Act(step, actor, f"{self.on}-{key}", self.now, reason=reason)

    def by_coordinator(self, step: Step, key: str, reason: str = "") -> Act:
        """Carla's tap for Duarte."""
        actor = Actor(self.cast.carla, Party.COORDINATOR, self.cast.duarte)
        return Act(step, actor, f"{self.on}-{key}", self.now, reason=reason)

    def on_round(self, key: str) -> StopAct:
        """Graça's tap."""
        return StopAct(self.cast.graca, f"{self.on}-{key}", self.now, self.now)

    def stop(self, side: str) -> RoundStop:
        """The pickup's stop in its round."""
        found: RoundStop = RoundStop.objects.of(self.cast.group).get(pickup=self.pickup, side=side)
        return found

    @property
    def round(self) -> Round:
        """Graça's round of the day."""
        found: Round = Round.objects.of(self.cast.group).get(on=self.on)
        return found


Racer = Callable[[Scene, str], object]


def _correct(scene: Scene, key: str) -> object:
    """Weighed: a little less than planned, some of it foreign matter."""
    lines = scene.pickup.lines.all()
    weights = {line.uuid: Weight(2_500, 2_300) for line in lines}
    act = scene.act(COMPLETE, key)
    return complete_pickup(scene.cast.group, scene.pickup.uuid, act, weights=weights)


def _reassign(scene: Scene, key: str) -> object:
    pickup = Pickup.objects.of(scene.cast.group).select_related("group").get(pk=scene.pickup.pk)
    return reassign_pickup(
        pickup, scene.cast.dome, now=scene.now, by=scene.cast.carla, client_key=f"{scene.on}-{key}"
    )


def _climb(rung: Rung) -> Racer:
    def climb(scene: Scene, _key: str) -> object:
        pickup = scene.pickup
        payload = {
            "pickup": str(pickup.uuid),
            "revision": pickup.revision,
            "till_min": pickup.expected_till_min,
            "rung": str(rung),
        }
        return climb_ladder(Work(group=scene.cast.group, payload=payload))

    return climb


def _new_plan(amount_g: int | None) -> Racer:
    def announce(scene: Scene, _key: str) -> object:
        with transaction.atomic():
            Group.objects.select_for_update(no_key=True).get(
                pk=scene.cast.group.pk
            )  # as announcing does
            plan = hand_written_plan(scene.cast, scene.on, amount_g, scene.now)
            return sync_pickups(plan, now=scene.now)

    return announce


PEOPLE: dict[str, Racer] = {
    "accept": lambda s, k: accept_pickup(s.cast.group, s.pickup.uuid, s.act(ACCEPT, k)),
    "decline": lambda s, k: end_pickup(
        s.cast.group, s.pickup.uuid, s.act(DECLINE, k, reason="ill")
    ),
    "run late": lambda s, k: run_late(s.cast.group, s.pickup.uuid, s.act(LATE, k), minutes=30),
    "hand over": lambda s, k: hand_over_pickup(
        s.cast.group, s.pickup.uuid, s.act(HAND_OVER, k), to=s.cast.bruno
    ),
    "collect": lambda s, k: collect_pickup(s.cast.group, s.pickup.uuid, s.act(COLLECT, k)),
    "complete": lambda s, k: complete_pickup(s.cast.group, s.pickup.uuid, s.act(COMPLETE, k)),
    "complete, weighed": _correct,
    "no-show": lambda s, k: end_pickup(
        s.cast.group,
        s.pickup.uuid,
        s.act(FAIL, k, s.cast.filipe, Party.GIVER, "nobody_came"),
    ),
    "bad batch": lambda s, k: refuse_batch(
        s.cast.group,
        s.pickup.uuid,
        s.act(FAIL, k, reason="foreign_matter"),
        kind=ForeignKind.PLASTIC,
    ),
    "contest": lambda s, k: contest_weight(
        s.cast.group, s.pickup.uuid, s.act(CONTEST, k, s.cast.filipe, Party.GIVER)
    ),
    "source weighs": lambda s, _k: state_weight(
        s.cast.group, s.pickup.uuid, 2_000, now=s.now, stated_by=s.cast.filipe
    ),
}
GROUP: dict[str, Racer] = {
    "first on standby": lambda s, k: take_over_pickup(
        s.cast.group, s.pickup.uuid, s.act(TAKE_OVER, k, s.cast.elsa, Party.STANDBY)
    ),
    "second on standby": lambda s, k: take_over_pickup(
        s.cast.group, s.pickup.uuid, s.act(TAKE_OVER, k, s.cast.bruno, Party.STANDBY)
    ),
    "remind": _climb(Rung.SECOND_REMINDER),
    "ask standby": _climb(Rung.STANDBY),
    "reassign": _reassign,
    "another goes": lambda s, k: hand_over_pickup(
        s.cast.group, s.pickup.uuid, s.by_coordinator(HAND_OVER, k), to=s.cast.heitor
    ),
    "compost": lambda s, k: end_pickup(
        s.cast.group, s.pickup.uuid, s.by_coordinator(FAIL, k, "composted")
    ),
    "settle": lambda s, k: settle_weight(
        s.cast.group, s.pickup.uuid, giver_is_right=True, now=s.now, settled_by=s.cast.carla,
        client_key=f"{s.on}-{k}",
    ),
    "plan asks more": _new_plan(3_400),
    "plan drops it": _new_plan(None),
}  # fmt: skip
ROUND: dict[str, Racer] = {
    "fetched": lambda s, k: note_stop_done(s.cast.group, s.stop("fetch").uuid, s.on_round(k)),
    "not fetched": lambda s, k: note_stop_problem(
        s.cast.group, s.stop("fetch").uuid, s.on_round(k), reason="nobody_there"
    ),
    "brought": lambda s, k: note_stop_done(s.cast.group, s.stop("bring").uuid, s.on_round(k)),
    "not brought": lambda s, k: note_stop_problem(
        s.cast.group, s.stop("bring").uuid, s.on_round(k), reason="spoiled", went_to="composted"
    ),
    "announce round": lambda s, _k: announce_round(
        s.cast.group, s.round.uuid, now=s.now, announced_by=s.cast.bruno, is_confirmed=True
    ),
    "drop round": lambda s, _k: drop_round(
        s.cast.group, s.round.uuid, now=s.now, dropped_by=s.cast.bruno
    ),
    "order anew": lambda s, _k: replan_round(
        s.cast.group, s.round.uuid, now=s.now, asked_by=None, effort=QUICK
    ),
    "promise": lambda s, _k: lock_stop(s.cast.group, s.stop("fetch").uuid, is_locked=True),
}
SEARCHES = {"order anew"}
"""What searches outside of its transaction, and gives way to whoever changed things meanwhile."""
OVERTAKEN = "refused: round_refused"
RACERS: dict[str, Racer] = {**PEOPLE, **GROUP, **ROUND}

STARTS: dict[str, tuple[str, ...]] = {
    "announced": (),
    "accepted": ("accept",),
    "collected": ("collect",),
    "delivered": ("complete", "source weighs"),
    "drafted into a round": ("build",),
    "in a round": ("build", "announce round"),
    "on a cart": ("build", "announce round", "fetched"),
}
"""What has happened to the pickup when the two begin."""


def pairs_of(start: str) -> list[tuple[str, str]]:
    """Every pair of racers, each also with itself; those of rounds where there is one."""
    names = RACERS if "build" in STARTS[start] else {**PEOPLE, **GROUP}
    return list(combinations_with_replacement(names, 2))


SHORT: dict[str, tuple[str, ...]] = {
    "announced": (
        "accept", "decline", "run late", "hand over", "complete, weighed", "no-show",
        "bad batch", "first on standby", "plan drops it",
    ),
    "delivered": ("contest", "source weighs", "settle"),
    "in a round": ("fetched", "not fetched", "decline", "complete", "drop round"),
    "on a cart": ("brought", "not brought", "complete", "compost"),
}  # fmt: skip
"""The racers of the test run; `python -m tests.benchmarks.pickup_races` has every pair."""


def hand_written_plan(cast: Cast, on: date, amount_g: int | None, now: datetime) -> Plan:
    """An announced plan of one day with one pickup, or with none, instead of that before."""
    asked = [] if amount_g is None else [(cast.vegetables, cast.drum, 0, amount_g)]
    return write_plan(cast, asked, first_on=on, days=1, now=now)
