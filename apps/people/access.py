"""Who may use which page or address of the API: declared beside each view, enforced here.

Every view carries an `Access`. A test walks the URL resolver and refuses a route without one,
so a forgotten declaration never reaches anybody.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from django.http import Http404
from django.utils.translation import gettext as _

from apps.groups.models import Group
from apps.kernel.errors import NotAllowed
from apps.people.models import Member, MemberRole, Role, User


class Anyone(Enum):
    """Audiences that are not a role in the group of the address."""

    PUBLIC = "public"
    """Nobody needs to be known: the front page, a link's own page, health."""
    SIGNED_IN = "signed_in"
    MEMBER = "member"
    """Any role in the group of the address."""
    OPERATOR = "operator"


Audience = Anyone | frozenset[Role]

PUBLIC, SIGNED_IN, MEMBER, OPERATOR = (
    Anyone.PUBLIC,
    Anyone.SIGNED_IN,
    Anyone.MEMBER,
    Anyone.OPERATOR,
)


class SignInNeeded(Exception):
    """Nobody is signed in and the address is not public."""


@dataclass(frozen=True, slots=True)
class Access:
    """Audience by HTTP method. HEAD goes with GET; OPTIONS is always answered."""

    methods: Mapping[str, Audience] = field(default_factory=dict)

    def audience(self, method: str) -> Audience | None:
        """Who may use `method`; None when the address does not have it."""
        return self.methods.get("GET" if method == "HEAD" else method)


@dataclass(frozen=True, slots=True)
class Admission:
    """Who came in, and where to. `group`, `member` are None outside a group's addresses."""

    user: User | None
    group: Group | None = None
    member: Member | None = None
    roles: frozenset[Role] = frozenset()


def roles(*names: Role) -> frozenset[Role]:
    """An audience of roles."""
    return frozenset(names)


def admit(access: Access, method: str, user: User | None, group_code: str | None) -> Admission:
    """Let `user` in or raise: `SignInNeeded`, `Http404` for another group's address (its
    existence is not told), `NotAllowed` for a member without the role."""
    audience = access.audience(method)
    if audience is None:
        raise NotAllowed(_("This address does not do that."))
    if audience is PUBLIC and group_code is None:
        return Admission(user)
    if audience is PUBLIC:
        return Admission(user, _group(group_code))
    if user is None:
        raise SignInNeeded
    if audience is SIGNED_IN:
        return Admission(user)
    if audience is OPERATOR:
        if not user.is_operator:
            raise Http404
        return Admission(user)
    return _admit_member(audience, user, group_code)


def _admit_member(audience: Audience, user: User, group_code: str | None) -> Admission:
    member = (
        Member.unscoped.select_related("group")
        .filter(user=user, group__code=group_code, left_at=None)
        .first()
    )
    if member is None:
        raise Http404
    held = frozenset(
        Role(role)
        for role in MemberRole.unscoped.filter(member=member).values_list("role", flat=True)
    )
    if not held or (isinstance(audience, frozenset) and not held & audience):
        raise NotAllowed(
            _("This is not part of what you do in %(group)s. Ask a group administrator.")
            % {"group": member.group.name}
        )
    return Admission(user, member.group, member, held)


def _group(code: str | None) -> Group:
    group = Group.objects.filter(code=code).first()
    if group is None:
        raise Http404
    return group
