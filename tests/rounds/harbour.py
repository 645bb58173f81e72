"""Graça with her cart, and three pickups of tomorrow for her to carry."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from apps.ledger.queries.balances import balances_g
from apps.pickups.core.life import WITHDRAW, Party
from apps.pickups.models import Pickup
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.operations.take_step import Act, Actor, take_step
from apps.places.models import Place
from apps.rounds.core.engine import Effort
from apps.rounds.models import Carrier, Round, RoundStop
from apps.rounds.operations.announce_round import announce_round
from apps.rounds.operations.build_round import build_round
from apps.rounds.operations.note_stop import StopAct
from apps.rounds.operations.save_carrier import save_carrier
from tests.cast import Cast, make_cast
from tests.pickups.plans import write_plan
from tests.remembered import remembered

QUICK = Effort(iterations=40)


@dataclass
class Harbour:
    """`on` is the day of the pickups; `then` ten in the morning of it."""

    cast: Cast
    carrier: Carrier
    on: date
    then: datetime

    def build(self, **more: object) -> Round:
        """The draft."""
        return build_round(
            self.cast.group,
            self.carrier,
            self.on,
            now=self.cast.now,
            built_by=self.cast.bruno,
            effort=QUICK,
            **more,  # type: ignore[arg-type]
        )

    def announced(self) -> Round:
        """Built and announced."""
        made = self.build()
        return announce_round(
            self.cast.group,
            made.uuid,
            now=self.cast.now,
            announced_by=self.cast.bruno,
            is_confirmed=True,
        )

    def act(self, key: str, **more: object) -> StopAct:
        """Graça at ten."""
        given: dict[str, object] = {"now": self.then, "happened_at": self.then}
        return StopAct(self.cast.graca, key, **{**given, **more})  # type: ignore[arg-type]


@remembered
def make_harbour() -> Harbour:
    """Quay to the drum and the dome, canteen to the dome."""
    cast = make_cast(history_days=0)
    plan = write_plan(
        cast,
        [
            (cast.vegetables, cast.drum, 0, 3_000),
            (cast.citrus, cast.drum, 0, 400),
            (cast.vegetables, cast.dome, 0, 2_000),
            (cast.peelings, cast.dome, 0, 5_000),
        ],
    )
    sync_pickups(plan, now=cast.now)
    start = Place.objects.of(cast.group).get(code="allotments")
    carrier = save_carrier(cast.group, cast.graca, start=start)
    on = cast.today + timedelta(days=1)
    return Harbour(cast, carrier, on, cast.now.replace(hour=9) + timedelta(days=1))


def waiting(found: Round) -> list[RoundStop]:
    """Stops to come, in order."""
    return list(found.stops.filter(state="waiting").order_by("number").select_related("pickup"))


def pickup_of(harbour: Harbour, source: str, digester: str) -> Pickup:
    """By the codes of both ends."""
    return Pickup.objects.of(harbour.cast.group).get(
        source__code=source, digester__code=digester, on=harbour.on
    )


def on_cart_g(harbour: Harbour) -> int:
    """What the ledger has in Graça's account."""
    account = harbour.carrier.account_id
    return sum(balances_g(harbour.cast.group, [account]).get(account, {}).values())


def withdraw(harbour: Harbour, pickup: Pickup, key: str = "plan") -> None:
    """As a new plan does."""
    act = Act(WITHDRAW, Actor(None, Party.PLAN), key, harbour.then)
    take_step(harbour.cast.group, pickup.uuid, act)
