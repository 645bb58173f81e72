"""Accounts, members, roles and secret links."""

from apps.people.models.member import Member, MemberRole, Role
from apps.people.models.token import (
    ApiToken,
    Invitation,
    SignInLink,
    hash_token,
    make_token,
)
from apps.people.models.user import User

__all__ = [
    "ApiToken",
    "Invitation",
    "Member",
    "MemberRole",
    "Role",
    "SignInLink",
    "User",
    "hash_token",
    "make_token",
]
