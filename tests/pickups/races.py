"""Two people act on one pickup at the same moment: everything that can be done to it, in pairs.

`Course.race` lets two racers go at one signal, each in a thread and on a connection of its own,
and compares what became of both with the two orders one after the other, which it tries
beforehand in transactions that are rolled back. Each race has a day and a pickup of its own.
"""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db import connection, transaction
from django.db.models import Value
from django.db.models.functions import Coalesce
from django.http import Http404

from apps.groups.models import Fact
from apps.kernel.days import local_instant
from apps.kernel.errors import Refused
from apps.ledger.models import AccountKind, Balance, Movement
from apps.ledger.operations.open_account import shared_account
from apps.ledger.operations.set_aside import set_aside
from apps.pickups.models import ForeignMatter, Pickup, PickupEvent, Standby
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.places.models import Place
from apps.planning.models import Ban, Pin
from apps.rounds.models import RoundStop
from apps.rounds.operations.build_round import build_round
from apps.rounds.operations.save_carrier import save_carrier
from tests.cast import _feed, make_cast
from tests.pickups.racers import (
    OVERTAKEN,
    PLANNED_G,
    QUICK,
    RACERS,
    SEARCHES,
    STARTS,
    Scene,
    hand_written_plan,
)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What each racer was told, and what the day looks like afterwards."""

    told: tuple[str, ...]
    day: tuple[Any, ...]

    @property
    def is_said(self) -> bool:
        """Each was told that it is done, or why not, in a sentence."""
        return all(each == "done" or each.startswith("refused: ") for each in self.told)


class Course:
    """A neighbourhood in which races are run, one a working day."""

    def __init__(self) -> None:
        self.cast = make_cast()
        self.days = 0
        self.fed_till = self.cast.today
        for member in (self.cast.elsa, self.cast.bruno):
            Standby.unscoped.create(group=self.cast.group, member=member, since_at=self.cast.now)
        start = Place.objects.of(self.cast.group).get(code="allotments")
        self.carrier = save_carrier(self.cast.group, self.cast.graca, start=start)

    def race(self, start: str, first: str, second: str) -> tuple[Outcome, list[Outcome]]:
        """What came of both at once; what may come of it: the one after the other, either way."""
        scene = self._set_up(start)
        both = [(first, "a"), (second, "b")]
        orders = [self._in_turn(scene, both), self._in_turn(scene, both[::-1])]
        for at, (name, _key) in enumerate(both):
            if name in SEARCHES:
                # Overtaken while it searched, it is refused and leaves no trace.
                alone = self._in_turn(scene, both[1 - at :][:1])
                told = (OVERTAKEN, *alone.told) if at == 0 else (*alone.told, OVERTAKEN)
                orders.append(Outcome(told, alone.day))
        together = self._at_once(scene, both)
        self._clear_up(scene)
        return together, orders

    def _set_up(self, start: str) -> Scene:
        self.days += 1
        on = self.cast.today + timedelta(days=self.days + (self.days - 1) // 4 * 3)
        now = local_instant(on, time(9, 30), self.cast.group.time_zone)
        self._feed_before(on, now)
        sync_pickups(hand_written_plan(self.cast, on, PLANNED_G, now), now=now)
        scene = Scene(self.cast, on, now, Pickup.objects.of(self.cast.group).get(on=on))
        for at, name in enumerate(STARTS[start]):
            if name == "build":
                build_round(
                    self.cast.group, self.carrier, on, now=now, built_by=self.cast.bruno,
                    effort=QUICK,
                )  # fmt: skip
            else:
                RACERS[name](scene, f"before-{at}")
        return scene

    def _feed_before(self, on: date, now: datetime) -> None:
        """The homes went on feeding, so that each race begins with the same headroom."""
        days = [self.fed_till + timedelta(days=at) for at in range((on - self.fed_till).days)]
        self.fed_till = on
        for digester, amount_g in ((self.cast.drum, 2_500), (self.cast.dome, 4_000)):
            _feed(self.cast.quay_stall, digester, self.cast.materials, amount_g, days, now)

    def _in_turn(self, scene: Scene, racers: Sequence[tuple[str, str]]) -> Outcome:
        with transaction.atomic():
            told = {key: _told(name, scene, key) for name, key in racers}
            found = Outcome(_by_key(told), snapshot(scene))
            transaction.set_rollback(True)
        return found

    def _at_once(self, scene: Scene, racers: Sequence[tuple[str, str]]) -> Outcome:
        told: dict[str, str] = {}
        gate = threading.Barrier(len(racers))

        def run(name: str, key: str) -> None:
            connection.ensure_connection()
            gate.wait()
            try:
                told[key] = _told(name, scene, key)
            finally:
                connection.close()

        threads = [threading.Thread(target=run, args=each) for each in racers]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        return Outcome(_by_key(told), snapshot(scene))

    def _clear_up(self, scene: Scene) -> None:
        """Empty bins, so that each race begins alike."""
        group = self.cast.group
        for digester in (self.cast.drum, self.cast.dome):
            held = Balance.objects.of(group).filter(account=digester.bin_account, amount_g__gt=0)
            amounts_g = {each.material: each.amount_g for each in held.select_related("material")}
            if amounts_g:
                set_aside(
                    group,
                    from_account=digester.bin_account,
                    to_account=shared_account(group, AccountKind.DISCARDED),
                    amounts_g=amounts_g,
                    happened_at=scene.now,
                    now=scene.now,
                    client_key=f"empty-{scene.on}-{digester.code}",
                )


def _by_key(told: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(told[key] for key in sorted(told))


def _told(name: str, scene: Scene, key: str) -> str:
    """What whoever did this is told: done, or refused with a sentence. All else is a fault."""
    try:
        with transaction.atomic() if connection.in_atomic_block else nullcontext():
            RACERS[name](scene, key)
    except Refused as error:
        return f"refused: {error.code}" if str(error) else "refused without a word"
    except Http404:
        return "refused without a word"
    except Exception as error:
        return f"fault: {type(error).__name__}: {error}"
    return "done"


def snapshot(scene: Scene) -> tuple[Any, ...]:
    """Everything that people can see of the day, without keys and instants."""
    group, on = scene.cast.group, scene.on
    pickups = sorted(
        (
            pickup.source.code, pickup.digester.code, pickup.state, pickup.revision,
            pickup.fetcher.code if pickup.fetcher else "", pickup.late_till_min,
            pickup.contested_at is not None, pickup.giver_weight_g,
            tuple((ln.stream.code, ln.planned_g, ln.collected_g, ln.delivered_g)
                  for ln in pickup.lines.select_related("stream")),
        )
        for pickup in Pickup.objects.of(group).filter(on=on)
        .select_related("source", "digester", "fetcher")
    )  # fmt: skip
    events = Counter(
        PickupEvent.objects.of(group)
        .filter(pickup__on=on)
        .order_by()
        .values_list("step", "from_state", "to_state", Coalesce("by__code", Value("plan")))
    )
    grams: Counter[tuple[str, str]] = Counter()
    for source, target, material, amount_g in (
        Movement.objects.of(group)
        .filter(posting__on=on)
        .values_list("from_account__code", "to_account__code", "material__code", "amount_g")
    ):
        grams[source, material] -= amount_g
        grams[target, material] += amount_g
    stops = sorted(
        RoundStop.objects.of(group)
        .filter(round__on=on)
        .values_list("round__state", "side", "state", "is_live", "number", "reason")
    )
    return (
        pickups,
        sorted(events.items()),
        sorted(item for item in grams.items() if item[1]),
        stops,
        sorted(Fact.objects.of(group).filter(happened_at=scene.now).exclude(
            kind__in=("plan_made", "batch_pinned", "pair_banned")).values_list("kind", flat=True)),
        ForeignMatter.objects.of(group).filter(on=on).count(),
        sorted(Pin.objects.of(group).filter(on=on).values_list("digester__code", "amount_g")),
        sorted(Ban.objects.of(group).filter(on=on).values_list("digester__code", flat=True)),
    )  # fmt: skip
