"""Planning that nobody asks for by hand: each evening, and on a surprise."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from apps.digesters.core.process.digester_view import WarningKind
from apps.groups.models import Fact, Work
from apps.groups.operations.ask_for_work import ask_for_work
from apps.kernel.days import local_date
from apps.planning.core.read_document import problem_of
from apps.planning.models import Plan, PlanStatus
from apps.planning.operations.make_plan import make_plan
from apps.planning.operations.put_standing_pins import put_standing_pins
from apps.planning.queries.batches import batch_code
from apps.supply.models import Stream

RE_PLAN_BUDGET = 6
"""Pickups that a re-plan on a surprise may change: about one a day. A ruling of ours."""

SETTLE_MINUTES = 10
"""Surprises within so many minutes make one plan. A ruling of ours."""

FAR_G, FAR_SHARE = 2_000, 0.5
"""An offer is far from what was planned with when it lies by more than both under what was
reckoned with, or over what had room. Assumed."""

GRAVE_WARNINGS = frozenset(
    {WarningKind.SOURING.value, WarningKind.GAS_DROP.value, WarningKind.COLD_FRONT.value}
)


def make_nightly_plan(work: Work, now: datetime | None = None) -> None:
    """Make tomorrow's draft; done twice in an evening, it makes no second one of the same."""
    now = now or datetime.now(UTC)
    tomorrow = local_date(now, work.group.time_zone) + timedelta(days=1)
    if not _has_draft(work, tomorrow):
        put_standing_pins(work.group, starts_on=tomorrow, now=now)
        make_plan(work.group, now=now, starts_on=tomorrow)


def note_surprise(work: Work, now: datetime | None = None) -> None:
    """After a fact that may upset the announced plan: ask for one re-plan, a little later, for
    all that comes within the same minutes."""
    now = now or datetime.now(UTC)
    fact = Fact.objects.of(work.group).get(uuid=work.payload["fact"])
    announced = _announced(work)
    if announced is None or not _upsets(fact, announced):
        return
    slot = int(now.timestamp()) // (60 * SETTLE_MINUTES) + 1
    due_at = datetime.fromtimestamp(slot * 60 * SETTLE_MINUTES, UTC)
    ask_for_work(work.group, "re_plan", key=f"{due_at:%Y-%m-%dT%H:%M}", due_at=due_at)


def make_plan_again(work: Work, now: datetime | None = None) -> None:
    """After a surprise: a draft of the announced plan's remaining days with few changes."""
    now = now or datetime.now(UTC)
    announced = _announced(work)
    if announced is None:
        return
    tomorrow = local_date(now, work.group.time_zone) + timedelta(days=1)
    last = announced.starts_on + timedelta(days=announced.days - 1)
    first = max(tomorrow, announced.starts_on)
    if first <= last:
        make_plan(
            work.group,
            now=now,
            starts_on=first,
            days=(last - first).days + 1,
            change_budget=RE_PLAN_BUDGET,
        )


def _announced(work: Work) -> Plan | None:
    found: Plan | None = Plan.objects.of(work.group).filter(status=PlanStatus.ANNOUNCED).first()
    return found


def _upsets(fact: Fact, announced: Plan) -> bool:
    """An offer near what was planned with changes nothing, nor does a slight warning."""
    if fact.kind == "warning_raised":
        return fact.payload.get("warning") in GRAVE_WARNINGS
    if fact.kind != "offer_set":
        return True
    on = date.fromisoformat(fact.payload["on"])
    if not announced.starts_on <= on < announced.starts_on + timedelta(days=announced.days):
        return False
    stream = Stream.objects.of(fact.group).filter(uuid=fact.subject_uuid).first()
    if stream is None:
        return False
    code = batch_code(stream.code, on)
    planned = [each for each in problem_of(announced.document).batches if each.code == code]
    planned_g = sum(each.amount_g for each in planned)
    most_g = sum(each.amount_g if each.high_g is None else each.high_g for each in planned)
    offered_g = int(fact.payload["amount_g"])
    differs_g = max(planned_g - offered_g, offered_g - most_g)
    return differs_g > FAR_G and differs_g > FAR_SHARE * planned_g


def _has_draft(work: Work, starts_on: date) -> bool:
    since = work.due_at
    drafts = Plan.objects.of(work.group).filter(status=PlanStatus.DRAFT, made_at__gte=since)
    return drafts.filter(starts_on=starts_on).exists()
