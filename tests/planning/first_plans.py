"""The plan of the cast's first evening: the same in every test that changed nothing before."""

from __future__ import annotations

from apps.groups.models import Group
from apps.people.models import Member
from apps.planning.models import Plan
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import make_plan
from tests.cast import NOW
from tests.remembered import remembered


@remembered
def first_draft() -> Plan:
    """For the seven days from tomorrow, by the cast as `make_cast()` saves it."""
    return make_plan(Group.objects.get(code="harbour"), now=NOW)


@remembered
def first_announced() -> Plan:
    """The same, announced by Bruno."""
    plan = first_draft()
    bruno = Member.objects.of(plan.group).get(code="bruno")
    return announce_plan(plan, now=NOW, announced_by=bruno)
