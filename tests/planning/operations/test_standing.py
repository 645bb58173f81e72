"""What comes every week: agreed by both sides, pinned once a day, ended by either."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from apps.kernel.errors import NotAllowed
from apps.people.models import Member
from apps.planning.models import Pin, Standing, StandingDay
from apps.planning.operations.agree_standing import (
    StandingOver,
    StandingRefused,
    agree_standing,
    ask_standing,
)
from apps.planning.operations.ban_pair import ban_pair, lift_ban
from apps.planning.operations.end_standing import end_standing
from apps.planning.operations.pin_batch import pin_batch, unpin_batch
from apps.planning.operations.put_standing_pins import put_standing_pins
from tests.cast import Cast


def tomorrow(cast: Cast) -> date:
    return cast.today + timedelta(days=1)


def ask(cast: Cast, who: Member, amount_g: int | None = 1_000) -> Standing:
    """The quay's vegetables to Duarte, every week on tomorrow's day."""
    return ask_standing(
        cast.group,
        stream=cast.vegetables,
        digester=cast.drum,
        weekday=tomorrow(cast).weekday(),
        amount_g=amount_g,
        now=cast.now,
        asked_by=who,
    )


def put(cast: Cast) -> list[StandingDay]:
    return put_standing_pins(cast.group, starts_on=tomorrow(cast), now=cast.now)


def test_it_counts_once_the_other_side_agrees_and_is_pinned_once(cast: Cast) -> None:
    standing = ask(cast, cast.filipe)
    assert standing.agreed_at is None
    assert put(cast) == []
    agree_standing(cast.group, standing.uuid, now=cast.now, agreed_by=cast.filipe)
    assert put(cast) == []
    agree_standing(cast.group, standing.uuid, now=cast.now, agreed_by=cast.duarte)
    [day] = put(cast)
    assert (day.on, day.is_pinned, day.reason) == (tomorrow(cast), True, "")
    pin = Pin.objects.of(cast.group).get()
    assert (pin.batch_on, pin.on, pin.amount_g) == (day.on, day.on, 1_000)
    assert put(cast) == []
    unpin_batch(pin, now=cast.now, asked_by=cast.bruno)
    assert put(cast) == []
    assert not Pin.objects.of(cast.group).exists()


def test_a_refusal_is_recorded_and_tried_again(cast: Cast) -> None:
    assert ask(cast, cast.bruno).agreed_at is not None
    ban = ban_pair(cast.group, source=cast.quay_stall, digester=cast.drum, now=cast.now)
    [day] = put(cast)
    assert not day.is_pinned
    assert "This cannot be kept" in day.reason
    assert not Pin.objects.of(cast.group).exists()
    lift_ban(ban, now=cast.now)
    [again] = put(cast)
    assert (again.pk, again.is_pinned, again.reason) == (day.pk, True, "")


@pytest.mark.parametrize("amount_g", [8_000, 500_000])
def test_limits_and_what_there_is_come_first(cast: Cast, amount_g: int) -> None:
    ask(cast, cast.bruno, amount_g)
    [day] = put(cast)
    assert day.reason
    assert not Pin.objects.of(cast.group).exists()


def test_either_side_ends_it_and_later_pins_go(cast: Cast) -> None:
    standing = ask(cast, cast.bruno)
    put(cast)
    for _twice in range(2):
        end_standing(cast.group, standing.uuid, now=cast.now, ended_by=cast.filipe)
    assert not Pin.objects.of(cast.group).exists()
    assert put(cast) == []
    with pytest.raises(StandingOver):
        agree_standing(cast.group, standing.uuid, now=cast.now, agreed_by=cast.duarte)
    assert ask(cast, cast.duarte).pk != standing.pk


def test_others_have_no_say(cast: Cast) -> None:
    with pytest.raises(NotAllowed):
        ask(cast, cast.elsa)
    standing = ask(cast, cast.duarte)
    with pytest.raises(NotAllowed):
        end_standing(cast.group, standing.uuid, now=cast.now, ended_by=cast.elsa)
    with pytest.raises(StandingRefused, match="End it first"):
        ask(cast, cast.filipe, 2_000)
    assert ask(cast, cast.filipe).agreed_at is not None


def test_a_pin_put_by_hand_stays_as_it_is(cast: Cast) -> None:
    on = tomorrow(cast)
    pin_batch(
        cast.group, stream=cast.vegetables, batch_on=on, digester=cast.drum, on=on,
        amount_g=700, now=cast.now,
    )  # fmt: skip
    standing = ask(cast, cast.bruno)
    put(cast)
    end_standing(cast.group, standing.uuid, now=cast.now, ended_by=cast.bruno)
    assert Pin.objects.of(cast.group).get().amount_g == 700
