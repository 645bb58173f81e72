"""How a source's word is learnt from what whoever came found. Expected grams by hand."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from apps.pickups.core.life import COMPLETE, DECLINE, FAIL, Party
from apps.pickups.models import Pickup
from apps.pickups.operations.answer_pickup import end_pickup
from apps.pickups.operations.complete_pickup import Weight, complete_pickup
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.operations.take_step import Act, Actor
from apps.pickups.queries.kept_offers import kept_offers
from apps.supply.core.forecast import Basis
from apps.supply.models import Offer
from apps.supply.queries.expected_supply import expected_supply, learnt_streams
from tests.cast import Cast
from tests.pickups.plans import write_plan


def announced(cast: Cast, days: int) -> list[Pickup]:
    """4 kg of vegetables a day to the drum, from tomorrow, each day offered."""
    plan = write_plan(cast, [(cast.vegetables, cast.drum, day, 4_000) for day in range(days)])
    sync_pickups(plan, now=cast.now)
    for day in range(days):
        Offer.unscoped.create(
            group=cast.group,
            stream=cast.vegetables,
            on=plan.starts_on + timedelta(days=day),
            amount_g=8_000,
            said_at=cast.now,
        )
    return list(Pickup.objects.of(cast.group).order_by("on"))


def noon(cast: Cast, pickup: Pickup) -> datetime:
    return cast.now + (pickup.on - cast.today) * 1


def end(cast: Cast, pickup: Pickup, step: object, reason: str) -> None:
    act = Act(step, Actor(cast.duarte, Party.FETCHER), str(pickup.uuid), noon(cast, pickup), reason)  # type: ignore[arg-type]
    end_pickup(cast.group, pickup.uuid, act)


def fetch(cast: Cast, pickup: Pickup, found_g: int) -> None:
    act = Act(COMPLETE, Actor(cast.duarte, Party.FETCHER), str(pickup.uuid), noon(cast, pickup))
    line = pickup.lines.get()
    complete_pickup(cast.group, pickup.uuid, act, weights={line.uuid: Weight(found_g, found_g)})


@pytest.mark.django_db
def test_what_was_found_widens_the_next_offer_and_who_comes_in_vain_tells_of_nothing(
    cast: Cast,
) -> None:
    """Of six offers two were found whole, two by half, one not at all; one home declined, which
    says nothing of the source. The fifths of 0, 0.5, 0.5, 1, 1 by rank: 0.5, 0.5, 1."""
    pickups = announced(cast, 6)
    fetch(cast, pickups[0], 4_000)
    fetch(cast, pickups[1], 2_000)
    end(cast, pickups[2], FAIL, "nothing_there")
    end(cast, pickups[3], DECLINE, "ill")
    fetch(cast, pickups[4], 4_000)
    fetch(cast, pickups[5], 2_000)
    after = pickups[-1].on + timedelta(days=1)
    learnt = {stream.pk: each for stream, each in learnt_streams(cast.group, after, 1)}
    had_g = {each.on: each.amount_g for each in learnt[cast.vegetables.pk].past.weights}
    assert [had_g[each.on] for each in pickups] == [8_000, 8_000, 0, 8_000, 8_000, 8_000]
    kept = kept_offers(cast.group, cast.today, after)
    assert [kept.get((cast.vegetables.pk, each.on)) for each in pickups] == [
        (4_000, 4_000), (4_000, 2_000), (4_000, 0), None, (4_000, 4_000), (4_000, 2_000),
    ]  # fmt: skip
    Offer.unscoped.create(
        group=cast.group, stream=cast.vegetables, on=after, amount_g=9_000, said_at=cast.now
    )
    row = next(
        each for each in expected_supply(cast.group, after, 1) if each.stream == cast.vegetables
    )
    forecast = row.forecast
    assert (forecast.p20_g, forecast.p50_g, forecast.p80_g) == (4_500, 4_500, 9_000)
    assert (forecast.basis, forecast.weights_used) == (Basis.OFFER, 5)
