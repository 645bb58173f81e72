"""What each actor should meet at each address: worked out from the declarations alone.

This says the rules of admission a second time, on purpose.
"""

from __future__ import annotations

from apps.people.access import MEMBER, OPERATOR, PUBLIC, SIGNED_IN, Access
from apps.people.models import Role
from tests.access.actors import Actor

IN, ASK, NO, ABSENT = "in", "sign in", "no", "absent"
"""Let in; asked who it is; a member without the role; told that nothing is there."""


def expected(  # noqa: PLR0911 - one line a rule
    access: Access, method: str, actor: Actor, where: str | None, *, is_api: bool
) -> str:
    """`where` is "own" or "other", or None for an address outside groups. Tokens are for the
    API; a page knows nobody by one."""
    audience = access.methods[method]
    if actor.by_token and is_api and where == "other":
        return ABSENT
    if audience is PUBLIC:
        return IN
    if not actor.signed_in or (actor.by_token and not is_api):
        return ASK
    if audience is SIGNED_IN:
        return IN
    if audience is OPERATOR:
        return IN if actor.is_operator and not actor.by_token else ABSENT
    roles = _roles_there(actor, where)
    if roles is None:
        return ABSENT
    return IN if audience is MEMBER or roles & audience else NO  # type: ignore[operator]


def _roles_there(actor: Actor, where: str | None) -> frozenset[Role] | None:
    if where == "other":
        return frozenset(Role) if actor.name == "member_of_other" else None
    return actor.roles if where == "own" else None
