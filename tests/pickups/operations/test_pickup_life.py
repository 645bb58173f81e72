"""A pickup from its announcement to the ledger."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.db.models import Sum
from django.http import Http404
from django.test.utils import CaptureQueriesContext

from apps.groups.models import Fact
from apps.kernel.errors import Refused
from apps.ledger.models import AccountKind, Movement
from apps.pickups.core.life import ACCEPT, COMPLETE, DECLINE, FAIL, Party, State, StepRefused
from apps.pickups.models import Pickup, PickupEvent
from apps.pickups.operations.complete_pickup import (
    NotYet,
    Weight,
    WeightUnreadable,
    WeightUnusual,
    complete_pickup,
)
from apps.pickups.operations.sync_pickups import Synced, sync_pickups
from apps.pickups.operations.take_step import (
    Act,
    Actor,
    KeyUsedElsewhere,
    PickupChanged,
    take_step,
)
from tests.cast import Cast, make_cast
from tests.pickups.plans import write_plan
from tests.remembered import remembered

pytestmark = pytest.mark.django_db


@pytest.fixture
@remembered
def cast() -> Cast:
    """The neighbourhood, with a plan that sends Duarte to the quay tomorrow."""
    cast = make_cast(history_days=0)
    plan = write_plan(
        cast, [(cast.vegetables, cast.drum, 0, 3_000), (cast.citrus, cast.drum, 0, 400)]
    )
    sync_pickups(plan, now=cast.now)
    return cast


def the_pickup(cast: Cast) -> Pickup:
    """Duarte's."""
    return Pickup.objects.of(cast.group).get(digester=cast.drum)


def act(cast: Cast, step, key="k1", **changes) -> Act:
    """Duarte takes a step tomorrow."""
    actor = changes.pop("actor", Actor(cast.duarte, Party.FETCHER))
    return Act(step, actor, key, cast.now + timedelta(days=changes.pop("days", 1)), **changes)


def in_bin_g(cast: Cast) -> int:
    """What the ledger has in Duarte's bin."""
    arrived = Movement.objects.of(cast.group).filter(to_account=cast.drum.bin_account)
    return arrived.aggregate(total=Sum("amount_g"))["total"] or 0


def test_the_batches_of_one_source_are_one_pickup(cast):
    pickup = the_pickup(cast)
    assert pickup.state == State.ANNOUNCED
    assert pickup.fetcher == cast.duarte
    assert [line.planned_g for line in pickup.lines.all()] == [400, 3_000]


def test_confirming_writes_the_planned_weight_once(cast):
    pickup = the_pickup(cast)
    for expected_new in (True, False):
        done, is_new = complete_pickup(cast.group, pickup.uuid, act(cast, COMPLETE))
        assert (done.state, is_new) == (State.DELIVERED, expected_new)
    assert in_bin_g(cast) == 3_400
    assert Fact.objects.of(cast.group).filter(kind="pickup_delivered").count() == 1


def test_another_tap_with_another_key_changes_nothing_and_says_so(cast):
    pickup = the_pickup(cast)
    complete_pickup(cast.group, pickup.uuid, act(cast, COMPLETE))
    with pytest.raises(StepRefused, match="already done"):
        complete_pickup(cast.group, pickup.uuid, act(cast, COMPLETE, key="k2"))
    assert in_bin_g(cast) == 3_400


def test_foreign_matter_is_set_aside_and_nothing_is_lost(cast):
    pickup = the_pickup(cast)
    citrus, vegetables = pickup.lines.all()
    weights = {vegetables.uuid: Weight(2_800, 2_500), citrus.uuid: Weight(0, 0)}
    complete_pickup(cast.group, pickup.uuid, act(cast, COMPLETE), weights=weights)
    moved = Movement.objects.of(cast.group).filter(from_account=cast.quay_stall.account)
    by_kind = dict(moved.values_list("to_account__kind").annotate(total=Sum("amount_g")))
    assert by_kind == {AccountKind.BIN: 2_500, AccountKind.DISCARDED: 300}


@pytest.mark.parametrize("weight", [Weight(-1, -1), Weight(1_000, 1_001), Weight(10**7, 1)])
def test_an_impossible_weight_is_refused_and_nothing_is_written(cast, weight):
    pickup = the_pickup(cast)
    line = pickup.lines.last()
    with pytest.raises(WeightUnreadable):
        complete_pickup(cast.group, pickup.uuid, act(cast, COMPLETE), weights={line.uuid: weight})
    assert the_pickup(cast).state == State.ANNOUNCED
    assert in_bin_g(cast) == 0
    assert not PickupEvent.objects.of(cast.group).exists()


def test_a_pickup_of_nothing_did_not_happen(cast):
    pickup = the_pickup(cast)
    nothing = {line.uuid: Weight(0, 0) for line in pickup.lines.all()}
    with pytest.raises(WeightUnreadable, match="did not happen"):
        complete_pickup(cast.group, pickup.uuid, act(cast, COMPLETE), weights=nothing)


def test_three_times_the_planned_weight_is_asked_again_then_written_down(cast):
    pickup = the_pickup(cast)
    heavy = {pickup.lines.last().uuid: Weight(9_000, 9_000)}
    with pytest.raises(WeightUnusual, match="9 kg is far more than the 3 kg planned"):
        complete_pickup(cast.group, pickup.uuid, act(cast, COMPLETE), weights=heavy)
    complete_pickup(cast.group, pickup.uuid, act(cast, COMPLETE), weights=heavy, is_confirmed=True)
    assert in_bin_g(cast) == 9_400


def test_a_decline_needs_a_reason_and_is_not_asked_again(cast):
    pickup = the_pickup(cast)
    with pytest.raises(StepRefused, match="Say why"):
        take_step(cast.group, pickup.uuid, act(cast, DECLINE))
    take_step(cast.group, pickup.uuid, act(cast, DECLINE, reason="ill"))
    plan = write_plan(cast, [(cast.vegetables, cast.drum, 0, 3_000)])
    assert sync_pickups(plan, now=cast.now) == Synced(announced=0, changed=0, withdrawn=0)
    assert the_pickup(cast).state == State.DECLINED


def test_a_new_plan_changes_withdraws_and_leaves_alone(cast):
    same = write_plan(
        cast, [(cast.vegetables, cast.drum, 0, 3_000), (cast.citrus, cast.drum, 0, 400)]
    )
    assert sync_pickups(same, now=cast.now) == Synced(0, 0, 0)
    more = write_plan(
        cast, [(cast.vegetables, cast.drum, 0, 3_500), (cast.vegetables, cast.dome, 0, 2_000)]
    )
    assert sync_pickups(more, now=cast.now) == Synced(announced=1, changed=1, withdrawn=0)
    assert the_pickup(cast).revision == 2
    none = write_plan(cast, [])
    assert sync_pickups(none, now=cast.now) == Synced(announced=0, changed=0, withdrawn=2)
    with pytest.raises(StepRefused, match="Do not go"):
        complete_pickup(cast.group, the_pickup(cast).uuid, act(cast, COMPLETE))


def test_a_begun_pickup_outlives_a_plan_without_it(cast):
    complete_pickup(cast.group, the_pickup(cast).uuid, act(cast, COMPLETE))
    assert sync_pickups(write_plan(cast, []), now=cast.now) == Synced(0, 0, 0)
    assert the_pickup(cast).state == State.DELIVERED


def test_a_pickup_cannot_be_confirmed_before_its_day(cast):
    with pytest.raises(NotYet, match="Confirm it when"):
        complete_pickup(cast.group, the_pickup(cast).uuid, act(cast, COMPLETE, days=0))
    assert the_pickup(cast).state == State.ANNOUNCED


def test_an_answer_to_an_older_revision_is_asked_again(cast):
    with pytest.raises(PickupChanged):
        take_step(cast.group, the_pickup(cast).uuid, act(cast, ACCEPT, revision=7))


def test_one_key_stands_for_one_step(cast):
    take_step(cast.group, the_pickup(cast).uuid, act(cast, ACCEPT))
    with pytest.raises(KeyUsedElsewhere):
        take_step(cast.group, the_pickup(cast).uuid, act(cast, DECLINE, reason="ill"))
    assert the_pickup(cast).state == State.ACCEPTED


def test_acting_for_somebody_without_a_phone_is_written_as_that(cast):
    actor = Actor(cast.carla, Party.COORDINATOR, acted_for=cast.duarte)
    take_step(cast.group, the_pickup(cast).uuid, act(cast, ACCEPT, actor=actor))
    event = PickupEvent.objects.of(cast.group).get()
    assert (event.by, event.acted_for) == (cast.carla, cast.duarte)


def test_a_source_may_say_that_nobody_came_but_not_accept(cast):
    giver = Actor(cast.filipe, Party.GIVER)
    with pytest.raises(Refused):
        take_step(cast.group, the_pickup(cast).uuid, act(cast, ACCEPT, actor=giver))
    take_step(
        cast.group,
        the_pickup(cast).uuid,
        act(cast, FAIL, key="k2", actor=giver, reason="nobody_came"),
    )
    assert the_pickup(cast).state == State.FAILED


def test_another_groups_pickup_is_not_there(cast):
    with pytest.raises(Http404):
        take_step(cast.other_group, the_pickup(cast).uuid, act(cast, ACCEPT))


def test_confirming_takes_at_most_twelve_statements(cast):
    # The second pickup into a bin: the first one opens its balances, once.
    complete_pickup(cast.group, the_pickup(cast).uuid, act(cast, COMPLETE))
    next_day = write_plan(cast, [(cast.vegetables, cast.drum, 1, 3_000)])
    sync_pickups(next_day, now=cast.now)
    second = Pickup.objects.of(cast.group).get(state=State.ANNOUNCED)
    with CaptureQueriesContext(connection) as captured:
        complete_pickup(cast.group, second.uuid, act(cast, COMPLETE, key="k2", days=2))
    control = ("BEGIN", "COMMIT", "SAVEPOINT", "RELEASE")
    statements = [q["sql"] for q in captured if not q["sql"].startswith(control)]
    assert len(statements) <= 12, statements
