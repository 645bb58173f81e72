"""Who does what in a group, as the pages have it too."""

from __future__ import annotations

from django.db.models import QuerySet

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.people.access import Admission, roles
from apps.people.models import Role
from apps.supply.models import Source

ADMINISTRATORS = roles(Role.GROUP_ADMIN)
"""They keep the lists and the rules."""
PEOPLE_KEEPERS = roles(Role.GROUP_ADMIN, Role.COORDINATOR)
PLANNERS = roles(Role.GROUP_ADMIN, Role.ASSIGNER, Role.COORDINATOR)
"""They see the whole neighbourhood; addresses stay hidden by the rule of places."""
ASSIGNERS = roles(Role.ASSIGNER)
"""They make and announce plans."""
DIGESTER_KEEPERS = roles(Role.GROUP_ADMIN, Role.COORDINATOR, Role.HOUSEHOLDER)
"""They write down what happens at a digester; householders at their own."""
DIGESTER_READERS = roles(Role.GROUP_ADMIN, Role.ASSIGNER, Role.COORDINATOR, Role.HOUSEHOLDER)
SOURCE_KEEPERS = roles(Role.GROUP_ADMIN, Role.COORDINATOR, Role.SOURCE_CONTACT)
"""They say what a source has; source contacts for their own."""
SOURCE_READERS = roles(Role.GROUP_ADMIN, Role.ASSIGNER, Role.COORDINATOR, Role.SOURCE_CONTACT)


def digesters_for(admission: Admission) -> QuerySet[Digester]:
    """All of them for whoever plans; a householder has those of the own home."""
    rows: QuerySet[Digester] = Digester.objects.of(_group(admission))
    return rows if admission.roles & PLANNERS else rows.filter(household=admission.member)


def sources_for(admission: Admission) -> QuerySet[Source]:
    """All of them for whoever plans; a source contact has the own ones."""
    rows: QuerySet[Source] = Source.objects.of(_group(admission))
    return rows if admission.roles & PLANNERS else rows.filter(contact=admission.member)


def _group(admission: Admission) -> Group:
    assert admission.group is not None
    return admission.group
