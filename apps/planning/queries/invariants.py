"""Promises of announced plans, each with the figure that shows it kept or broken.

`settings.INVARIANT_CHECKS` names `check_plans`; the command `check_invariants` runs it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from apps.ledger.queries.invariants import Promise
from apps.planning.models import Assignment, LeftOver, Plan, PlanStatus
from apps.planning.queries.batches import batch_code


def check_plans() -> Iterator[Promise]:
    """What every announced plan says of its batches, over all groups: each gram is given to a
    named home or left over by name. Two queries a plan; one plan's document in memory at a time.
    """
    lost = unknown = 0
    for plan in Plan.unscoped.exclude(status=PlanStatus.DRAFT).order_by("id").iterator(10):
        had = {row["code"]: row["amount_g"] for row in plan.document["batches"]}
        accounted: Counter[str] = Counter()
        for rows in (Assignment.unscoped, LeftOver.unscoped):
            found = rows.filter(plan=plan).order_by()
            for code, on, amount_g in found.values_list("stream__code", "batch_on", "amount_g"):
                accounted[batch_code(code, on)] += amount_g
        lost += sum(abs(amount_g - accounted[code]) for code, amount_g in had.items())
        unknown += sum(amount_g for code, amount_g in accounted.items() if code not in had)
    yield Promise("announced batches neither given to a home nor left over, nor both", lost, "g")
    yield Promise("announced grams of batches that their plan does not know", unknown, "g")
