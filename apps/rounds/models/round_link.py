"""A link to one carrier's page of one round."""

from __future__ import annotations

from datetime import timedelta

from django.db import models

from apps.groups.models import GroupScoped, same_group
from apps.people.models import Member
from apps.rounds.models.round import Round

ROUND_LINK_LIFE = timedelta(hours=72)
"""After the end of its day."""


class RoundLink(GroupScoped):
    """128 random bits, kept as a hash. It dies when the round is dropped or given away."""

    token_hash = models.CharField(max_length=64, unique=True)
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="round_links")
    round = models.ForeignKey(Round, on_delete=models.CASCADE, related_name="links")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta(GroupScoped.Meta):
        constraints = [*GroupScoped.Meta.constraints, *same_group("member", "round")]

    def __str__(self) -> str:
        return f"link to {self.round_id}"
