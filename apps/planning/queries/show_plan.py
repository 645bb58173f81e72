"""A plan as text, with the times of its pickups."""

from __future__ import annotations

from apps.places.core.hours import clock
from apps.planning.core.plan_text import plan_text
from apps.planning.models import Assignment, Plan

ANY_TIME_TILL_MIN = 23 * 60
"""Ends that gave no hours are taken as open all day; the way between them is taken off its
end."""


def show_plan(plan: Plan) -> str:
    """Readable in a terminal of a hundred columns."""
    times = {
        (source, digester, on.isoformat()): _when(from_min, till_min)
        for source, digester, on, from_min, till_min in Assignment.objects.of(plan.group)
        .filter(plan=plan)
        .values_list("source__code", "digester__code", "on", "from_min", "till_min")
    }
    return plan_text(plan.document, times)


def _when(from_min: int, till_min: int) -> str:
    if from_min == 0 and till_min >= ANY_TIME_TILL_MIN:
        return "no hours given"
    return f"{clock(from_min)}-{clock(till_min)}"
