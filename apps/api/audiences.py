"""Who does what in a group, as the pages have it too."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.people.access import Admission, roles
from apps.people.models import Role
from apps.pickups.models import Pickup
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

PICKUP_READERS = PLANNERS | roles(Role.HOUSEHOLDER, Role.SOURCE_CONTACT, Role.CARRIER)
FETCHERS = roles(Role.COORDINATOR, Role.HOUSEHOLDER, Role.CARRIER)
"""They answer pickups of the own home or that they fetch; coordinators act for others."""
GIVERS = roles(Role.COORDINATOR, Role.SOURCE_CONTACT)
"""They say what was handed over at the own source; coordinators act for others."""
COORDINATORS = roles(Role.COORDINATOR)
TROUBLE_SHOOTERS = roles(Role.COORDINATOR, Role.ASSIGNER)
"""They see today's exceptions and find the next home."""
CONCERN_KEEPERS = roles(Role.COORDINATOR, Role.GROUP_ADMIN)


def digesters_for(admission: Admission) -> QuerySet[Digester]:
    """All of them for whoever plans; a householder has those of the own home."""
    rows: QuerySet[Digester] = Digester.objects.of(_group(admission))
    return rows if admission.roles & PLANNERS else rows.filter(household=admission.member)


def sources_for(admission: Admission) -> QuerySet[Source]:
    """All of them for whoever plans; a source contact has the own ones."""
    rows: QuerySet[Source] = Source.objects.of(_group(admission))
    return rows if admission.roles & PLANNERS else rows.filter(contact=admission.member)


def kept_digesters(admission: Admission) -> QuerySet[Digester]:
    """Where the asker may write: all of them for those who keep people's lists, else the own."""
    rows: QuerySet[Digester] = Digester.objects.of(_group(admission))
    return rows if admission.roles & PEOPLE_KEEPERS else rows.filter(household=admission.member)


def kept_sources(admission: Admission) -> QuerySet[Source]:
    """Where the asker may say what there is; a source contact at the own ones."""
    rows: QuerySet[Source] = Source.objects.of(_group(admission))
    return rows if admission.roles & PEOPLE_KEEPERS else rows.filter(contact=admission.member)


def pickups_for(admission: Admission) -> QuerySet[Pickup]:
    """All of them for whoever plans; else those of the own home, the own source, or that the
    asker fetches."""
    rows: QuerySet[Pickup] = Pickup.objects.of(_group(admission))
    who = admission.member
    own = Q(digester__household=who) | Q(fetcher=who) | Q(source__contact=who)
    return rows if admission.roles & PLANNERS else rows.filter(own)


def _group(admission: Admission) -> Group:
    assert admission.group is not None
    return admission.group
