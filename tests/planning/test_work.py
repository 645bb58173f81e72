"""Planning that nobody asks for by hand."""

from __future__ import annotations

from datetime import timedelta

from apps.digesters.models import ReadingKind
from apps.digesters.operations.record_reading import record_reading
from apps.groups.models import Work
from apps.groups.operations.ask_for_work import ask_for_work
from apps.groups.operations.record_fact import record_fact
from apps.planning.core.read_document import problem_of
from apps.planning.models import Plan
from apps.planning.queries.batches import batch_code
from apps.planning.queries.plan_changes import plan_changes
from apps.planning.work import (
    RE_PLAN_BUDGET,
    make_nightly_plan,
    make_plan_again,
    note_surprise,
)
from apps.supply.operations.set_offer import set_offer
from tests.cast import Cast
from tests.planning.first_plans import first_announced


def work(cast: Cast, kind: str) -> Work:
    return ask_for_work(cast.group, kind, key=f"{cast.today}", due_at=cast.now)


def test_an_evening_makes_one_draft_for_tomorrow(cast: Cast) -> None:
    for _ in range(2):
        make_nightly_plan(work(cast, "nightly_plan"), now=cast.now)
    plan = Plan.objects.of(cast.group).get()
    assert (plan.starts_on, plan.days) == (cast.today + timedelta(days=1), 7)


def test_tonights_plan_starts_from_the_one_announced(cast: Cast) -> None:
    first_announced()
    later = cast.now + timedelta(days=1)
    ask = work(cast, "nightly_plan")
    make_nightly_plan(ask, now=later)
    draft = Plan.objects.of(cast.group).first()
    assert draft is not None
    assert draft.document["previous"]


def test_a_soured_digester_asks_for_a_plan_with_few_changes(cast: Cast) -> None:
    first_announced()
    record_reading(
        cast.dome, kind=ReadingKind.PH, value=600, taken_at=cast.now, now=cast.now, client_key="a"
    )
    asked = Work.objects.of(cast.group).get(kind="plan_again")
    note_surprise(asked, now=cast.now)
    make_plan_again(Work.objects.of(cast.group).get(kind="re_plan"), now=cast.now)
    draft = Plan.objects.of(cast.group).first()
    assert draft is not None
    assert draft.document["rules"]["change_budget"] == RE_PLAN_BUDGET
    assert not draft.assignments.filter(digester=cast.dome).exists()


def test_without_an_announced_plan_there_is_nothing_to_make_again(cast: Cast) -> None:
    make_plan_again(work(cast, "plan_again"), now=cast.now)
    assert not Plan.objects.of(cast.group).exists()


def test_surprises_within_the_same_minutes_make_one_plan(cast: Cast) -> None:
    plan = first_announced()
    heavy = plan.assignments.order_by("-amount_g")[:2]
    for each in heavy:
        set_offer(each.stream, on=each.batch_on, amount_g=0, now=cast.now)
    for asked in Work.objects.of(cast.group).filter(kind="plan_again"):
        note_surprise(asked, now=cast.now)
    asked = Work.objects.of(cast.group).get(kind="re_plan")
    assert timedelta(0) < asked.due_at - cast.now <= timedelta(minutes=10)
    make_plan_again(asked, now=cast.now)
    draft = Plan.objects.of(cast.group).first()
    assert draft is not None
    changes = plan_changes(draft)
    assert changes is not None
    names = sorted({each.stream.source.name for each in heavy})
    assert [str(each) for each in changes.because] == [
        f"More or less than was thought: {', '.join(names)}."
    ]
    less = {(each.source, each.digester, each.on) for each in changes.visits if each.was_g}
    assert (heavy[0].source, heavy[0].digester, heavy[0].on) in less


def test_an_offer_near_what_was_planned_with_asks_for_nothing(cast: Cast) -> None:
    plan = first_announced()
    tomorrow = cast.today + timedelta(days=1)
    code = batch_code(cast.peelings.code, tomorrow)
    batch = next(each for each in problem_of(plan.document).batches if each.code == code)
    assert batch.high_g is not None
    # As much as its bins have room for upsets nothing.
    for amount_g in (batch.amount_g + 500, batch.high_g):
        set_offer(cast.peelings, on=tomorrow, amount_g=amount_g, now=cast.now)
    for asked in Work.objects.of(cast.group).filter(kind="plan_again"):
        note_surprise(asked, now=cast.now)
    assert not Work.objects.of(cast.group).filter(kind="re_plan").exists()


def test_other_streets_ask_for_another_plan(cast: Cast) -> None:
    first_announced()
    record_fact(cast.group, "streets_changed", happened_at=cast.now, payload={})
    note_surprise(Work.objects.of(cast.group).get(kind="plan_again"), now=cast.now)
    assert Work.objects.of(cast.group).filter(kind="re_plan").exists()
