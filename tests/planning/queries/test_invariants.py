"""Every gram of an announced batch is somewhere by name; each promise is broken and found."""

from __future__ import annotations

from apps.pickups.models import Pickup
from apps.pickups.queries.invariants import check_pickups
from apps.planning.models import LeftOver
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import make_plan
from apps.planning.queries.invariants import check_plans
from tests.cast import Cast
from tests.planning.first_plans import first_draft


def broken() -> dict[str, int]:
    return {
        promise.name.split(" ")[1]: promise.figure
        for promise in (*check_plans(), *check_pickups())
        if not promise.is_kept
    }


def test_grams_and_pickups_of_an_announced_plan_are_accounted_for(cast: Cast) -> None:
    plan = first_draft()
    plan.assignments.first().delete()
    assert broken() == {}  # a draft promises nothing
    announce_plan(make_plan(cast.group, now=cast.now), now=cast.now)
    plan = announce_plan(make_plan(cast.group, now=cast.now), now=cast.now)
    assert broken() == {}

    given = plan.assignments.first()
    given.amount_g += 7
    given.save()
    assert broken() == {"batches": 7}
    given.amount_g -= 7
    given.save()

    LeftOver.unscoped.create(
        group=plan.group,
        plan=plan,
        stream=given.stream,
        batch_on=plan.starts_on.replace(year=2001),
        amount_g=40,
    )
    assert broken() == {"grams": 40}
    LeftOver.objects.of(plan.group).filter(batch_on__year=2001).delete()

    pickup = Pickup.objects.of(plan.group).get(
        source=given.source, digester=given.digester, on=given.on
    )
    theirs = plan.assignments.filter(source=given.source, digester=given.digester, on=given.on)
    Pickup.unscoped.filter(pk=pickup.pk).update(on=plan.starts_on.replace(year=2001))
    assert broken() == {"assignments": theirs.count()}
