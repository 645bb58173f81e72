"""Pins and bans: kept by the next plan, or refused with what they contradict."""

from __future__ import annotations

from datetime import timedelta

import pytest

from apps.planning.models import Pin
from apps.planning.operations.ban_pair import BanRefused, ban_pair, lift_ban
from apps.planning.operations.change_assignment import change_assignment, drop_assignment
from apps.planning.operations.make_plan import make_plan
from apps.planning.operations.pin_batch import PinRefused, pin_batch, unpin_batch
from apps.planning.verifier.verify import verify
from tests.cast import Cast
from tests.planning.first_plans import first_draft


def pin(cast: Cast, **changes: object) -> Pin:
    tomorrow = cast.today + timedelta(days=1)
    asked: dict[str, object] = {
        "stream": cast.vegetables,
        "batch_on": tomorrow,
        "digester": cast.drum,
        "on": tomorrow,
        "amount_g": 1_000,
        "now": cast.now,
        "asked_by": cast.bruno,
    }
    return pin_batch(cast.group, **(asked | changes))  # type: ignore[arg-type]


def test_the_next_plan_keeps_a_pin_to_the_gram(cast: Cast) -> None:
    pinned = pin(cast)
    plan = make_plan(cast.group, now=cast.now)
    kept = plan.assignments.get(
        stream=cast.vegetables, batch_on=pinned.batch_on, digester=cast.drum, on=pinned.on
    )
    assert kept.amount_g == 1_000
    assert verify(plan.document) == []


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"amount_g": 0}, "Give at least 1 g"),
        ({"amount_g": 12_000}, "The batch has 11.272 kg; 0.728 kg more were asked for."),
        ({"amount_g": 8_000}, "over its"),
        ({"digester": "bag"}, "over its 0 kg"),
        ({"on": -1}, "cannot be planned"),
        ({"batch_on": 20}, "has nothing of quay-vegetables"),
        ({"stream": "citrus", "on": 2}, "It cannot be collected on"),
    ],
)
def test_a_pin_that_cannot_be_kept_is_refused_with_the_reason(
    cast: Cast, changes: dict[str, object], said: str
) -> None:
    """The cast's stall has 9 kg of vegetables a day, on a fifth of the days over 11.272 kg (a
    normal spread of 30 %), kept one day, and citrus, kept none; the drum takes less than half a
    kilogram of volatile solids a day, the bag is paused."""
    for name in ("on", "batch_on"):
        if name in changes:
            changes = changes | {name: cast.today + timedelta(days=int(str(changes[name])))}
    for name in ("digester", "stream"):
        if name in changes:
            changes = changes | {name: getattr(cast, str(changes[name]))}
    with pytest.raises(PinRefused, match=said):
        pin(cast, **changes)
    assert not Pin.objects.of(cast.group).exists()


def test_pins_that_contradict_each_other_are_named(cast: Cast) -> None:
    pin(cast, amount_g=1_200)
    with pytest.raises(PinRefused, match=r"The batch has 11\.272 kg"):
        pin(cast, digester=cast.dome, amount_g=10_500)
    assert Pin.objects.of(cast.group).count() == 1


def test_a_pin_may_take_what_is_expected_though_less_is_reckoned_with(cast: Cast) -> None:
    """Of the 9 kg expected 6,728 g surely come; the dome can take 7 kg of an offer of as much."""
    pinned = pin(cast, digester=cast.dome, amount_g=7_000)
    plan = make_plan(cast.group, now=cast.now)
    kept = plan.assignments.get(batch_on=pinned.batch_on, stream=cast.vegetables, on=pinned.on)
    assert (kept.digester, kept.amount_g) == (cast.dome, 7_000)
    assert verify(plan.document) == []


def test_a_pin_and_a_ban_exclude_each_other(cast: Cast) -> None:
    pinned = pin(cast)
    with pytest.raises(BanRefused, match="Lift that pin first"):
        ban_pair(cast.group, source=cast.quay_stall, digester=cast.drum, now=cast.now)
    unpin_batch(pinned, now=cast.now)
    ban = ban_pair(cast.group, source=cast.quay_stall, digester=cast.drum, now=cast.now)
    with pytest.raises(PinRefused, match="ruled this source out"):
        pin(cast)
    plan = make_plan(cast.group, now=cast.now)
    assert not plan.assignments.filter(source=cast.quay_stall, digester=cast.drum).exists()
    lift_ban(ban, now=cast.now)
    pin(cast)


def test_changing_an_assignment_pins_it_and_dropping_rules_it_out(cast: Cast) -> None:
    plan = first_draft()
    first = plan.assignments.filter(digester=cast.dome).first()
    assert first is not None
    changed = change_assignment(first, amount_g=700, now=cast.now, asked_by=cast.bruno)
    assert (changed.digester, changed.amount_g) == (cast.dome, 700)
    drop_assignment(first, now=cast.now)
    again = make_plan(cast.group, now=cast.now)
    assert not again.assignments.filter(
        source=first.source, digester=cast.dome, on=first.on
    ).exists()
