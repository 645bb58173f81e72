"""Secret links: 128 random bits or more, stored only as a hash."""

from __future__ import annotations

import hashlib
import secrets

from django.db import models

from apps.groups.models import GroupScoped, same_group
from apps.people.models.member import Member
from apps.people.models.user import User

TOKEN_BYTES = 16


def make_token() -> str:
    """128 random bits, as 22 characters that fit a link."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def hash_token(token: str) -> str:
    """What is stored. The token is random, so one round of SHA-256 is enough."""
    return hashlib.sha256(token.encode()).hexdigest()


class SignInLink(models.Model):
    """A link that shows a button; the button signs `user` in, once."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="sign_in_links")
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"sign-in of {self.user_id}"


class Invitation(GroupScoped):
    """An offer of roles in a group to an address; accepted once, by whoever holds the link."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="invitations")
    email = models.EmailField()
    token_hash = models.CharField(max_length=64, unique=True)
    invited_by = models.ForeignKey(
        User, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True)

    class Meta(GroupScoped.Meta):
        constraints = [*GroupScoped.Meta.constraints, *same_group("member")]

    def __str__(self) -> str:
        return f"invitation {self.pk}"


class ApiToken(GroupScoped):
    """What a member's script shows instead of a session."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="api_tokens")
    label = models.CharField(max_length=60)
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta(GroupScoped.Meta):
        constraints = [*GroupScoped.Meta.constraints, *same_group("member")]

    def __str__(self) -> str:
        return self.label
