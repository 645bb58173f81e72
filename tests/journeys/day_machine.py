"""The random days of `test_random_days` and of the benchmark of the same name."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

from django.db import transaction
from django.db.models import F, Q
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from apps.digesters.models import ConcernKind
from apps.digesters.operations.feed_digester import feed_digester
from apps.groups.models import Fact
from apps.kernel.days import local_date
from apps.kernel.errors import NeedsConfirmation, Refused
from apps.ledger.models import Posting
from apps.ledger.queries.invariants import check_ledger
from apps.pickups.core.life import ACCEPT, COLLECT, COMPLETE, DECLINE, FAIL, Party, State
from apps.pickups.models import Pickup, PickupEvent
from apps.pickups.operations.answer_pickup import accept_pickup, collect_pickup, end_pickup
from apps.pickups.operations.complete_pickup import Weight, complete_pickup
from apps.pickups.operations.offer_today import offer_amounts, repeat_yesterday
from apps.pickups.operations.reassign_pickup import reassign_pickup
from apps.pickups.operations.report_concern import report_concern
from apps.pickups.operations.take_step import Act, Actor
from apps.pickups.queries.daily_recipe import daily_recipe
from apps.pickups.queries.exceptions import todays_exceptions
from apps.pickups.queries.next_homes import propose_next_homes
from apps.planning.models import DailyFeed, Plan, PlanStatus
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import make_plan
from tests.cast import Cast, make_cast
from tests.remembered import remembered

HOUR = st.integers(1, 10)
SHARE = st.sampled_from([0, 30, 100, 100, 100, 130, 290])
"""Percent of the planned grams that the scale shows."""
END = {COMPLETE.name: COMPLETE, DECLINE.name: DECLINE, FAIL.name: FAIL}


ANY_FROM = 8
"""The first index of `_pick` that takes any pickup."""
TO_DO = (State.ANNOUNCED, State.ACCEPTED, State.COLLECTED)


@remembered
def announced_cast() -> Cast:
    """With two weeks of history and the plan from tomorrow on."""
    cast = make_cast(history_days=14)
    announce_plan(make_plan(cast.group, now=cast.now), now=cast.now)
    return cast


class DayMachine(RuleBasedStateMachine):
    """One neighbourhood. Everything is undone at the end by a savepoint."""

    days_run = 0
    """Local days that all machines of this process have been through."""

    def __init__(self) -> None:
        super().__init__()
        self.undo = transaction.atomic()
        self.undo.__enter__()
        self.delivered: dict = {}
        self.begun: dict = {}

    def teardown(self) -> None:
        """Take everything back."""
        if hasattr(self, "cast"):
            DayMachine.days_run += (self._today() - self.cast.today).days
        transaction.set_rollback(True)
        self.undo.__exit__(None, None, None)

    @initialize()
    def settle(self) -> None:
        """The neighbourhood with its history; the first week is announced."""
        self.cast = announced_cast()
        self.group, self.now = self.cast.group, self.cast.now

    def _today(self):
        return local_date(self.now, self.group.time_zone)

    def _pickups(self):
        return list(
            Pickup.objects.of(self.group)
            .filter(on=self._today())
            .order_by("source__code", "digester__code")
        )

    def _pick(self, index: int) -> Pickup | None:
        """Mostly one that is still to be done; the last indices take any, over or not."""
        pickups = self._pickups()
        if index < ANY_FROM:
            pickups = [each for each in pickups if each.state in TO_DO] or pickups
        return pickups[index % len(pickups)] if pickups else None

    def _act(self, step, reason: str = "") -> Act:
        actor = Actor(self.cast.carla, Party.COORDINATOR)
        return Act(step, actor, str(uuid4()), self.now, reason=reason)

    @rule(hours=HOUR)
    def wait(self, hours: int) -> None:
        """The clock runs; each evening tomorrow's week is made and announced."""
        before = self._today()
        self.now += timedelta(hours=hours)
        if self._today() > before:
            self.announce_tomorrow(at_least=self._today())

    @rule()
    def next_evening(self) -> None:
        """On to the next evening's plan."""
        self.now += timedelta(days=1)
        self.announce_tomorrow()

    def announce_tomorrow(self, at_least=None) -> None:
        """A new plan, whole or not at all."""
        plan = make_plan(self.group, now=self.now, starts_on=at_least)
        announce_plan(plan, now=self.now)

    @rule(index=st.integers(0, 9))
    def accept(self, index: int) -> None:
        """Somebody says yes."""
        if (pickup := self._pick(index)) is not None:
            self._try(accept_pickup, pickup, self._act(ACCEPT))

    @rule(index=st.integers(0, 9))
    def collect(self, index: int) -> None:
        """Somebody sets out with the waste."""
        pickup = self._pick(index)
        if pickup is not None and self._try(collect_pickup, pickup, self._act(COLLECT)):
            self.begun[pickup.pk] = sorted(
                pickup.lines.values_list("stream_id", "batch_on", "planned_g")
            )

    @rule(index=st.integers(0, 9), share=SHARE, times=st.integers(1, 3))
    def complete(self, index: int, share: int, times: int) -> None:
        """Something arrives; the same tap comes up to three times."""
        if (pickup := self._pick(index)) is not None:
            self._complete(pickup, share, times)

    def _complete(self, pickup: Pickup, share: int, times: int) -> None:
        weights = {
            line.uuid: Weight(
                line.planned_g * share // 100, line.planned_g * share // 100 * 9 // 10
            )
            for line in pickup.lines.all()
        }
        act = self._act(COMPLETE)
        done = [
            self._try(complete_pickup, pickup, act, weights=weights, is_confirmed=True)
            for _time in range(times)
        ]
        if any(done):
            self.delivered[pickup.pk] = sum(weight.collected_g for weight in weights.values())

    @rule(share=SHARE)
    def fetch_everything(self, share: int) -> None:
        """What most days are: everybody goes."""
        for pickup in self._pickups():
            if pickup.state in TO_DO:
                self._complete(pickup, share, 1)

    @rule(index=st.integers(0, 9), step=st.sampled_from([DECLINE.name, FAIL.name]))
    def decline_or_fail(self, index: int, step: str) -> None:
        """Nobody goes after all; sometimes the next best home is asked."""
        pickup = self._pick(index)
        if pickup is None or not self._try(end_pickup, pickup, self._act(END[step], "other")):
            return
        self.begun.pop(pickup.pk, None)
        pickup.refresh_from_db()
        homes = propose_next_homes(pickup, now=self.now)
        if homes:
            try:
                reassign_pickup(
                    pickup,
                    homes[0].digester,
                    now=self.now,
                    by=self.cast.bruno,
                    client_key=str(uuid4()),
                    amount_g=homes[0].amount_g,
                )
            except Refused:
                return

    @rule(which=st.sampled_from(["drum", "dome", "bag"]), factor=st.sampled_from([1, 1, 1, 3]))
    def feed(self, which: str, factor: int) -> None:
        """By the recipe, or three times it."""
        digester = getattr(self.cast, which)
        recipe = daily_recipe(digester, self._today())
        asked = {
            "from_bin_g": {m: g * factor for m, g in recipe.from_bin_g.items()},
            "own_waste_g": recipe.own_waste_g,
            "water_ml": recipe.water_ml,
            "fed_at": self.now,
            "now": self.now,
            "client_key": str(uuid4()),
        }
        if not asked["from_bin_g"] and not asked["own_waste_g"]:
            return
        facts = Fact.objects.of(self.group).filter(kind="overfed")
        alarms = facts.count()
        try:
            feed_digester(digester, **asked)
        except NeedsConfirmation:
            assert facts.count() == alarms
            feed_digester(digester, **asked, is_confirmed=True)
            assert facts.count() == alarms + 1

    @rule(amount=st.sampled_from([0, 2_000, 9_000, 20_000]))
    def offer(self, amount: int) -> None:
        """The stall says what it has tomorrow, or the same as yesterday."""
        tomorrow = self._today() + timedelta(days=1)
        stall = self.cast.quay_stall
        try:
            if amount == 2_000:
                repeat_yesterday(stall, tomorrow, now=self.now)
            else:
                offer_amounts(stall, tomorrow, {self.cast.vegetables: amount}, now=self.now)
        except Refused:
            return

    @precondition(lambda self: self._today() > self.cast.today)
    @rule(rare=st.integers(0, 7))
    def smell_gas(self, rare: int) -> None:
        """Once in a while; it is not cleared in these days, and takes a home's pickups away."""
        if rare:
            return
        raised = report_concern(
            self.cast.dome.place, ConcernKind.GAS_SMELL, now=self.now, client_key=str(uuid4())
        )
        assert raised.sentences

    def _try(self, operation, pickup: Pickup, act: Act, **changes) -> bool:
        """Whether it was new; a refusal must have written nothing."""
        events = PickupEvent.objects.of(self.group)
        before = events.count()
        try:
            with transaction.atomic():
                _pickup, is_new = operation(self.group, pickup.uuid, act, **changes)
        except Refused:
            assert events.count() == before
            return False
        assert events.count() == before + is_new
        return bool(is_new)

    @invariant()
    def no_gram_is_lost_or_made(self) -> None:
        """The ledger's own promises; its triggers are tried elsewhere."""
        for promise in check_ledger():
            assert promise.is_kept, promise

    @invariant()
    def no_daily_feed_is_above_its_maximum(self) -> None:
        """Of any plan ever stored."""
        over = DailyFeed.objects.of(self.group).filter(
            Q(feed_g__gt=F("max_feed_g"))
            | Q(feed_vs_g__gt=F("max_vs_g"))
            | Q(slurry_ml__gt=F("max_slurry_ml"))
        )
        assert not over.exists()

    @invariant()
    def one_plan_is_announced(self) -> None:
        """Never two, never none."""
        assert Plan.objects.of(self.group).filter(status=PlanStatus.ANNOUNCED).count() == 1

    @invariant()
    def what_was_confirmed_counts_once(self) -> None:
        """Each delivered pickup has one posting, of the grams that were said."""
        for pk, collected_g in self.delivered.items():
            pickup = Pickup.objects.of(self.group).get(pk=pk)
            assert pickup.state == State.DELIVERED
            posting = Posting.objects.of(self.group).get(client_key=f"pickup-{pickup.uuid}")
            moved = posting.movements.values_list("amount_g", flat=True)
            assert sum(moved) == collected_g

    @invariant()
    def what_was_begun_is_left_alone(self) -> None:
        """No plan moves a started pickup."""
        for pk, lines in self.begun.items():
            pickup = Pickup.objects.of(self.group).get(pk=pk)
            assert pickup.state in (State.COLLECTED, State.DELIVERED)
            now = sorted(pickup.lines.values_list("stream_id", "batch_on", "planned_g"))
            assert now == lines

    @invariant()
    def the_coordinator_s_page_never_fails(self) -> None:
        """Whatever happened."""
        todays_exceptions(self.group, now=self.now)
