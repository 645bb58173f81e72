"""Promises of pickups about the plan that they carry out, for `check_invariants`."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import Exists, OuterRef

from apps.ledger.queries.invariants import Promise
from apps.pickups.models import Pickup
from apps.planning.models import Assignment, PlanStatus


def check_pickups() -> Iterator[Promise]:
    """What the announced plans give to homes is carried by a pickup of that source, home and
    day, or was by one that has since ended under its name (declined, withdrawn, did not
    happen). One query."""
    carried = Pickup.unscoped.filter(
        group=OuterRef("group"),
        source=OuterRef("source"),
        digester=OuterRef("digester"),
        on=OuterRef("on"),
    )
    astray = (
        Assignment.unscoped.filter(plan__status=PlanStatus.ANNOUNCED)
        .filter(~Exists(carried))
        .count()
    )
    yield Promise("announced assignments that no pickup carries, by any name", astray, "rows")
