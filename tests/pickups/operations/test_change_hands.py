"""Late, handed over, taken over, a bad batch, a contested weight, and two of them at once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import transaction

from apps.groups.models import Fact, Work
from apps.groups.operations.do_work import do_work
from apps.kernel.errors import Conflict, Refused
from apps.ledger.queries.invariants import check_ledger
from apps.notices.models import Notice
from apps.pickups.core.life import (
    ACCEPT,
    COLLECT,
    COMPLETE,
    CONTEST,
    DECLINE,
    ENDED,
    FAIL,
    HAND_OVER,
    LATE,
    STEPS,
    TAKE_OVER,
    Party,
    State,
    Step,
    StepRefused,
)
from apps.pickups.models import ForeignKind, ForeignMatter, Pickup, PickupEvent, Standby
from apps.pickups.operations.answer_pickup import accept_pickup, collect_pickup, end_pickup
from apps.pickups.operations.change_hands import (
    CannotHandOver,
    hand_over_pickup,
    take_over_pickup,
)
from apps.pickups.operations.complete_pickup import complete_pickup
from apps.pickups.operations.contest_weight import contest_weight
from apps.pickups.operations.make_day_link import make_day_link
from apps.pickups.operations.refuse_batch import refuse_batch
from apps.pickups.operations.run_late import LateRefused, run_late
from apps.pickups.operations.settle_weight import settle_weight
from apps.pickups.operations.state_weight import state_weight
from apps.pickups.operations.sync_pickups import sync_pickups
from apps.pickups.operations.take_step import Act, Actor
from apps.pickups.queries.exceptions import Kind, todays_exceptions
from apps.pickups.queries.open_day_link import DayLinkOver, open_day_link
from apps.pickups.queries.two_weights import two_weights
from tests.cast import Cast, make_cast
from tests.pickups.plans import write_plan
from tests.remembered import remembered

pytestmark = pytest.mark.django_db


@pytest.fixture
@remembered
def cast() -> Cast:
    """Duarte fetches at the quay tomorrow from 9 to 12; Elsa is on standby."""
    cast = make_cast(history_days=0)
    sync_pickups(write_plan(cast, [(cast.vegetables, cast.drum, 0, 3_000)]), now=cast.now)
    Standby.unscoped.create(group=cast.group, member=cast.elsa, since_at=cast.now)
    return cast


def the_pickup(cast: Cast) -> Pickup:
    return Pickup.objects.of(cast.group).select_related("group").get()


def act(cast: Cast, step: Step, key: str, *, who=None, party=Party.FETCHER, reason: str = ""):
    morning = cast.now + timedelta(hours=15, minutes=30)  # 09:30 on the harbour's clock
    return Act(step, Actor(who or cast.duarte, party), key, morning, reason=reason)


def standby(cast: Cast, key: str, who=None) -> Act:
    return act(cast, TAKE_OVER, key, who=who or cast.elsa, party=Party.STANDBY)


def do_all(cast: Cast, kind: str) -> None:
    for work in Work.objects.of(cast.group).filter(kind=kind, done_at=None):
        Work.unscoped.filter(pk=work.pk).update(due_at=cast.now - timedelta(days=400))
        assert do_work(work.pk)


def test_whoever_is_late_says_so_the_source_waits_and_it_is_not_late_before(cast: Cast) -> None:
    uuid = the_pickup(cast).uuid
    for _time in range(2):
        run_late(cast.group, uuid, act(cast, LATE, "l"), minutes=180)
    pickup = the_pickup(cast)
    assert (pickup.state, pickup.late_clock) == (State.ANNOUNCED, "12:30")
    assert PickupEvent.objects.of(cast.group).count() == 1
    noon = cast.now + timedelta(hours=18, minutes=10)
    assert Kind.LATE not in {each.kind for each in todays_exceptions(cast.group, now=noon)}
    later = noon + timedelta(minutes=30)
    assert Kind.LATE in {each.kind for each in todays_exceptions(cast.group, now=later)}
    do_all(cast, "tell_late")
    [notice] = Notice.objects.of(cast.group).filter(kind="pickup_late")
    assert notice.member == cast.filipe
    with pytest.raises(LateRefused, match="cannot go"):
        run_late(cast.group, uuid, act(cast, LATE, "m"), minutes=181)
    early = Act(LATE, Actor(cast.duarte, Party.FETCHER), "n", cast.now)
    with pytest.raises(LateRefused, match="another day"):
        run_late(cast.group, uuid, early, minutes=30)
    assert PickupEvent.objects.of(cast.group).count() == 1


def test_a_neighbour_answers_anew_and_has_a_link_as_long_as_they_go(cast: Cast) -> None:
    uuid = the_pickup(cast).uuid
    accept_pickup(cast.group, uuid, act(cast, ACCEPT, "a"))
    token = make_day_link(cast.bruno, the_pickup(cast).on, now=cast.now, digester=cast.drum)
    with pytest.raises(DayLinkOver):
        open_day_link(token, now=cast.now)
    hand_over_pickup(cast.group, uuid, act(cast, HAND_OVER, "h"), to=cast.bruno)
    pickup = the_pickup(cast)
    assert (pickup.state, pickup.fetcher) == (State.ANNOUNCED, cast.bruno)
    assert open_day_link(token, now=cast.now).member == cast.bruno
    do_all(cast, "tell_handed_over")
    [notice] = Notice.objects.of(cast.group).filter(kind="pickup_handed")
    assert notice.member == cast.bruno
    with pytest.raises(CannotHandOver, match="goes already"):
        hand_over_pickup(cast.group, uuid, act(cast, HAND_OVER, "i"), to=cast.bruno)


def test_the_first_of_those_on_standby_goes_and_the_second_is_thanked(cast: Cast) -> None:
    Standby.unscoped.create(group=cast.group, member=cast.bruno, since_at=cast.now)
    uuid = the_pickup(cast).uuid
    with pytest.raises(CannotHandOver, match="Only people on standby"):
        take_over_pickup(cast.group, uuid, standby(cast, "x", cast.carla))
    for _time in range(2):
        take_over_pickup(cast.group, uuid, standby(cast, "e"))
    with pytest.raises(CannotHandOver, match="Elsa was faster"):
        take_over_pickup(cast.group, uuid, standby(cast, "b", cast.bruno))
    pickup = the_pickup(cast)
    assert (pickup.state, pickup.fetcher) == (State.ACCEPTED, cast.elsa)
    assert Fact.objects.of(cast.group).filter(kind="pickup_handed_over").count() == 1


def test_a_bad_batch_stays_there_with_its_reason(cast: Cast) -> None:
    uuid = the_pickup(cast).uuid
    for _time in range(2):
        refuse_batch(
            cast.group,
            uuid,
            act(cast, FAIL, "f", reason="foreign_matter"),
            kind=ForeignKind.WRONG,
        )
    found = ForeignMatter.objects.of(cast.group).get()
    assert (found.kind, found.is_refused, found.noted_by) == ("wrong", True, cast.duarte)
    assert the_pickup(cast).state == State.FAILED


def test_either_side_contests_a_weight_and_settling_ends_it(cast: Cast) -> None:
    uuid = the_pickup(cast).uuid
    giver = {"who": cast.filipe, "party": Party.GIVER}
    with pytest.raises(StepRefused):
        contest_weight(cast.group, uuid, act(cast, CONTEST, "c", **giver))
    complete_pickup(cast.group, uuid, act(cast, COMPLETE, "d"))
    contest_weight(cast.group, uuid, act(cast, CONTEST, "c", **giver))
    assert two_weights(the_pickup(cast)).is_contested
    now = act(cast, CONTEST, "n").now
    assert Kind.CONTESTED in {each.kind for each in todays_exceptions(cast.group, now=now)}
    settled = {"now": now, "settled_by": cast.carla, "client_key": "s"}
    with pytest.raises(Conflict, match="has not weighed"):
        settle_weight(cast.group, uuid, giver_is_right=True, **settled)
    state_weight(cast.group, uuid, 2_000, now=now, stated_by=cast.filipe)
    settle_weight(cast.group, uuid, giver_is_right=True, **settled)
    assert not two_weights(the_pickup(cast)).is_contested


RACERS: dict[str, Callable[[Cast, str], object]] = {
    "accept": lambda c, k: accept_pickup(c.group, the_pickup(c).uuid, act(c, ACCEPT, k)),
    "collect": lambda c, k: collect_pickup(c.group, the_pickup(c).uuid, act(c, COLLECT, k)),
    "complete": lambda c, k: complete_pickup(c.group, the_pickup(c).uuid, act(c, COMPLETE, k)),
    "decline": lambda c, k: end_pickup(
        c.group, the_pickup(c).uuid, act(c, DECLINE, k, reason="ill")
    ),
    "fail": lambda c, k: end_pickup(
        c.group, the_pickup(c).uuid, act(c, FAIL, k, reason="nobody_came")
    ),
    "late": lambda c, k: run_late(c.group, the_pickup(c).uuid, act(c, LATE, k), minutes=30),
    "hand_over": lambda c, k: hand_over_pickup(
        c.group, the_pickup(c).uuid, act(c, HAND_OVER, k), to=c.bruno
    ),
    "take_over": lambda c, k: take_over_pickup(c.group, the_pickup(c).uuid, standby(c, k)),
    "contest": lambda c, k: contest_weight(c.group, the_pickup(c).uuid, act(c, CONTEST, k)),
}


def test_every_pair_of_steps_one_after_the_other_ends_as_the_life_says(cast: Cast) -> None:
    """Whoever comes second meets the state that the first left: its step is taken from there or
    refused with a sentence, never half. The row's lock makes two at once one after the other."""
    by_name = {step.name: step for step in STEPS}
    start = the_pickup(cast)
    for first, go_first in RACERS.items():
        for second, go_second in RACERS.items():
            with transaction.atomic():
                for name, go in ((first, go_first), (second, go_second)):
                    before = the_pickup(cast)
                    events = PickupEvent.objects.of(cast.group).count()
                    may = before.state in by_name[name].from_states
                    refused = refusal_of(lambda go=go, key=f"{name}-{events}": go(cast, key))
                    if refused is not None:
                        assert str(refused)
                        assert the_pickup(cast).state == before.state
                        assert PickupEvent.objects.of(cast.group).count() == events
                        assert not may or isinstance(refused, CannotHandOver), (first, second)
                    else:
                        assert may, (first, second)
                        target = by_name[name].target or before.state
                        assert the_pickup(cast).state == target
                        assert PickupEvent.objects.of(cast.group).count() == events + 1
                        assert before.state not in ENDED or by_name[name].target is None
                assert all(promise.is_kept for promise in check_ledger_quickly())
                transaction.set_rollback(True)
    assert the_pickup(cast).state == start.state


def refusal_of(go: Callable[[], object]) -> Refused | None:
    """What was said, or None when it went through."""
    try:
        with transaction.atomic():
            go()
    except Refused as error:
        return error
    return None


def check_ledger_quickly():
    """The promise of balances alone; the others are kept in the ledger's own tests."""
    return [next(iter(check_ledger()))]
